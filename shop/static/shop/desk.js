/* The quote desk by keyboard, and a call that is kept; each page works without it. */
"use strict";
(() => {
  const form = document.getElementById("desk");
  if (!form) return;

  /* Arrow keys along the finish curve; the page does the same with a click or a number. */
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

  /* Arrow keys from the box into those who fit, and back. */
  document.addEventListener("keydown", (event) => {
    const way = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const at = event.target;
    if (!way || !(at.id === "f-q" || at.closest("#desk-found"))) return;
    const all = [document.getElementById("f-q"), ...document.querySelectorAll("#desk-found button")];
    const next = all[all.indexOf(at) + way];
    event.preventDefault();
    if (next) next.focus();
  });

  /* The chosen step keeps the focus after the curve is drawn anew. */
  let onCurve = false;
  let ticked = null;
  let found = null;
  const slot = () => document.querySelector("[name=slot]:checked");
  document.addEventListener("htmx:beforeSwap", () => {
    const at = document.activeElement;
    found = at && at.closest("#desk-found") && `#desk-found [name="${at.name}"][value="${at.value}"]`;
    ticked = slot() && { value: slot().value, focus: document.activeElement === slot() };
    onCurve = Boolean(document.activeElement && document.activeElement.closest("#curve"));
  });
  document.addEventListener("htmx:afterSettle", () => {
    const chosen = document.querySelector("#curve .step[aria-pressed=true]");
    if (onCurve && chosen) chosen.focus();
    onCurve = false;
    /* So does a visit that was ticked while others were looked for. */
    const same = ticked && document.querySelector(`[name=slot][value="${CSS.escape(ticked.value)}"]`);
    if (same) same.checked = true;
    if (ticked && ticked.focus && slot()) slot().focus();
    /* And who is about to be taken, while the last letter is still looked up. */
    const again = found && document.querySelector(found);
    if (again) again.focus();
    ticked = found = null;
  });

  /* Each request has its number, so that one which was overtaken changes nothing. */
  const turn = form.elements.turn;
  const next = () => { turn.value = Number(turn.value) + 1; return turn.value; };
  document.addEventListener("htmx:configRequest", (event) => {
    if ("turn" in event.detail.parameters) event.detail.parameters.turn = next();
    if (event.target !== document.getElementById("desk-when")) unkept = false;
  });
  form.addEventListener("submit", () => { next(); leaving = true; });

  /* A page that is loaded again shows this call, not an empty desk. */
  if (form.dataset.address) history.replaceState(history.state, "", form.dataset.address);

  /* The field that is asked next, unless one was refused. */
  const first = document.getElementById(`f-${form.dataset.focus}`);
  if (first && !document.querySelector("[aria-invalid=true]")) first.focus();

  /* What was typed in the last moment is kept even where nobody waits for the answer. */
  let unkept = false;
  let leaving = false;
  form.addEventListener("input", () => { unkept = true; });
  form.addEventListener("htmx:sendError", () => { unkept = true; });
  addEventListener("pageshow", () => { leaving = false; });
  addEventListener("pagehide", () => {
    if (!unkept || leaving) return;
    next();
    navigator.sendBeacon(form.dataset.keep, new FormData(form));
  });
})();
