// Share time by keyboard: arrows and space go through the works, Home and End to the ends, Escape to all of them.
const page = document.querySelector("#page");
const ways = { ArrowRight: "after", ArrowDown: "after", " ": "after", PageDown: "after", ArrowLeft: "before", ArrowUp: "before", PageUp: "before", Home: "first", End: "last", Escape: "all" };

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("a, input, select, textarea") && event.key === " ") return;
  const to = page.dataset[ways[event.key]];
  if (!ways[event.key] || !to) return;
  event.preventDefault();
  location.assign(to);
});
