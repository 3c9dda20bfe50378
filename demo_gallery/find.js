// Find a work: narrows the list that stands on the page already. Without this script the list is simply whole.
"use strict";

const form = document.querySelector("#find");
const box = document.querySelector("#find-words");
const count = document.querySelector("#find-count");
const works = JSON.parse(document.querySelector("#works").textContent);

function bare(text) {
  return text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase();
}

const lines = works.map((work) => ({
  line: document.getElementById("f-" + work.id),
  text: bare([work.title, work.by, work.medium, work.words].join(" ")),
}));

function narrow() {
  const words = bare(box.value).split(/\s+/).filter(Boolean);
  let shown = 0;
  for (const { line, text } of lines) {
    const fits = words.every((word) => text.includes(word));
    line.hidden = !fits;
    shown += fits ? 1 : 0;
  }
  if (words.length === 0) {
    count.textContent = "";
  } else if (shown === 0) {
    count.textContent = "No work has this word. Try one letter less.";
  } else {
    count.textContent = shown === 1 ? "1 work" : shown + " works";
  }
}

form.hidden = false;
form.addEventListener("submit", (event) => event.preventDefault());
box.addEventListener("input", narrow);
narrow();
