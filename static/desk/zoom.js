// The picture of a work comes nearer in its own frame: by press, wheel, two fingers, or + and - while it has the
// focus. Without this the picture is a plain link to its largest form.

const MOST = 8;
const STEP = 60; // pixels of one arrow key
const ARROWS = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

export function wakeZoom(picture) {
  if (!picture) return;
  const line = document.querySelector("#zoom-line");
  const seen = { near: 1, x: 0, y: 0, picture, frame: picture.querySelector(".zoom-frame"), line };
  picture.setAttribute("role", "button");
  picture.setAttribute("aria-label", picture.dataset.zoom);
  picture.setAttribute("aria-describedby", "zoom-hint");
  picture.draggable = false;
  for (const button of line.querySelectorAll("[data-zoom-by]")) {
    button.addEventListener("click", () => comeNearer(seen, seen.near * Number(button.dataset.zoomBy)));
  }
  document.querySelector("#shown").addEventListener("keydown", (event) => takeKey(seen, event));
  wakeWheel(seen);
  wakePointers(seen);
}

// Nearer by as much, so that the point (in pixels of the frame) stays where it is; 1 is the whole picture.
function comeNearer(seen, near, at = middle(seen)) {
  const wanted = Math.min(MOST, Math.max(1, near));
  const share = wanted / seen.near;
  seen.x = at.x - (at.x - seen.x) * share;
  seen.y = at.y - (at.y - seen.y) * share;
  seen.near = wanted;
  draw(seen);
  document.querySelector("#zoom-said").textContent =
    wanted === 1 ? "The whole picture" : `${Math.round(wanted * 10) / 10} times as large`;
}

function middle({ frame }) {
  return { x: frame.clientWidth / 2, y: frame.clientHeight / 2 };
}

function move(seen, x, y) {
  seen.x += x;
  seen.y += y;
  draw(seen);
}

function draw(seen) {
  const { frame, picture, line, near } = seen;
  seen.x = Math.min(0, Math.max(frame.clientWidth * (1 - near), seen.x));
  seen.y = Math.min(0, Math.max(frame.clientHeight * (1 - near), seen.y));
  const image = frame.querySelector("img");
  image.style.transform = near === 1 ? "" : `translate(${seen.x}px, ${seen.y}px) scale(${near})`;
  picture.classList.toggle("near", near > 1);
  for (const button of line.querySelectorAll("[data-zoom-by]")) {
    button.setAttribute("aria-disabled", String(Number(button.dataset.zoomBy) > 1 ? near === MOST : near === 1));
  }
}

function takeKey(seen, event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const way = ARROWS[event.key];
  if (event.key === "+" || event.key === "=") comeNearer(seen, seen.near * 2);
  else if (event.key === "-") comeNearer(seen, seen.near / 2);
  else if (event.key === "Escape" && seen.near > 1) comeNearer(seen, 1);
  else if (way && seen.near > 1) move(seen, way[0] * STEP, way[1] * STEP);
  else if (event.key === " " && event.target === seen.picture) comeNearer(seen, seen.near * 2);
  else return;
  event.preventDefault();
  event.stopPropagation();
}

function pointOf(seen, event) {
  const box = seen.frame.getBoundingClientRect();
  return { x: event.clientX - box.left, y: event.clientY - box.top };
}

// A wheel over the whole picture scrolls the page, as anywhere; once it is near, or with Ctrl, it is the picture's.
function wakeWheel(seen) {
  seen.picture.addEventListener(
    "wheel",
    (event) => {
      if (seen.near === 1 && !(event.ctrlKey && event.deltaY < 0)) return;
      event.preventDefault();
      comeNearer(seen, seen.near * Math.exp(-event.deltaY / (event.ctrlKey ? 100 : 400)), pointOf(seen, event));
    },
    { passive: false },
  );
}

function wakePointers(seen) {
  const down = new Map();
  let moved = 0;
  const { picture } = seen;
  picture.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "mouse" && event.button !== 0) return;
    if (down.size === 0) moved = 0;
    down.set(event.pointerId, pointOf(seen, event));
  });
  picture.addEventListener("pointermove", (event) => {
    const before = down.get(event.pointerId);
    if (!before) return;
    const now = pointOf(seen, event);
    const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
    moved += Math.hypot(now.x - before.x, now.y - before.y);
    down.set(event.pointerId, now);
    if (other) {
      const share = Math.hypot(now.x - other.x, now.y - other.y) / Math.hypot(before.x - other.x, before.y - other.y);
      comeNearer(seen, seen.near * (share || 1), { x: (now.x + other.x) / 2, y: (now.y + other.y) / 2 });
    }
    if (moved > 4 && !picture.hasPointerCapture(event.pointerId)) picture.setPointerCapture(event.pointerId);
    if (seen.near > 1) move(seen, (now.x - before.x) / down.size, (now.y - before.y) / down.size);
  });
  for (const end of ["pointerup", "pointercancel"]) {
    picture.addEventListener(end, (event) => down.delete(event.pointerId));
  }
  picture.addEventListener("dragstart", (event) => event.preventDefault());
  picture.addEventListener("click", (event) => {
    if (event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    if (moved > 4) return;
    const byKey = event.detail === 0;
    comeNearer(seen, seen.near === MOST ? 1 : seen.near * 2, byKey ? middle(seen) : pointOf(seen, event));
  });
}
