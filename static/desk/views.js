// The views of a work by the left and right arrow keys, unless something else on the page has use for them.

const WAYS = { ArrowLeft: "prev", ArrowRight: "next" };

export function wakeViews(nav) {
  if (!nav) return;
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey || event.defaultPrevented) return;
    const link = WAYS[event.key] && nav.querySelector(`[rel="${WAYS[event.key]}"]`);
    const elsewhere = document.activeElement !== document.body && !document.activeElement.closest("#shown, h1, main:focus");
    if (!link || elsewhere) return;
    event.preventDefault();
    location.replace(link.href); // Back leads to where the work was opened from, not through its views
  });
}
