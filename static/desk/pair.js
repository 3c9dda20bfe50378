// Then and now: one picture laid over the other at one scale, with a slider between them. Without this, side by side.

const MOST = 2; // pixels per millimeter
const ROOM_ABOVE = 320; // pixels of the window that the pictures leave free for the words above and below

export function wakePair(over) {
  if (!over) return;
  const presses = [...document.querySelectorAll("[data-pair]")];
  const tick = document.querySelector("#pair-tick").content;
  const show = (way) => {
    for (const press of presses) {
      const chosen = press.dataset.pair === way;
      press.setAttribute("aria-pressed", String(chosen));
      press.querySelector(".tick-place").replaceChildren(...(chosen ? [tick.cloneNode(true)] : []));
    }
    over.hidden = way !== "over";
    document.querySelector("#pair-beside").hidden = way === "over";
    document.querySelector("#pair-between").hidden = way !== "over";
    if (way === "over") fit(over);
  };
  for (const press of presses) press.addEventListener("click", () => show(press.dataset.pair));
  wakeRange(over);
  show("over");
  const again = () => over.hidden || fit(over);
  addEventListener("resize", again);
  for (const image of over.querySelectorAll("img")) image.addEventListener("load", again);
}

// As large as both can be at one scale, in the width of the page and the height of the window.
function fit(over) {
  const sides = [...over.querySelectorAll(".layer img")].map((image) => {
    const wide = Number(getComputedStyle(image).getPropertyValue("--mm"));
    const [across, down] = image.naturalWidth
      ? [image.naturalWidth, image.naturalHeight]
      : [image.getAttribute("width"), image.getAttribute("height")].map(Number);
    return { wide, high: (wide * down) / across };
  });
  const room = over.clientWidth - 46;
  const least = Math.min(
    room / Math.max(...sides.map(({ wide }) => wide)),
    (innerHeight - ROOM_ABOVE) / Math.max(...sides.map(({ high }) => high)),
    MOST,
  );
  over.style.setProperty("--scale", least.toFixed(3));
}

function wakeRange(over) {
  const range = over.querySelector("input");
  const draw = () => {
    over.querySelector("#over-frame").style.setProperty("--place", `${range.value}%`);
    range.setAttribute("aria-valuetext", `${range.value} percent then, ${100 - range.value} percent now`);
  };
  range.addEventListener("input", draw);
  draw();
}
