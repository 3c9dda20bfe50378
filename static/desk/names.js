// H hides every child's name while the screen is projected, and shows them again; kept until the window is closed.
// Hidden means gone from the page: not seen, not read aloud, not in a link's label.
const KEPT = "names-hidden";
const shown = new Map();

export function wakeNames() {
  const apply = () => {
    const hidden = sessionStorage.getItem(KEPT) === "yes";
    for (const one of document.querySelectorAll("[data-name]")) put(one, hidden, one.textContent, (text) => { one.textContent = text; });
    for (const one of document.querySelectorAll("[data-label]")) put(one, hidden, one.getAttribute("aria-label"), (text) => one.setAttribute("aria-label", text));
    tell(hidden);
  };
  document.addEventListener("keydown", (event) => {
    if (event.key.toUpperCase() !== "H" || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("input:not([type=radio]), select, textarea, [data-keys]")) return;
    sessionStorage.setItem(KEPT, sessionStorage.getItem(KEPT) === "yes" ? "no" : "yes");
    apply();
  });
  document.addEventListener("htmx:afterSwap", apply);
  if (sessionStorage.getItem(KEPT) === "yes") apply();
}

function put(one, hidden, now, write) {
  if (hidden && !shown.has(one)) {
    shown.set(one, now);
    write(one.dataset.name || one.dataset.label);
  } else if (!hidden && shown.has(one)) {
    write(shown.get(one));
    shown.delete(one);
  }
}

function tell(hidden) {
  let line = document.querySelector("#names-hidden");
  if (!line) {
    line = document.createElement("p");
    line.id = "names-hidden";
    line.setAttribute("role", "status");
    document.querySelector("#page")?.prepend(line);
  }
  line.textContent = hidden ? "Names are hidden. Press H to show them again." : "";
  line.hidden = !hidden;
}
