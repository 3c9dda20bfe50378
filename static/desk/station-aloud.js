// Reads the question and the beginnings of sentences aloud, for children who cannot read yet. Only with a voice that
// lives on this device itself: a voice from elsewhere would send the words away. Without one there is no button.

const speech = window.speechSynthesis;
const button = document.querySelector("#aloud");
const question = document.querySelector("label[for=text]");
const starters = [...document.querySelectorAll('[name="starter"]')];
let on = false;

export function wakeAloud() {
  if (!button || !speech || !starters.length) return;
  const offer = () => { button.hidden = !voice(); };
  speech.addEventListener?.("voiceschanged", offer); // many browsers only know their voices after a moment
  offer();
  button.addEventListener("click", () => (on ? stop() : readAll()));
  for (const one of starters) one.addEventListener("focus", () => { if (on) read(one); });
  addEventListener("pagehide", () => speech.cancel());
}

// The one that was chosen, while reading is switched on.
export function readStarter(words) {
  const chosen = starters.find((one) => one.value === words);
  if (on && chosen) read(chosen);
}

// A voice of this device, of the page's language if there is one.
function voice() {
  const here = speech.getVoices().filter((one) => one.localService === true);
  return here.find((one) => one.lang.slice(0, 2) === document.documentElement.lang) ?? here[0];
}

function readAll() {
  on = true;
  button.setAttribute("aria-pressed", "true");
  speech.cancel();
  say(question.textContent);
  starters.forEach((one) => say(one.value, one));
}

function stop() {
  on = false;
  button.setAttribute("aria-pressed", "false");
  speech.cancel();
  mark(null);
}

function read(one) {
  speech.cancel();
  say(one.value, one);
}

// `shown` is marked while it is heard, so that a child sees which one to press.
function say(words, shown = null) {
  const own = voice();
  if (!own) return stop();
  const line = new SpeechSynthesisUtterance(words);
  line.voice = own;
  line.lang = own.lang;
  line.rate = 0.85;
  line.addEventListener("start", () => mark(shown));
  line.addEventListener("end", () => mark(null));
  speech.speak(line);
}

function mark(shown) {
  for (const one of starters) one.classList.toggle("heard-now", one === shown);
}
