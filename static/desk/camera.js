// The camera station: opens the camera, has its cards read, takes a picture when all lies still, and says so large.
import { Watch, grayOf, gridOf } from "./camera-watch.js";

const FRAME_PX = 960;
const PAUSE_MS = 90;
const RETRY_MS = 2000;
const PHOTO_GAIN = 1.2;
const PHOTO_WAIT_MS = 4000;
const QUALITY = 0.95;
const KEPT_CAMERA = "portfolio-camera";

const station = document.querySelector("#camera");
const get = (id) => document.getElementById(id);
const video = get("camera-video");
const base = `/camera/${station.dataset.batch}`;
const watch = new Watch();
const small = document.createElement("canvas");
let rest = { state: "first", word: "", number: "", next: "Lay down the first one." };
let last = null; // the picture that can be taken back, or the step that can be undone
let running = 0; // grows with every camera that is opened, so that the loop of an earlier one ends
let photoSize = null;
let sound = null;

// --- what it says -------------------------------------------------------------------------------

function show({ state, word, number, next }) {
  station.dataset.state = state;
  get("camera-word").textContent = word;
  get("camera-number").textContent = number;
  get("camera-number").classList.toggle("long", number.length > 2);
  get("camera-next").textContent = next;
}

const SAYS = {
  holding: (seen) => ({ state: "holding", word: "Hands away.", number: seen.label, next: "The picture is taken when all lies still." }),
  unclear: () => ({ state: "asks", word: "Card not clear: move it.", number: "?", next: "The whole card must be seen, flat, with nothing on it." }),
  several: (seen) => ({ state: "asks", word: "Two number cards: take one away.", number: seen.label, next: "One work at a time. A group work needs its own card." }),
};

function offer(words) {
  get("camera-undo-words").textContent = words;
  get("camera-undo").hidden = !words;
}

function count(words) {
  get("camera-count").textContent = words;
  get("camera-dot").hidden = !words;
}

function note(heading, todo) {
  get("camera-note-head").textContent = heading;
  get("camera-note-do").textContent = todo;
  get("camera-note").hidden = !heading;
}

// A short tone; never a flash.
function tone(hertz, seconds) {
  try {
    sound ??= new AudioContext();
    sound.resume();
    const voice = sound.createOscillator();
    const level = sound.createGain();
    voice.frequency.value = hertz;
    level.gain.setValueAtTime(0.2, sound.currentTime);
    level.gain.exponentialRampToValueAtTime(0.001, sound.currentTime + seconds);
    voice.connect(level).connect(sound.destination);
    voice.start();
    voice.stop(sound.currentTime + seconds);
  } catch {
    // a computer without a loudspeaker: the number says it
  }
}

// --- the library --------------------------------------------------------------------------------

class NoAnswer extends Error {}
class Over extends Error {} // signed out, or the stack was filed from another page: asking again would not help

async function post(path, body) {
  let answer;
  try {
    answer = await fetch(base + path, { method: "POST", body, redirect: "manual" });
  } catch {
    throw new NoAnswer();
  }
  if (answer.type === "opaqueredirect" || (answer.status >= 400 && answer.status < 500)) throw new Over();
  if (!answer.ok) throw new NoAnswer();
  return answer.json();
}

const form = (values) => Object.entries(values).reduce((body, [name, value]) => (body.set(name, value), body), new FormData());

// --- looking ------------------------------------------------------------------------------------

function frame() {
  const scale = Math.min(1, FRAME_PX / Math.max(video.videoWidth, video.videoHeight));
  small.width = Math.round(video.videoWidth * scale);
  small.height = Math.round(video.videoHeight * scale);
  const pen = small.getContext("2d", { willReadFrequently: true });
  pen.drawImage(video, 0, 0, small.width, small.height);
  const gray = grayOf(pen.getImageData(0, 0, small.width, small.height).data);
  return { gray, grid: gridOf(gray, small.width, small.height), width: small.width };
}

async function lookOn(turn) {
  let silent = false;
  while (turn === running) {
    try {
      if (video.videoWidth) await lookOnce();
      if (silent && !station.dataset.closed) note("", "");
      silent = false;
      await pause(PAUSE_MS);
    } catch (error) {
      if (error instanceof Over) return note("This stack cannot go on here: you are signed out, or it was filed from another page.", "What was taken is kept. Open Portfolio again to go on.");
      if (!(error instanceof NoAnswer)) throw error;
      silent = true;
      note("The library did not answer.", "What was taken is kept. Check that Portfolio is running; this page tries again by itself.");
      await pause(RETRY_MS);
    }
  }
}

const pause = (ms) => new Promise((yes) => setTimeout(yes, ms));

async function lookOnce() {
  const begun = performance.now();
  const { gray, grid, width } = frame();
  const seen = await post(`/frame?width=${width}`, gray);
  station.dataset.frameMs = Math.round(performance.now() - begun);
  const { show: what, take } = watch.look({ now: begun, grid, seen });
  show(SAYS[what]?.(seen) ?? rest);
  if (take) await takePicture(seen);
}

async function takePicture(seen) {
  const begun = performance.now();
  const picture = await fullSize();
  const said = await post("/pictures", form({ picture, cards: seen.cards.join(" ") }));
  if (!said.kept) {
    watch.again(performance.now());
    return;
  }
  watch.taken(seen.cards);
  note("", "");
  station.dataset.takeMs = Math.round(performance.now() - begun);
  rest = { state: "taken", word: "Taken.", number: said.label, next: "Lay down the next one." };
  last = { photo: said.photo, label: said.label };
  show(rest);
  count(said.taken);
  offer(`That is not ${said.label}`);
  get("camera-spoken").textContent = `${said.label} taken.`;
  tone(880, 0.18);
}

