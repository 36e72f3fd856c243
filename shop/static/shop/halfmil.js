/* Small help for every page; each page works without it. */
"use strict";

/* A swap replaces what is shown, never what is being typed into. */
document.addEventListener("htmx:responseError", (event) => {
  const box = document.getElementById("messages");
  if (!box) return;
  const note = document.createElement("p");
  note.className = "note stop";
  note.textContent = document.body.dataset.troubled || "The site did not answer. What you typed is still here; try again.";
  box.replaceChildren(note);
  event.preventDefault();
});

/* A form sent twice by an impatient finger is sent once. */
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method === "get") return;
  if (form.dataset.sent) event.preventDefault();
  form.dataset.sent = "yes";
});
addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
});

/* What can only be copied is taken as a whole. */
const takeWhole = (field) => field.readOnly && field.select();
addEventListener("focusin", (event) => takeWhole(event.target));

/* Jump to the first field that was refused. */
addEventListener("DOMContentLoaded", () => {
  const wrong = document.querySelector("[aria-invalid=true]");
  if (wrong) wrong.focus();
  takeWhole(document.activeElement);
});
