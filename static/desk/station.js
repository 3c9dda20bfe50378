// The station by itself: after some quiet time the numbers come back, and words that were begun are kept before that.
import { readStarter, wakeAloud } from "./station-aloud.js";
import { tellOthers } from "./tabs.js";

const station = document.querySelector("#station");
const form = document.querySelector("#writing");
const text = document.querySelector("#text");
const TELLS = 120; // seconds before the station closes
const CLOSES = 15;
const warn = document.querySelector("#warn");
let quiet = 0;
tellOthers();
wakeAloud();

// A page that Back brings out of the browser's memory may hold what another child wrote.
addEventListener("pageshow", (event) => { if (event.persisted) location.replace("/station"); });

for (const one of ["keydown", "pointerdown", "pointermove", "input", "scroll"]) {
  addEventListener(one, heard, { passive: true });
}

function heard() {
  if (warn && quiet >= Number(station.dataset.warn)) tell("");
  quiet = 0;
}

// The same words again would be read aloud again.
function tell(words) {
  if (warn.textContent !== words) warn.textContent = words;
}

if (station) {
  const most = Number(station.dataset.idle);
  setInterval(() => {
    quiet += 1;
    closing();
    if (warn && quiet === Number(station.dataset.warn)) tell(text.value.trim() ? "Still writing? If not, your words are kept and the numbers come back." : "Still here? If not, the numbers come back.");
    if (quiet !== most) return;
    if (text?.value.trim()) form.requestSubmit();
    else location.replace(station.dataset.idleTo);
  }, 1000);
}

// Before the station's time is over the child is told, and what is written by then is kept.
function closing() {
  if (!form || form.dataset.sent) return;
  const left = Number(form.dataset.ends) - Date.now() / 1000;
  if (left < CLOSES && text.value.trim()) form.requestSubmit();
  else if (left < TELLS) tell("The station closes soon. Your words are kept.");
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
  readStarter(starter);
}
