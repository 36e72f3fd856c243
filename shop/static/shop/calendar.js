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

/* What was open stays open after a tap inside it. */
let opened = [];
document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.target.id !== "floor") return;
  opened = Array.from(event.target.querySelectorAll("details[open][id]"), (one) => one.id);
});
document.addEventListener("htmx:afterSwap", () => {
  for (const id of opened) {
    const one = document.getElementById(id);
    if (one && !id.startsWith("climate-")) one.open = true;
  }
  opened = [];
});
