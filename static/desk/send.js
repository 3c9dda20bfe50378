// The phone's page: photos go to the computer as they are taken or chosen, two at a time, over a Wi-Fi that may break.
// What can be seen here is the phone's own: small pictures of what it sends, and how many came.
import { deservesLook, firstLook } from "./first-look.js";
import { sendLook, sendTo, sendWhole } from "./sending.js";

const AT_ONCE = 2;
const ASK_EVERY_MS = 5_000;
const SPOKEN_EVERY = 5;
const THUMB_PX = 112;
const get = (id) => document.getElementById(id);
const page = get("send");
const { here, photoMaxMb } = page.dataset;
const queue = [];
const unseen = [];
const waits = new Map();
let total = 0;
let done = 0;
let failed = 0;
let running = 0;
let looking = 0;
let drawn = Promise.resolve();

document.documentElement.classList.add("scripted");
sendTo(`${here}/uploads`);
setInterval(askState, ASK_EVERY_MS);
setTimeout(askState, Number(page.dataset.seconds) * 1000);

for (const input of [get("take"), get("pick")]) {
  page.querySelector(`[data-for="${input.id}"]`).addEventListener("click", () => input.click());
  input.addEventListener("change", () => {
    const chosen = [...input.files];
    input.value = ""; // so that the same photos can be chosen again
    add(chosen);
  });
}

get("done").addEventListener("submit", (event) => {
  if (done === total) return;
  event.preventDefault();
  get("not-yet").textContent = "Photos are still being sent. Wait until all are here, then press again.";
});

addEventListener("beforeunload", (event) => {
  if (done < total) event.preventDefault();
});

function add(files) {
  for (const file of files) {
    total += 1;
    const one = { file, line: lineOf(file, total), to: "", looked: Promise.resolve() };
    queue.push(one);
    if (files.length > 1 && file.size <= photoMaxMb * 2 ** 20 && deservesLook(file)) unseen.push(one);
  }
  tell();
  while (running < AT_ONCE && queue.length) lane();
}

async function lane() {
  running += 1;
  while (queue.length) {
    if (unseen.length) {
      await look(unseen.shift());
      continue;
    }
    const one = queue.shift();
    const { file, line } = one;
    await one.looked;
    const sent = file.size > photoMaxMb * 2 ** 20 ? { ok: false, say: `More than ${photoMaxMb} MB: it was left where it is.` } : await sendWhole(file, 0, line, one.to);
    done += 1;
    failed += sent.ok ? 0 : 1;
    line.end(sent);
    tell();
    await askState();
  }
  running -= 1;
}

// Of several photos small pictures go first, so that they can be read and asked about while the originals follow.
async function look(one) {
  looking += 1;
  one.looked = firstLook(one.file).then(async (small) => (one.to = small ? await sendLook(one.file, 0, small) : ""));
  await one.looked;
  looking -= 1;
  if (!looking && !unseen.length) fetch(`${here}/looked`, { method: "POST" }).catch(() => {});
}

// How many came and how long the code lasts; when it is over, why. Without an answer the page stays as it is.
async function askState() {
  try {
    const answer = await fetch(`${here}/state`, { cache: "no-store" });
    const told = await answer.json();
    if (!answer.ok) return answer.status === 410 ? over(told.problems.join(" ")) : undefined;
    get("photos").textContent = told.photos;
    get("received").textContent = told.photos === 1 ? "photo received." : "photos received.";
    get("lasts").textContent = `This code lasts ${told.lasts}.`;
  } catch {
    return; // no network: what is being sent says so itself
  }
}

function over(words) {
  if (!get("over").hidden) return;
  get("over-words").textContent = words;
  get("over").hidden = false;
  get("choose").hidden = get("done").hidden = true;
  get("lasts").textContent = "";
}

function tell() {
  const left = total - done;
  const why = [...waits.values()][0];
  get("sent-line").hidden = get("lead").hidden = false;
  get("sent-line").max = total;
  get("sent-line").value = done;
  get("keep-open").textContent = left ? "Keep this page open." : failed ? `${failed} not kept.` : "All are received.";
  get("keep-words").textContent = left ? why ? `${why} Is this phone still in the Wi-Fi?` : `${left} of ${total} still to come.` : failed ? "The lines below say why." : "More can be taken or chosen.";
  if (!left) get("not-yet").textContent = "";
  if (why || !left || done % SPOKEN_EVERY === 0) speak(why ?? (left ? `${left} of ${total} still to come.` : get("lead").textContent));
}

// The same words again would be read aloud again.
function speak(words) {
  if (get("spoken").textContent !== words) get("spoken").textContent = words;
}

const megabytes = (bytes) => (bytes / 1e6).toFixed(1);

function lineOf(file, place) {
  const line = document.createElement("li");
  const thumb = Object.assign(document.createElement("canvas"), { width: THUMB_PX, height: THUMB_PX });
  thumb.setAttribute("aria-hidden", "true");
  const name = Object.assign(document.createElement("span"), { className: "name", textContent: `Photo ${place}` });
  const how = Object.assign(document.createElement("span"), { className: "how", textContent: "Waiting" });
  const bar = Object.assign(document.createElement("progress"), { max: file.size || 1, value: 0 });
  bar.setAttribute("aria-label", `Photo ${place}`);
  line.append(thumb, name, how, bar);
  get("lines").prepend(line);
  drawn = drawn.then(() => draw(file, thumb)); // one at a time: a phone has little memory for pictures
  return {
    progress(bytes) {
      bar.value = bytes;
      how.textContent = bytes < file.size ? `${megabytes(bytes)} of ${megabytes(file.size)} MB` : "Being stored";
      if (bytes && waits.delete(file)) tell();
    },
    waiting(words) {
      how.textContent = "Waiting";
      waits.set(file, words);
      tell();
    },
    end({ ok, say }) {
      waits.delete(file);
      line.className = ok ? "here" : "failed";
      how.textContent = ok ? "Kept" : "Not kept";
      if (say) line.append(Object.assign(document.createElement("span"), { className: "told", textContent: say }));
      bar.remove();
    },
  };
}

// A kind of picture that this browser cannot open has no small picture; it is sent all the same.
async function draw(file, thumb) {
  try {
    const picture = await createImageBitmap(file);
    const scale = Math.min(1, THUMB_PX / Math.max(picture.width, picture.height));
    const [width, height] = [picture.width * scale, picture.height * scale];
    thumb.getContext("2d").drawImage(picture, (THUMB_PX - width) / 2, (THUMB_PX - height) / 2, width, height);
    picture.close();
  } catch {
    return;
  }
}
