// The station by itself: after some quiet time the numbers come back, and words that were begun are kept before that.
const station = document.querySelector("#station");
const form = document.querySelector("#writing");
const text = document.querySelector("#text");
const warn = document.querySelector("#warn");
let quiet = 0;

// A page that Back brings out of the browser's memory may hold what another child wrote.
addEventListener("pageshow", (event) => { if (event.persisted) location.replace("/station"); });

for (const one of ["keydown", "pointerdown", "pointermove", "input", "scroll"]) {
  addEventListener(one, () => { quiet = 0; if (warn) warn.textContent = ""; }, { passive: true });
}

if (station) {
  const most = Number(station.dataset.idle);
  setInterval(() => {
    quiet += 1;
    if (warn && quiet === Number(station.dataset.warn)) warn.textContent = text.value.trim() ? "Still writing? If not, your words are kept and the numbers come back." : "Still here? If not, the numbers come back.";
    if (quiet !== most) return;
    if (text?.value.trim()) form.requestSubmit();
    else location.replace(station.dataset.idleTo);
  }, 1000);
}

form?.addEventListener("submit", (event) => {
  if (event.submitter?.name === "starter") {
    event.preventDefault();
    begin(event.submitter.value);
  } else if (form.dataset.sent) event.preventDefault(); // the second of two quick presses
  else form.dataset.sent = "yes";
});

function begin(starter) {
  const before = text.value.slice(0, text.selectionStart);
  const between = before && !/\s$/.test(before) ? " " : "";
  text.setRangeText(`${between}${starter} `, text.selectionStart, text.selectionEnd, "end");
  text.focus();
}
