// Photos are sent two at a time, each with its own progress, over as many connections as it takes. The batch is made
// first, so that whatever arrived is kept even when the page is closed; the server reads them once all are there.
import { deservesLook, firstLook } from "./first-look.js";
import { Refused, askOn, sendLook, sendWhole } from "./sending.js";

const AT_ONCE = 2;
const SPOKEN_EVERY = 5;
const FOR_SCRIPT = { method: "POST", headers: { Accept: "application/json" } }; // an answer, not the way to a page

export function wakeAdding(form) {
  if (!form) return;
  const drop = form.querySelector("#drop");
  const photos = form.querySelector("#photos");
  const folder = form.querySelector("#folder");
  for (const [button, input] of [["#choose", photos], ["#choose-folder", folder]]) {
    form.querySelector(button).addEventListener("click", () => input.click());
  }
  for (const input of [photos, folder]) {
    input.addEventListener("change", () => {
      const chosen = [...input.files];
      input.value = ""; // so that the same photos can be chosen again
      begin(form, chosen);
    });
  }
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (photos.files.length) begin(form, [...photos.files]);
  });
  // The whole page takes what is dropped: a browser would leave the page for a photo that falls beside the place.
  document.addEventListener("dragover", (event) => {
    event.preventDefault();
    drop.classList.add("over");
  });
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) drop.classList.remove("over");
  });
  document.addEventListener("drop", async (event) => {
    event.preventDefault();
    drop.classList.remove("over");
    try {
      begin(form, await dropped(event.dataTransfer));
    } catch {
      refuse(form, "What was dropped cannot be read. Nothing was sent. Choose the photos or their folder instead.");
    }
  });
  document.addEventListener("paste", (event) => {
    const files = [...(event.clipboardData?.files ?? [])];
    if (files.length) begin(form, files);
  });
}

// Files and whole folders that were dropped.
async function dropped(transfer) {
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  if (!entries.length) return [...transfer.files];
  const found = [];
  for (const entry of entries) await walk(entry, found);
  return found;
}

async function walk(entry, found) {
  if (entry.isFile) {
    found.push(await new Promise((yes, no) => entry.file(yes, no)));
    return;
  }
  const reader = entry.createReader();
  for (;;) {
    const some = await new Promise((yes, no) => reader.readEntries(yes, no));
    if (!some.length) return;
    for (const one of some) await walk(one, found);
  }
}

const isPhoto = (file) => file.size > 0 && !file.name.startsWith(".") && (file.type.startsWith("image/") || /\.(jpe?g|png|hei[cf]|webp|avif|tiff?|bmp|gif|zip)$/i.test(file.name));

async function begin(form, chosen) {
  const files = chosen.filter(isPhoto);
  if (form.dataset.busy || !chosen.length) return;
  const most = Number(form.dataset.filesMax);
  if (!files.length) return refuse(form, "Among these is no photo. Choose photos, a folder of photos, or a zip file.");
  if (files.length > most) return refuse(form, `${files.length} photos are more than can be added at once (${most}). Nothing was sent. Choose the photos of one lesson, then those of the next.`);
  form.dataset.busy = "yes";
  const page = pageOf(files);
  const body = new FormData();
  for (const name of ["class_id", "medium_id", "day", "absent"]) body.set(name, form.elements[name].value);
  body.set("by_order", form.elements.by_order.checked ? "1" : "");
  body.set("expected", String(files.length));
  form.hidden = true;
  page.show();
  addEventListener("beforeunload", warn);
  let batch = 0;
  try {
    ({ batch } = await (await askOn("/add/batches", { method: "POST", body }, page.waiting)).json());
    const { failed, told } = await sendAll(batch, files, page, form.dataset);
    await askOn(`/add/${batch}/close`, FOR_SCRIPT, page.waiting);
    if (failed || told) page.halt(batch, failed);
    else location.assign(`/add/${batch}`);
  } catch (error) {
    if (batch || !(error instanceof Refused)) return page.stopped();
    page.hide();
    takeAgain(form, error.message);
  } finally {
    removeEventListener("beforeunload", warn);
  }
}

function refuse(form, words) {
  form.querySelector("#not-taken").textContent = words;
}

// The fields stand there again, as they were, with what is wrong about them.
function takeAgain(form, words) {
  form.hidden = false;
  delete form.dataset.busy;
  refuse(form, `${words} Then choose the photos once more.`);
  form.querySelector("#choose").focus();
}

// The browser asks in its own words before it leaves a page that still sends.
function warn(event) {
  event.preventDefault();
}

const isZip = (file) => /\.zip$/i.test(file.name);

// First small pictures of all, so that cards are read and questions come while the originals follow. Tells how many
// files did not arrive, and whether the library told anything about those that did.
async function sendAll(batch, files, page, most) {
  const lines = files.map((file) => page.line(file));
  const ways = "looksFirst" in most ? await lookAtAll(batch, files, page) : [];
  let failed = 0;
  let told = false;
  await inLanes(files, async (file, at) => {
    const maxMb = Number(isZip(file) ? most.zipMaxMb : most.photoMaxMb);
    const tooHeavy = file.size > maxMb * 2 ** 20;
    const sent = tooHeavy ? { ok: false, say: `More than ${maxMb} MB: it was left where it is` } : await sendWhole(file, batch, lines[at], ways[at]);
    if (!sent.ok) failed += 1;
    if (sent.ok && sent.say) told = true;
    lines[at].end(sent);
    page.sent(sent.ok);
  });
  return { failed, told };
}

