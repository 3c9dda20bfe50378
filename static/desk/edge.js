// Four corners over a photo: dragged by mouse or finger, or moved by arrow keys. The form's numbers are the truth.

const STEP = 0.2; // percent of the photo
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

export function wakeCorners(form) {
  const frame = document.querySelector("#corners-frame");
  if (!form || !frame) return;
  const corners = [...form.querySelectorAll(".corner")].map((set) => cornerOf(set, frame));
  const lines = drawnLines(frame);
  const draw = () => {
    for (const one of corners) place(one);
    const [, , width, height] = frame.querySelector("svg").getAttribute("viewBox").split(" ").map(Number);
    const points = corners.map((one) => `${(one.x.valueAsNumber / 100) * width},${(one.y.valueAsNumber / 100) * height}`);
    for (const line of lines) line.setAttribute("points", points.join(" "));
  };
  frame.querySelector(".as-kept")?.remove();
  for (const one of corners) wakeHandle(one, frame, draw);
  form.addEventListener("input", draw);
  draw();
}

function cornerOf(set, frame) {
  const handle = document.createElement("button");
  handle.type = "button";
  handle.className = "corner-handle";
  frame.append(handle);
  const [x, y] = set.querySelectorAll("input");
  return { handle, x, y, word: set.querySelector("legend").textContent };
}

function drawnLines(frame) {
  const made = [0, 1].map(() => document.createElementNS("http://www.w3.org/2000/svg", "polygon"));
  frame.querySelector("svg").append(...made);
  return made;
}

function place({ handle, x, y, word }) {
  handle.style.left = `${x.value}%`;
  handle.style.top = `${y.value}%`;
  handle.setAttribute("aria-label", `${word}: ${Math.round(x.value)} percent from the left, ${Math.round(y.value)} from the top`);
}

function wakeHandle(corner, frame, draw) {
  const moveTo = (x, y) => {
    corner.x.value = Math.min(100, Math.max(0, x)).toFixed(2);
    corner.y.value = Math.min(100, Math.max(0, y)).toFixed(2);
    draw();
  };
  const { handle } = corner;
  handle.addEventListener("keydown", (event) => {
    const way = ARROWS[event.key];
    if (!way || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    const far = STEP * (event.shiftKey ? 10 : 1);
    moveTo(corner.x.valueAsNumber + way[0] * far, corner.y.valueAsNumber + way[1] * far);
  });
  handle.addEventListener("pointerdown", (event) => {
    handle.setPointerCapture(event.pointerId);
    handle.focus();
    event.preventDefault();
  });
  handle.addEventListener("pointermove", (event) => {
    if (!handle.hasPointerCapture(event.pointerId)) return;
    const box = frame.getBoundingClientRect();
    moveTo(((event.clientX - box.left) / box.width) * 100, ((event.clientY - box.top) / box.height) * 100);
  });
}
