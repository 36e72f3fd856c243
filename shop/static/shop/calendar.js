/* Bay calendar: what others change appears by itself, and a booked visit can be dragged.
   Without this script each vehicle's page leads to the page for moving it. */
"use strict";
{
const $ = (id) => document.getElementById(id);
const live = $("cal-live"), ask = $("cal-ask"), note = $("cal-note");
const PARTS = ["cal-risk", "cal-draw", "cal-days"];
const EVERY_MS = 5000, PAUSE_MS = 150, LEAST_PX = 6, DAY = 1440;
const SVG = "http://www.w3.org/2000/svg";
let move = null; // the visit that is being moved
let dragged = false; // so that letting go opens no page

/* Others' changes: the parts that are different, not under a person's hands. */
const typing = (part) => part.contains(document.activeElement) && document.activeElement.matches("input, select");
async function refresh(anyway) {
  if (!anyway && (move || document.hidden || (ask && ask.open))) return;
  const seen = anyway ? "" : live.dataset.stamp;
  const answer = await fetch(`${live.dataset.url}&seen=${seen}`).catch(() => null);
  if (!answer || answer.status !== 200 || answer.redirected || (move && !anyway)) return;
  const found = new DOMParser().parseFromString(await answer.text(), "text/html");
  const focus = document.activeElement.id, run = live.querySelector(".cal-run");
  const left = run ? run.scrollLeft : 0;
  let all = true;
  for (const id of PARTS) {
    const old = $(id), fresh = found.getElementById(id);
    if (!fresh || old.isEqualNode(fresh)) continue;
    if (typing(old)) all = false; else old.replaceWith(fresh);
  }
  if (all) live.dataset.stamp = found.getElementById("cal-live").dataset.stamp;
  if (run) live.querySelector(".cal-run").scrollLeft = left;
  if (focus && document.activeElement.id !== focus && $(focus)) $(focus).focus({ preventScroll: true });
}
setInterval(refresh, EVERY_MS);
document.addEventListener("visibilitychange", () => refresh());

/* Places: percent across by the picture's own scale, pixels down by its rows. */
const picture = () => live.querySelector(".cal-picture");
const scale = () => picture().dataset.scale.split(" ").map((one) => one.split(":").map(Number));
const lanes = () => picture().dataset.lanes.split(" ").map((one) => {
  const [key, kind, y, height] = one.split(":");
  return { key, kind, y: +y, height: +height };
});
function between(value, from, to) {
  const pairs = scale();
  let k = pairs.findIndex((pair) => pair[from] > value) - 1;
  if (k === -2) k = pairs.length - 2;
  const [a, b] = [pairs[Math.max(k, 0)], pairs[Math.max(k, 0) + 1]];
  return a[to] + (value - a[from]) / (b[from] - a[from]) * (b[to] - a[to]);
}
const xOf = (minute) => Math.min(100, Math.max(0, between(minute, 0, 1)));
const minuteAt = (event) => {
  const box = picture().getBoundingClientRect();
  return between((event.clientX - box.left) / box.width * 100, 1, 0);
};
const laneAt = (event) => {
  const y = event.clientY - picture().getBoundingClientRect().top;
  return lanes().find((lane) => y >= lane.y && y < lane.y + lane.height);
};

/* Drawing where it was let go, and where it would really land. */
function draw(kind, x, y, width, height) {
  const one = document.createElementNS(SVG, "rect");
  for (const [name, value] of Object.entries({ class: kind, x: `${x}%`, y, width: `${width}%`, height })) one.setAttribute(name, value);
  move.ghost.append(one);
}
function say(text, kind) {
  $("cal-said").textContent = text;
  $("cal-said").className = `cal-said ${kind || ""}`;
}
function redraw() {
  move.ghost.replaceChildren();
  const rows = lanes();
  for (const [key, start, end] of move.answer && move.answer.fits ? move.answer.stays : []) {
    const row = rows.find((lane) => +lane.key === key);
    if (row) draw("ghost", xOf(start), row.y + 4, Math.max(0.3, xOf(end) - xOf(start)), row.height - 8);
  }
  const row = rows.find((lane) => lane.key === move.bay);
  const [top, height] = row ? [row.y, row.height] : [40, picture().height.baseVal.value];
  draw("wish", xOf(move.at), top, 0.25, height);
}

/* A visit is taken up, moved about, and put down or left. */
function take(ribbon) {
  const ghost = document.createElementNS(SVG, "g");
  picture().append(ghost);
  ribbon.classList.add("moving");
  move = { ribbon, ghost, job: ribbon.dataset.job, at: +ribbon.dataset.at, bay: "", answer: null };
}
function leave(text) {
  if (!move) return;
  clearTimeout(move.timer);
  move.ghost.remove();
  move.ribbon.classList.remove("moving");
  move = null;
  say(text || "");
}
function to(at, bay) {
  const step = +picture().dataset.step;
  at = Math.round(at / step) * step;
  if (at === move.at && bay === move.bay && move.answer) return;
  Object.assign(move, { at, bay, answer: null });
  redraw();
  clearTimeout(move.timer);
  move.timer = setTimeout(would, PAUSE_MS);
}
/* One question at a time: the next is asked when the one before is answered. */
function would() {
  const mine = move;
  clearTimeout(mine.timer);
  if (!mine.asking) mine.asking = question(mine).finally(() => { mine.asking = null; });
  return mine.asking;
}
async function question(mine) {
  while (move === mine && !mine.answer) {
    const { at, bay } = mine;
    const query = new URLSearchParams({ at: new Date(at * 60000).toISOString(), bay });
    const got = await fetch(`${live.dataset.fit.replace("/0/", `/${mine.job}/`)}?${query}`).catch(() => null);
    const answer = got && await got.json().catch(() => null);
    if (move !== mine) return;
    if (!answer) return leave(document.body.dataset.troubled);
    if (mine.at !== at || mine.bay !== bay) continue;
    mine.answer = answer;
    redraw();
    say((answer.fits ? "✓ " : "× ") + answer.said, answer.fits ? "good-word" : "stop-word");
  }
}
async function put() {
  const mine = move;
  if (!mine.answer) await would();
  if (move !== mine || !mine.answer) return;
  if (!mine.answer.fits) return mine.byHand ? leave($("cal-said").textContent) : undefined;
  $("cal-ask-title").textContent = mine.answer.title;
  for (const one of ask.querySelectorAll("[data-say]")) one.textContent = mine.answer[one.dataset.say] || "";
  ask.querySelector("[data-yes]").disabled = false;
  ask.showModal();
}
async function send(url, fields) {
  const headers = JSON.parse(document.body.getAttribute("hx-headers"));
  const got = await fetch(url, { method: "POST", headers, body: new URLSearchParams(fields) });
  return { ok: got.ok, ...await got.json().catch(() => ({ said: document.body.dataset.troubled })) };
}
function tell(answer) {
  const line = document.createElement("p");
  line.className = `note ${answer.ok ? "good" : "stop"}`;
  line.textContent = `${answer.ok ? "✓" : "×"} ${answer.said} `;
  if (answer.back) {
    const back = document.createElement("button");
    back.className = "btn";
    back.textContent = note.dataset.back;
    back.onclick = async () => {
      tell(await send(note.dataset.backUrl, { back: answer.back }));
      refresh(true);
    };
    line.append(back);
  }
  note.replaceChildren(line);
}

if (ask) {
  const form = ask.querySelector("form");
  const status = document.createElement("p");
  status.id = "cal-said";
  status.setAttribute("role", "status");
  $("cal-draw").after(status);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const { answer, at, bay, job } = move;
    form.querySelector("[data-yes]").disabled = true;
    const told = await send(form.dataset.url.replace("/0/", `/${job}/`), {
      at: new Date(at * 60000).toISOString(), bay, seen: answer.seen, arrives: answer.arrives,
      promised: answer.promised, why: $("cal-why").value,
    });
    if (told.ok) { leave(); ask.close(); tell(told); }
    else form.querySelector("[data-say=problem]").textContent = `× ${told.said}`;
    await refresh(true);
    if (told.ok && $(`visit-${job}`)) $(`visit-${job}`).focus();
  });
  ask.querySelector("[data-no]").onclick = () => ask.close();
  ask.addEventListener("close", () => {
    const key = move && move.ribbon.id;
    leave();
    if (key && $(key)) $(key).focus();
  });

  live.addEventListener("pointerdown", (event) => {
    const ribbon = event.target.closest(".ribbon.free");
    dragged = false;
    if (!ribbon || event.button || move) return;
    const from = { x: event.clientX, y: event.clientY, at: minuteAt(event) };
    const stop = new AbortController(), options = { signal: stop.signal };
    addEventListener("pointermove", (now) => {
      if (!move && Math.hypot(now.clientX - from.x, now.clientY - from.y) < LEAST_PX) return;
      if (!move) take(ribbon);
      dragged = move.byHand = true;
      const lane = laneAt(now);
      to(+ribbon.dataset.at + minuteAt(now) - from.at, lane && lane.kind === "bay" ? lane.key : "");
    }, options);
    addEventListener("pointerup", () => { stop.abort(); if (move) put(); }, options);
    addEventListener("pointercancel", () => { stop.abort(); leave(); }, options);
  });
  live.addEventListener("dragstart", (event) => event.target.closest(".ribbon") && event.preventDefault());
  live.addEventListener("click", (event) => {
    if (dragged && event.target.closest(".ribbon")) event.preventDefault();
    dragged = false;
  });

  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && move && !ask.open) return leave();
    const ribbon = event.target.closest && event.target.closest(".ribbon.free");
    if (!ribbon || event.ctrlKey || event.altKey || event.metaKey || (move && move.byHand)) return;
    const across = { ArrowLeft: -1, ArrowRight: 1 }[event.key], down = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (event.key === "Enter" && move) { event.preventDefault(); put(); }
    if (!across && !down) return;
    event.preventDefault();
    if (!move) take(ribbon);
    const bays = ["", ...lanes().filter((lane) => lane.kind === "bay").map((lane) => lane.key)];
    const bay = down ? bays[(bays.indexOf(move.bay) + down + bays.length) % bays.length] : move.bay;
    to(move.at + (across || 0) * (event.shiftKey ? DAY : +picture().dataset.step), bay);
  });
  live.addEventListener("focusout", () => { if (move && !move.byHand && !ask.open) leave(); });
}
}
