// To check by keyboard. Single keys work only while the question itself, or a press in it, has the focus:
// never while something is being written (but V after a number: another view of its work), never for the rest of the page (WCAG 2.1.4).

export function wakeKeys(question) {
  if (!question) return;
  question.focus({ preventScroll: true });
  question.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
    if (event.target.id === "number" && event.key.toUpperCase() === "V" && press(question.querySelector("#as-view"))) event.preventDefault();
    if (event.target.closest("input, select, textarea")) return;
    if (answer(question, event)) event.preventDefault();
  });
}

function answer(question, event) {
  if (event.key === "Enter" && event.target === question) return press(question.querySelector(".answer.main"));
  const number = question.querySelector("#number");
  if (/^[0-9]$/.test(event.key) && question.dataset.digits === "number" && number) return write(number, event.key);
  const wanted = event.key.toUpperCase();
  return press([...question.querySelectorAll("[data-key]")].find((one) => one.dataset.key.toUpperCase() === wanted));
}

function press(button) {
  if (!button) return false;
  button.click();
  return true;
}

// A digit begins a number in its field: 1 may become 14, so nothing is sent before Enter.
function write(field, digit) {
  field.value = digit;
  field.focus();
  return true;
}