// Where each photo is sent, for those that were announced with a small picture.
async function lookAtAll(batch, files, page) {
  const ways = files.map(() => "");
  const worth = files.filter(deservesLook);
  if (!worth.length) return ways;
  page.looking(worth.length);
  let looked = 0;
  await inLanes(files, async (file, at) => {
    if (!deservesLook(file)) return;
    const look = await firstLook(file);
    if (look) ways[at] = await sendLook(file, batch, look);
    looked += 1;
    page.looked(looked, worth.length);
  });
  await fetch(`/add/${batch}/close`, { method: "POST", redirect: "manual" }).catch(() => {});
  page.mayAnswer(batch);
  return ways;
}

// Two at a time, in order.
async function inLanes(files, act) {
  let next = 0;
  const lane = async () => {
    while (next < files.length) {
      const at = next++;
      await act(files[at], at);
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, lane));
}

const megabytes = (bytes) => (bytes / 1e6).toFixed(1);

function pageOf(files) {
  const get = (id) => document.getElementById(id);
  const total = files.length;
  let count = 0;
  let done = 0;
  const waits = new Map();
  const say = () => {
    const left = total - done;
    const why = [...waits.values()][0] ?? "";
    get("keep-open").textContent = left ? "Keep this page open." : "Safe to close.";
    get("keep-words").textContent = why || (left ? `${left} ${left === 1 ? "original" : "originals"} still to come.` : "");
    if (why && get("spoken").textContent !== why) get("spoken").textContent = why;
  };
  return {
    show() {
      get("sending").hidden = false;
      get("sent-line").max = total;
      get("sent-words").textContent = `of ${total} sent.`;
      say();
    },
    hide() {
      get("sending").hidden = true;
    },
    waiting(words) {
      if (words) waits.set(total, words);
      else waits.delete(total);
      say();
    },
    line(file) {
      const line = document.createElement("li");
      const name = Object.assign(document.createElement("span"), { className: "name", textContent: file.name });
      const how = Object.assign(document.createElement("span"), { className: "how", textContent: "Waiting" });
      const bar = Object.assign(document.createElement("progress"), { max: file.size || 1, value: 0 });
      bar.setAttribute("aria-label", file.name);
      line.append(name, how, bar);
      get("lines").append(line);
      const waiting = (words) => {
        if (words) waits.set(file, words);
        else if (!waits.delete(file)) return;
        say();
      };
      return {
        progress(bytes) {
          bar.value = bytes;
          how.textContent = bytes < file.size ? `${megabytes(bytes)} of ${megabytes(file.size)} MB` : "Being stored";
          if (bytes) waiting("");
        },
        waiting(words) {
          how.textContent = "Waiting";
          waiting(words);
        },
        end({ ok, before, say: words }) {
          waiting("");
          line.className = ok ? "here" : "failed";
          how.textContent = !ok ? "Not kept" : before ? "Came before, skipped" : "Kept";
          if (words) line.append(Object.assign(document.createElement("span"), { className: "told", textContent: words }));
          bar.remove();
        },
      };
    },
    looking(of) {
      get("looks").textContent = `First a small picture of each: 0 of ${of} sent.`;
    },
    looked(looked, of) {
      get("looks").textContent = `First a small picture of each: ${looked} of ${of} sent.`;
    },
    mayAnswer(batch) {
      const on = Object.assign(document.createElement("a"), { href: `/add/${batch}`, target: "_blank", rel: "noopener", textContent: "See the batch and answer its questions" });
      get("looks").replaceChildren("All photos can be read now, by their small pictures. ", on, " (in a new tab; this page goes on sending).");
      get("spoken").textContent = "All photos can be read now.";
    },
    sent(ok) {
      count += ok ? 1 : 0;
      done += 1;
      get("sent").textContent = String(count);
      get("sent-line").value = done;
      say();
      const left = total - done;
      if (done % SPOKEN_EVERY === 0 || !left) get("spoken").textContent = left ? `${count} of ${total} sent. ${left} still to come.` : `${count} of ${total} sent. Safe to close.`;
    },
    halt(batch, failed) {
      get("keep-open").textContent = failed ? `${failed} ${failed === 1 ? "is" : "are"} not kept.` : "Not everything could be kept.";
      get("keep-words").textContent = "The lines below say why; all others are kept. ";
      const on = Object.assign(document.createElement("a"), { href: `/add/${batch}`, textContent: "See the batch" });
      get("keep-words").append(on);
    },
    stopped() {
      get("keep-open").textContent = "This page cannot go on.";
      get("keep-words").textContent = "What was sent is kept. Reload this page and add the photos again; those already kept are skipped.";
    },
  };
}