// The camera's own photo where it is larger than its video, else the video frame.
async function fullSize() {
  const track = video.srcObject.getVideoTracks()[0];
  if (photoSize) {
    const own = await inTime(new ImageCapture(track).takePhoto(photoSize));
    if (own?.type === "image/jpeg") return new File([own], "camera.jpg", { type: own.type });
    photoSize = null;
  }
  const whole = document.createElement("canvas");
  whole.width = video.videoWidth;
  whole.height = video.videoHeight;
  whole.getContext("2d").drawImage(video, 0, 0);
  const blob = await new Promise((yes) => whole.toBlob(yes, "image/jpeg", QUALITY));
  return new File([blob], "camera.jpg", { type: "image/jpeg" });
}

const inTime = (promise) => Promise.race([promise.catch(() => null), pause(PHOTO_WAIT_MS).then(() => null)]);

async function photoSizeOf(track) {
  if (!("ImageCapture" in window)) return null;
  const able = await inTime(new ImageCapture(track).getPhotoCapabilities());
  const wide = able?.imageWidth?.max ?? 0;
  return wide > PHOTO_GAIN * video.videoWidth ? { imageWidth: wide, imageHeight: able.imageHeight.max } : null;
}

// --- taking back --------------------------------------------------------------------------------

async function undo() {
  if (!last || get("camera-undo").hidden) return;
  const { photo, action, label } = last;
  last = null;
  try {
    if (photo) {
      const said = await post("/back", form({ photo_id: photo }));
      watch.takenBack();
      rest = { state: "back", word: "Taken back.", number: "", next: "Lay down the right card with the work." };
      last = { action: said.action, label };
      offer(`It was ${label}: bring it back`);
      count(said.taken);
      tone(330, 0.25);
    } else {
      const said = await post("/again", form({ action_id: action }));
      watch.broughtBack();
      rest = { state: "taken", word: "Taken.", number: label, next: "Lay down the next one." };
      offer("");
      count(said.taken);
    }
    show(rest);
    get("camera-spoken").textContent = photo ? `${label} taken back.` : `${label} taken.`;
  } catch {
    offer("");
    note("This picture is past taking back here.", "It is kept. After “I am done” it can be corrected on its own page.");
  }
}

get("camera-undo").addEventListener("click", () => {
  undo();
  station.focus();
});
station.addEventListener("keydown", (event) => {
  const plain = !event.ctrlKey && !event.metaKey && !event.altKey && !event.target.matches("select");
  if (plain && event.key.toLowerCase() === "u") undo();
});

// --- opening ------------------------------------------------------------------------------------

const TROUBLE = {
  NotAllowedError: ["The browser keeps the camera closed.", "Allow the camera beside the address of this page, then press “Try again”."],
  NotFoundError: ["No camera is connected.", "Plug in the document camera, then press “Try again”."],
  NotReadableError: ["Another program is using the camera.", "Close it, then press “Try again”."],
};

async function open(deviceId) {
  running += 1;
  const turn = running;
  for (const track of video.srcObject?.getTracks() ?? []) track.stop();
  delete station.dataset.closed;
  get("camera-again").hidden = true;
  try {
    const wish = { width: { ideal: 3840 }, height: { ideal: 2160 }, ...(deviceId ? { deviceId: { exact: deviceId } } : { facingMode: "environment" }) };
    video.srcObject = await navigator.mediaDevices.getUserMedia({ video: wish, audio: false });
    await video.play();
  } catch (error) {
    if (deviceId && error.name === "OverconstrainedError") return open("");
    const [heading, todo] = TROUBLE[error.name] ?? ["The camera could not be opened.", "Unplug it and plug it in again, then press “Try again”."];
    station.dataset.closed = "yes";
    get("camera-again").hidden = false;
    show({ state: "closed", word: "", number: "", next: "" });
    return note(heading, todo);
  }
  const track = video.srcObject.getVideoTracks()[0];
  track.addEventListener("ended", () => open(deviceId));
  note("", "");
  photoSize = await photoSizeOf(track);
  await listCameras(track.getSettings().deviceId);
  show(rest);
  return lookOn(turn);
}

async function listCameras(chosen) {
  const cameras = (await navigator.mediaDevices.enumerateDevices()).filter((one) => one.kind === "videoinput");
  const list = get("camera-choice");
  list.replaceChildren(...cameras.map((one, at) => new Option(one.label || `Camera ${at + 1}`, one.deviceId, false, one.deviceId === chosen)));
  get("camera-choose").hidden = cameras.length < 2;
}

get("camera-choice").addEventListener("change", (event) => {
  localStorage.setItem(KEPT_CAMERA, event.target.value);
  open(event.target.value);
});
get("camera-again").addEventListener("click", () => open(localStorage.getItem(KEPT_CAMERA) ?? ""));

if (navigator.mediaDevices) {
  navigator.wakeLock?.request("screen").catch(() => {});
  station.focus();
  open(localStorage.getItem(KEPT_CAMERA) ?? "");
} else {
  show({ state: "closed", word: "", number: "", next: "" });
  note("The camera only opens on this computer itself.", "Open Portfolio at 127.0.0.1 on the computer that the camera is plugged into.");
}
