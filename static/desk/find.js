// Find by keyboard: / comes to the box, arrow keys go from work to work, a chip goes with Delete, and whoever comes back
// from a work stands where she left. Without this all are plain fields, presses and links.

const WORKS = "#found a.stand";
const SLASH_OFF = "portfolio-slash-off";
const PRESSED = "portfolio-chip";

export function wakeFind(form) {
  if (!form) return;
  const box = form.querySelector("#words");
  wakeSlash(box);
  wakeChips(form, box);
  wakeWall(box);
  comeBack();
}

// A single key must be one that can be switched off (WCAG 2.1.4).
function wakeSlash(box) {
  const button = document.querySelector("#slash-switch");
  const show = () => {
    const off = localStorage.getItem(SLASH_OFF) === "1";
    button.textContent = off ? button.dataset.on : button.dataset.off;
    if (off) box.removeAttribute("aria-keyshortcuts");
    else box.setAttribute("aria-keyshortcuts", "/");
  };
  button.addEventListener("click", () => {
    localStorage.setItem(SLASH_OFF, localStorage.getItem(SLASH_OFF) === "1" ? "0" : "1");
    show();
  });
  show();
  document.addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
    if (event.target.closest("input, select, textarea") || localStorage.getItem(SLASH_OFF) === "1") return;
    event.preventDefault();
    box.focus();
    box.select();
  });
}

// A chip leads to a new page: there the same chip has the focus again, or the box when the chip is gone.
function wakeChips(form, box) {
  form.addEventListener("submit", (event) => {
    if (event.submitter?.matches(".chip")) sessionStorage.setItem(PRESSED, event.submitter.value);
  });
  form.addEventListener("keydown", (event) => {
    const chip = event.target.closest('.chip[aria-pressed="true"]');
    if (!chip || (event.key !== "Delete" && event.key !== "Backspace")) return;
    event.preventDefault();
    chip.click();
  });
  const pressed = sessionStorage.getItem(PRESSED);
  sessionStorage.removeItem(PRESSED);
  if (pressed === null) return;
  const again = [...form.querySelectorAll(".chip")].find((one) => one.value === pressed);
  if (again?.closest("details")) again.closest("details").open = true;
  (again || box).focus();
}

// One stop for Tab on all walls; arrow keys, Home and End move it.
function wakeWall(box) {
  const rove = (chosen) => {
    for (const one of document.querySelectorAll(WORKS)) one.tabIndex = one === chosen ? 0 : -1;
  };
  const begin = () => rove(document.querySelector(WORKS));
  begin();
  document.body.addEventListener("htmx:afterSettle", begin);
  document.addEventListener("focusin", (event) => {
    if (event.target.matches(WORKS)) rove(event.target);
  });
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
    const works = [...document.querySelectorAll(WORKS)];
    const at = works.indexOf(event.target);
    const next = at >= 0 ? neighbor(works, at, event.key) : event.target === box && event.key === "ArrowDown" && works[0];
    if (!next) return;
    event.preventDefault();
    next.focus();
  });
}

function neighbor(works, at, key) {
  if (key === "ArrowLeft") return works[at - 1];
  if (key === "ArrowRight") return works[at + 1];
  if (key === "Home") return works[0];
  if (key === "End") return works[works.length - 1];
  if (key === "ArrowUp" || key === "ArrowDown") return onNextLedge(works, works[at], key === "ArrowDown" ? 1 : -1);
  return undefined;
}

// Works of one ledge share its line, the lower edge; of the nearest other ledge, the work that stands most nearly below.
function onNextLedge(works, from, way) {
  const here = from.getBoundingClientRect();
  const places = works
    .map((one) => ({ one, box: one.getBoundingClientRect() }))
    .map(({ one, box }) => ({ one, far: (box.bottom - here.bottom) * way, beside: Math.abs(center(box) - center(here)) }))
    .filter(({ far }) => far > 4);
  const nearest = Math.min(...places.map(({ far }) => far));
  return places.filter(({ far }) => far < nearest + 4).sort((a, b) => a.beside - b.beside)[0]?.one;
}

function center(box) {
  return box.left + box.width / 2;
}

// The place belongs to this entry of the browser's history, so nothing of it is kept once the tab is closed.
function comeBack() {
  document.addEventListener("click", (event) => {
    const link = event.target.closest(WORKS);
    if (!link) return;
    const left = { work: link.getAttribute("href"), down: scrollY };
    history.replaceState({ ...history.state, left }, "");
  });
  const left = history.state?.left;
  if (!left) return;
  const stand = () => {
    [...document.querySelectorAll(WORKS)]
      .find((one) => one.getAttribute("href") === left.work)
      ?.focus({ preventScroll: true });
    scrollTo(0, left.down);
  };
  stand();
  document.fonts.ready.then(stand); // lines may break anew in the right letters
}
