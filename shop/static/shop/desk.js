/* Arrow keys along the finish curve; the page does the same with a click or a number. */
"use strict";
document.addEventListener("keydown", (event) => {
  const step = event.target.closest && event.target.closest("#curve .step");
  const way = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[event.key];
  if (!step || !way) return;
  event.preventDefault();
  const all = [...document.querySelectorAll("#curve .step")];
  const next = all[all.indexOf(step) + way];
  if (!next) return;
  next.focus();
  next.click();
});

/* The chosen step keeps the focus after the curve is drawn anew. */
let onCurve = false;
document.addEventListener("htmx:beforeSwap", () => {
  onCurve = Boolean(document.activeElement && document.activeElement.closest("#curve"));
});
document.addEventListener("htmx:afterSettle", () => {
  const chosen = document.querySelector("#curve .step[aria-pressed=true]");
  if (onCurve && chosen) chosen.focus();
  onCurve = false;
});
