// Decides, frame by frame, when a picture may be taken: the card is read, everything lies still, and it is not the work
// that was taken already. Pure values in and out, so that it can be tried without a camera.

export const STILL_MS = 700;
export const GONE_MS = 450;
const CELL_PX = 16;
const CELL_CHANGED = 10; // levels of 255; a camera's noise stays far below in the mean of a cell
const CHANGED_SHARE = 0.006;
const CORNER_MOVED_PX = 3;
const SAME_LEVELS = 3;

// RGBA of a canvas → brightness, one byte a pixel.
export function grayOf(rgba) {
  const gray = new Uint8Array(rgba.length / 4);
  for (let at = 0, from = 0; at < gray.length; at += 1, from += 4) {
    gray[at] = (rgba[from] * 77 + rgba[from + 1] * 150 + rgba[from + 2] * 29) >> 8;
  }
  return gray;
}

// Mean brightness of square cells: small enough to compare, coarse enough to be free of noise.
export function gridOf(gray, width, height) {
  const across = Math.floor(width / CELL_PX);
  const down = Math.floor(height / CELL_PX);
  const grid = new Float32Array(across * down);
  for (let y = 0; y < down * CELL_PX; y += 1) {
    const row = Math.floor(y / CELL_PX) * across;
    for (let x = 0; x < across * CELL_PX; x += 1) grid[row + Math.floor(x / CELL_PX)] += gray[y * width + x];
  }
  return grid.map((sum) => sum / (CELL_PX * CELL_PX));
}

// Whether something moved between two frames.
export function hasMoved(before, grid) {
  if (before?.length !== grid.length) return true;
  let changed = 0;
  for (let at = 0; at < grid.length; at += 1) changed += Math.abs(grid[at] - before[at]) > CELL_CHANGED ? 1 : 0;
  return changed / grid.length > CHANGED_SHARE;
}

// Whether two frames show the same work in the same place; the light may have changed as a whole.
export function isSame(one, other) {
  if (one?.length !== other.length) return false;
  let shift = 0;
  for (let at = 0; at < one.length; at += 1) shift += other[at] - one[at];
  shift /= one.length;
  let apart = 0;
  for (let at = 0; at < one.length; at += 1) apart += Math.abs(other[at] - one[at] - shift);
  return apart / one.length < SAME_LEVELS;
}

function cornersMoved(before, corners) {
  if (before?.length !== corners.length) return true;
  return corners.some(([x, y], at) => Math.hypot(x - before[at][0], y - before[at][1]) > CORNER_MOVED_PX);
}

export class Watch {
  #grid = null;
  #corners = null;
  #stillSince = 0;
  #emptySince = null;
  #gone = true;
  #last = new Set();
  #lastGrid = null;
  #backGrid = null;

  // One frame: what to show (rest · holding · unclear · several) and whether to take the picture now.
  look({ now, grid, seen }) {
    if (hasMoved(this.#grid, grid) || cornersMoved(this.#corners, seen.corners)) this.#stillSince = now;
    this.#grid = grid;
    this.#corners = seen.corners;
    const still = now - this.#stillSince >= STILL_MS;
    if (seen.lying === "nothing") {
      this.#emptySince ??= now;
      if (now - this.#emptySince >= GONE_MS) this.#gone = true;
      return { show: "rest", take: false };
    }
    this.#emptySince = null;
    if (seen.lying !== "clear") return { show: still ? seen.lying : "rest", take: false };
    if (!this.#isNew(seen.cards, grid)) return { show: "rest", take: false };
    return { show: "holding", take: still };
  }

  // Another card than before; or the same one, when it was away and what lies there now looks different.
  #isNew(cards, grid) {
    if (cards.some((card) => !this.#last.has(card))) return true;
    return this.#gone && !isSame(this.#lastGrid, grid);
  }

  taken(cards) {
    this.#last = new Set(cards);
    this.#lastGrid = this.#grid;
    this.#gone = false;
  }

  // The picture was no good: the same work is taken once more when it lies still again.
  again(now) {
    this.#stillSince = now;
  }

  // Taken back: what lies there stays untaken until the card is changed or has been away.
  takenBack() {
    this.#backGrid = this.#lastGrid;
    this.#lastGrid = null;
  }

  // Brought back: it is the work that was taken already, as before.
  broughtBack() {
    this.#lastGrid = this.#backGrid;
  }
}
