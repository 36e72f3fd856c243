/* The floor is fetched anew every twenty seconds, but not under a person's hands:
   not while a field has the focus or a form was opened to be filled in. */
"use strict";

document.addEventListener("htmx:beforeRequest", (event) => {
  const floor = event.target;
  if (floor.id !== "floor") return;
  const active = document.activeElement;
  const typing = floor.contains(active) && active.matches("input, select, textarea");
  if (typing || floor.querySelector("details[open] form.stack")) event.preventDefault();
});

/* What was open stays open after a tap inside it, and the focus stays where it was:
   on the same button, or on the first of the same card where that one is gone. */
let before = null;
document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.target.id !== "floor") return;
  const active = document.activeElement;
  const card = event.target.contains(active) ? active.closest("section") : null;
  before = {
    opened: Array.from(event.target.querySelectorAll("details[open][id]"), (one) => one.id),
    focus: card ? active.id || active.parentElement.id : "",
    card: card ? card.getAttribute("aria-labelledby") : "",
  };
});
document.addEventListener("htmx:afterSettle", () => {
  if (!before) return;
  for (const id of before.opened) {
    const one = document.getElementById(id);
    if (one && !id.startsWith("climate-")) one.open = true;
  }
  if (before.card) {
    const same = before.focus && document.getElementById(before.focus);
    const section = document.querySelector(`section[aria-labelledby="${before.card}"]`);
    const target = same || (section && section.querySelector(".taps button, summary"));
    if (target) (target.matches("details") ? target.querySelector("summary") : target).focus();
  }
  before = null;
});
