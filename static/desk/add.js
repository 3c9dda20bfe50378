// Photos are sent one by one, two at a time, each with its own progress. The batch is made first, so that whatever
// arrived is kept even when the page is closed; the server reads them once all are there.

const AT_ONCE = 2;
const TRIES = 4;
const SPOKEN_EVERY = 5;

export function wakeAdding(form) {
  if (!form) return;
  const drop = form.querySelector("#drop");
  const photos = form.querySelector("#photos");
  const folder = form.querySelector("#folder");
  for (const [button, input] of [["#choose", photos], ["#choose-folder", folder]]) {
    form.querySelector(button).addEventListener("click", () => input.click());
  }
  for (const input of [photos, folder]) {
    input.addEventListener("change", () => begin(form, [...input.files]));
  }
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (photos.files.length) begin(form, [...photos.files]);
  });
  drop.addEventListener("dragover", (event) => {
    event.preventDefault();
    drop.classList.add("over");
  });
  drop.addEventListener("dragleave", () => drop.classList.remove("over"));
  drop.addEventListener("drop", async (event) => {
    event.preventDefault();
    drop.classList.remove("over");
    begin(form, await dropped(event.dataTransfer));
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
  if (!files.length || form.dataset.busy) return;
  form.dataset.busy = "yes";
  const page = pageOf(files.length);
  const body = new FormData();
  for (const name of ["class_id", "medium_id", "day", "absent"]) body.set(name, form.elements[name].value);
  body.set("by_order", form.elements.by_order.checked ? "1" : "");
  body.set("expected", String(files.length));
  form.hidden = true;
  page.show();
  try {
    const answer = await fetch("/add/batches", { method: "POST", body });
    if (!answer.ok) throw new Error(answer.status);
    const { batch } = await answer.json();
    const { failed, told } = await sendAll(batch, files, page, form.dataset);
    await fetch(`/add/${batch}/close`, { method: "POST" });
    if (failed || told) page.halt(batch, failed);
    else location.assign(`/add/${batch}`);
  } catch {
    page.stopped();
  }
}

const isZip = (file) => /\.zip$/i.test(file.name);

// How many did not arrive, and whether the library told anything about those that did.
async function sendAll(batch, files, page, most) {
  let next = 0;
  let failed = 0;
  let told = false;
  const lane = async () => {
    while (next < files.length) {
      const file = files[next++];
      const line = page.line(file);
      const maxMb = Number(isZip(file) ? most.zipMaxMb : most.photoMaxMb);
      const tooHeavy = file.size > maxMb * 2 ** 20;
      const sent = tooHeavy ? { ok: false, say: `More than ${maxMb} MB: it was left where it is` } : await sendPatiently(batch, file, line);
      if (!sent.ok) failed += 1;
      if (sent.ok && sent.say) told = true;
      line.end(sent);
      page.sent(sent.ok);
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, lane));
  return { failed, told };
}

async function sendPatiently(batch, file, line) {
  for (let attempt = 0; attempt < TRIES; attempt += 1) {
    const { status, text } = await send(batch, file, line);
    if (status >= 200 && status < 300) return { ok: true, say: problemsIn(text) };
    if (status >= 400 && status < 500) return { ok: false, say: problemsIn(text) };
    await new Promise((yes) => setTimeout(yes, 500 * 2 ** attempt));
  }
  return { ok: false, say: "" };
}

// What the library says about a file, in its own sentences; nothing when its answer is no list of them.
function problemsIn(text) {
  try {
    return (JSON.parse(text).problems ?? []).join(" ");
  } catch {
    return "";
  }
}

function send(batch, file, line) {
  return new Promise((done) => {
    const request = new XMLHttpRequest();
    const body = new FormData();
    body.set("photo", file, file.name);
    request.upload.addEventListener("progress", (event) => line.progress(event.loaded, event.total));
    request.addEventListener("loadend", () => done({ status: request.status, text: request.responseText }));
    request.open("POST", `/add/${batch}/photos`);
    request.send(body);
  });
}

const megabytes = (bytes) => (bytes / 1e6).toFixed(1);

function pageOf(total) {
  const get = (id) => document.getElementById(id);
  let count = 0;
  let done = 0;
  return {
    show() {
      get("sending").hidden = false;
      get("sent-line").max = total;
      get("sent-words").textContent = `of ${total} sent.`;
    },
    line(file) {
      const line = document.createElement("li");
      const name = Object.assign(document.createElement("span"), { className: "name", textContent: file.name });
      const how = Object.assign(document.createElement("span"), { className: "how", textContent: "Waiting" });
      const bar = Object.assign(document.createElement("progress"), { max: file.size || 1, value: 0 });
      bar.setAttribute("aria-label", file.name);
      line.append(name, how, bar);
      get("lines").prepend(line);
      return {
        progress(loaded, whole) {
          bar.value = Math.min(loaded, file.size);
          how.textContent = loaded < whole ? `${megabytes(loaded)} of ${megabytes(whole)} MB` : "Being stored";
        },
        end({ ok, say }) {
          line.className = ok ? "here" : "failed";
          how.textContent = ok ? "Kept" : say ? "Not kept" : "Did not arrive. Choose it again.";
          if (say) line.append(Object.assign(document.createElement("span"), { className: "told", textContent: say }));
          bar.remove();
        },
      };
    },
    sent(ok) {
      count += ok ? 1 : 0;
      done += 1;
      get("sent").textContent = String(count);
      get("sent-line").value = done;
      if (done % SPOKEN_EVERY === 0 || done === total) get("spoken").textContent = `${count} of ${total} sent.`;
    },
    halt(batch, failed) {
      get("keep-open").textContent = failed ? `${failed} ${failed === 1 ? "is" : "are"} not kept.` : "Not everything could be kept.";
      get("keep-words").textContent = "The lines below say why; all others are kept. ";
      const on = Object.assign(document.createElement("a"), { href: `/add/${batch}`, textContent: "See the batch" });
      get("keep-words").append(on);
    },
    stopped() {
      get("keep-open").textContent = "The library did not answer.";
      get("keep-words").textContent = "What was sent is kept. Check that Portfolio is running, then add the photos again; those already kept are skipped.";
    },
  };
}
