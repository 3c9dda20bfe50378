// Sends a file piece by piece over a connection that may break at any time (tus 1.0): say what comes, ask how far it
// is, go on there. It gives up only what trying again would not help; everything else is waited out.

const TUS = { "Tus-Resumable": "1.0.0" };
const PAUSE_MS = 500;
const LONGEST_PAUSE_MS = 20_000;
const STALLED_MS = 45_000;
const NO_ANSWER = "No answer from the library. It goes on by itself.";
const WAITS = {
  303: "You were signed out. Sign in again in another tab; it goes on by itself.",
  507: "The library’s disk is full. Make room on it; it goes on by itself.",
};
const OFFLINE = "Offline. It goes on by itself when the network is back.";
const CHANGED = "This photo was changed or removed on its device while it was sent. Pick this photo again.";

let door = "/add/uploads";

// Where files are announced from now on: a phone's page has a place of its own.
export function sendTo(address) {
  door = address;
}

export class Refused extends Error {}

class Cut extends Error {
  constructor(status = 0) {
    super(WAITS[status] ?? NO_ANSWER);
    this.status = status;
  }
}

// Announces a file and sends its small picture (`look`, a form) ahead. Gives where the file is sent, or an empty string
// when it has to be announced again. Not tried twice: what is lost is only the first look.
export async function sendLook(file, batch, look) {
  let to = "";
  try {
    to = await announce(file, batch);
    await ask(`${to}/look`, { method: "POST", body: look });
  } catch (error) {
    if (!(error instanceof Cut || error instanceof Refused)) throw error;
  }
  return to;
}

// What became of one file: { ok, before, say }; `before`: it came in before and was skipped. `to`: where it is sent, when
// it is announced already; `tell` is told how far it is, and what is waited for.
export async function sendWhole(file, batch, tell, to = "") {
  let failures = 0;
  for (;;) {
    let began = 0;
    let came = 0;
    try {
      to ||= await announce(file, batch);
      began = came = await askOffset(to);
      const moved = (bytes) => tell.progress((came = began + bytes));
      moved(0);
      await sendRest(file.slice(began), to, began, moved);
      return await askEnd(to);
    } catch (error) {
      if (error instanceof Refused) return { ok: false, say: error.message };
      if (!(error instanceof Cut)) throw error;
      if (!(await isReadable(file))) return giveUp(to);
      if (error.status === 404) to = "";
      failures = came > began ? 1 : failures + 1;
      if (!navigator.onLine) tell.waiting(OFFLINE);
      else if (failures > 1 || error.status in WAITS) tell.waiting(error.message);
      await pause(failures);
    }
  }
}

// Asks until there is an answer; `waiting` is told what is waited for. Throws Refused for what asking again would not help.
export async function askOn(to, how, waiting) {
  for (let failures = 1; ; failures += 1) {
    try {
      const answer = await ask(to, how);
      waiting("");
      return answer;
    } catch (error) {
      if (!(error instanceof Cut)) throw error;
      waiting(navigator.onLine ? error.message : OFFLINE);
      await pause(failures);
    }
  }
}

async function announce(file, batch) {
  const told = { name: file.name, batch: String(batch), modified: String(file.lastModified) };
  const words = Object.entries(told).map(([word, text]) => `${word} ${base64(text)}`);
  const headers = { ...TUS, "Upload-Length": String(file.size), "Upload-Metadata": words.join(",") };
  const answer = await ask(door, { method: "POST", headers });
  return answer.headers.get("Location");
}

async function askOffset(to) {
  return Number((await ask(to, { method: "HEAD", headers: TUS })).headers.get("Upload-Offset"));
}

async function askEnd(to) {
  const { whole, problems, photos, before } = await (await ask(to)).json().catch(cutOff);
  if (!whole) throw new Cut();
  return { ok: photos.length > 0 || !problems.length, before: photos.length > 0 && before === photos.length, say: problems.join(" ") };
}

async function ask(to, how = {}) {
  let answer;
  try {
    answer = await fetch(to, { ...how, redirect: "manual", cache: "no-store" });
  } catch {
    throw new Cut();
  }
  if (answer.ok) return answer;
  throw answer.type === "opaqueredirect" ? new Cut(303) : await trouble(answer.status, () => answer.text().catch(cutOff), how.method !== "POST");
}

// The answer itself was cut off.
function cutOff() {
  throw new Cut();
}

// Refused for good, in the library's own sentence, or to be tried again; a file that is not there any more is begun anew.
async function trouble(status, text, isBegun = true) {
  if (status >= 500 || status === 0 || status === 409 || (status === 404 && isBegun)) return new Cut(status);
  return new Refused(sentencesIn(await text()));
}

function sentencesIn(text) {
  try {
    return JSON.parse(text).problems.join(" ");
  } catch {
    return "The library did not take it. Reload this page and choose it again.";
  }
}

function sendRest(rest, to, at, moved) {
  const request = new XMLHttpRequest();
  let guard;
  const alive = () => {
    clearTimeout(guard);
    guard = setTimeout(() => request.abort(), STALLED_MS);
  };
  return new Promise((yes, no) => {
    request.upload.addEventListener("progress", (event) => {
      alive();
      moved(event.loaded);
    });
    request.addEventListener("loadend", async () => {
      clearTimeout(guard);
      if (request.status === 204) yes();
      else no(request.status === 200 ? new Cut(303) : await trouble(request.status, () => request.responseText));
    });
    request.open("PATCH", to);
    for (const [name, value] of Object.entries({ ...TUS, "Upload-Offset": at, "Content-Type": "application/offset+octet-stream" })) {
      request.setRequestHeader(name, value);
    }
    alive();
    request.send(rest);
  });
}

// A phone may change or remove a photo while it is being sent; then not even its first byte can be read.
async function isReadable(file) {
  try {
    await file.slice(0, 1).arrayBuffer();
    return true;
  } catch {
    return false;
  }
}

function giveUp(to) {
  if (to) fetch(to, { method: "DELETE", headers: TUS }).catch(() => {});
  return { ok: false, say: CHANGED };
}

// Longer after every failure, never in step with others; the network's return ends it.
function pause(failures) {
  const most = Math.min(PAUSE_MS * 2 ** (failures - 1), LONGEST_PAUSE_MS);
  const offline = !navigator.onLine;
  return new Promise((done) => {
    const over = () => {
      clearTimeout(timer);
      removeEventListener("online", over);
      done();
    };
    const timer = setTimeout(over, offline ? LONGEST_PAUSE_MS : most * (0.5 + Math.random() / 2));
    addEventListener("online", over);
  });
}

const base64 = (text) => btoa(String.fromCharCode(...new TextEncoder().encode(text)));
