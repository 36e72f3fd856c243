/* Readings that go in by themselves: a gauge types a number and Enter. */
"use strict";
(() => {
  const PER_SPOT = 3;
  const byId = (id) => document.getElementById(id);
  const sheet = byId("sheet");
  if (!sheet) return;
  const each = byId("spots-each");
  const fields = () => [...sheet.querySelectorAll(".read input.readings")];
  const trialStep = { "trial-before": "trial-after", "trial-after": "trial-cleared" };

  /* A private window may have no storage. */
  try { each.value = localStorage.getItem("spots-each") || each.value; } catch {}
  each.addEventListener("change", () => {
    try { localStorage.setItem("spots-each", each.value); } catch {}
  });

  /* Where the next reading of the walk is wanted. */
  const next = (field) => {
    const [panel, step] = field.name.split(/-(.*)/);
    if (trialStep[step]) return byId(`${panel}-${trialStep[step]}`).focus();
    const all = fields();
    const following = all.slice(all.indexOf(field) + 1).find((one) => {
      const made = one.closest(".panel").querySelector(".made select").value;
      return made !== "composite";
    });
    (following || byId("notes")).focus();
    if (following) following.closest(".panel").scrollIntoView({ block: "nearest" });
  };

  const moveOn = (field) => {
    const text = field.value.trim().replace(/\/$/, "").trim();
    const spots = text.split("/").map((spot) => spot.trim().split(/\s+/).filter(Boolean));
    const last = spots[spots.length - 1];
    if (!text || /[/]\s*$/.test(field.value)) return next(field);
    if (last.length < PER_SPOT) field.value = text + " ";
    else if (!field.name.includes("-trial-") && spots.length < Number(each.value)) field.value = text + " / ";
    else next(field);
    field.dispatchEvent(new Event("input", { bubbles: true }));
  };

  sheet.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.target.tagName !== "INPUT") return;
    event.preventDefault();
    if (event.target.matches("input.readings")) moveOn(event.target);
  });

  /* A pasted column is one spot a line; a pasted row is as it stands. */
  sheet.addEventListener("paste", (event) => {
    if (!event.target.matches("input.readings")) return;
    const text = (event.clipboardData || new DataTransfer()).getData("text");
    if (!/[\r\n]/.test(text.trim())) return;
    event.preventDefault();
    const lines = text.trim().split(/[\r\n]+/).map((line) => line.trim().split(/[\s;]+/).join(" "));
    const single = lines.every((line) => !line.includes(" "));
    const chunks = [];
    if (single) for (let i = 0; i < lines.length; i += PER_SPOT) chunks.push(lines.slice(i, i + PER_SPOT).join(" "));
    event.target.setRangeText((single ? chunks : lines).join(" / "), event.target.selectionStart, event.target.selectionEnd, "end");
    event.target.dispatchEvent(new Event("input", { bubbles: true }));
  });

  /* One more row when the last is used. */
  sheet.addEventListener("change", (event) => {
    if (!event.target.matches("select.kind") || !event.target.value) return;
    const row = event.target.closest(".finding");
    if (row.nextElementSibling) return;
    const copy = row.cloneNode(true);
    const { panel, index } = row.dataset;
    const was = `${panel}-${index}`;
    copy.dataset.index = Number(index) + 1;
    const now = `${panel}-${copy.dataset.index}`;
    copy.querySelectorAll(".errors").forEach((list) => list.remove());
    for (const part of copy.querySelectorAll("[id], [name], [for]")) {
      for (const name of ["id", "name", "for"]) {
        if (part.hasAttribute(name)) part.setAttribute(name, part.getAttribute(name).replace(was, now));
      }
      if (part.tagName === "INPUT") part.value = "";
      part.removeAttribute("aria-invalid");
    }
    copy.querySelector("select.kind").value = "";
    copy.querySelector("label").textContent = row.closest(".findings").dataset.also;
    row.after(copy);
    row.querySelector("[id$=-amount]").focus();
  });

  /* Kept here until the server has it; each save has a name and counts once. */
  const { dataset: data, elements: { token, after } } = sheet;
  const box = byId("kept");
  const place = `sheet ${data.member} ${location.pathname}`;
  const say = (text) => { box.hidden = !text; box.firstElementChild.textContent = text || ""; };
  const make = (tag, parts) => Object.assign(document.createElement(tag), parts);
  const fresh = () => [...crypto.getRandomValues(new Uint32Array(4))].map((n) => n.toString(36)).join("");
  let typed = false, tried = false, waiting = null, sending = false;
  const store = (form, wish) => {
    try {
      if (!form) return localStorage.removeItem(place);
      const fields = [...new FormData(form)].filter(([name]) => name !== "csrfmiddlewaretoken" && name !== "save");
      localStorage.setItem(place, JSON.stringify({ wish, fields }));
    } catch {}
  };

  const send = async (form, wish) => {
    if (sending) return;
    sending = tried = true;
    waiting = [form, wish];
    store(form, wish);
    const body = new FormData(form);
    body.set("save", wish);
    try {
      const answer = await fetch(form.action, { method: "POST", body, headers: { Accept: "application/json" } });
      if (answer.ok && !answer.redirected) {
        const { go } = await answer.json();
        // Otherwise more was typed meanwhile, and goes too.
        if (tried) { store(); typed = false; location.assign(go); return; }
      } else if (answer.status === 400 || answer.status === 409) {
        form.append(make("input", { type: "hidden", name: "save", value: wish }));
        typed = waiting = null;
        form.submit();
        return;
      } else say(data.refused);
    } catch { say(data.offline); } finally { sending = false; }
  };
  const again = () => { if (waiting) send(...waiting); };
  addEventListener("online", again);
  setInterval(again, 10000);

  sheet.addEventListener("input", () => {
    typed = true;
    if (tried) after.value += ` ${token.value}`;
    if (tried || !token.value) token.value = fresh();
    tried = false;
    store(sheet, waiting ? waiting[1] : "");
  });
  sheet.addEventListener("submit", (event) => {
    event.preventDefault();
    token.value ||= fresh();
    send(sheet, (event.submitter && event.submitter.value) || "yes");
  });
  addEventListener("beforeunload", (event) => { if (typed) event.preventDefault(); });
  document.addEventListener("htmx:sendError", () => say(data.offline));
  document.addEventListener("htmx:afterOnLoad", () => { if (!waiting) say(); });

  /* Of an earlier visit: what was to be saved goes by itself, the rest is asked about. */
  let kept = null;
  try { kept = JSON.parse(localStorage.getItem(place)); } catch {}
  if (!kept || "typed" in data) return;
  const form = make("form", { method: "post", action: sheet.action, hidden: true });
  for (const [name, value] of [...kept.fields, ["csrfmiddlewaretoken", sheet.elements.csrfmiddlewaretoken.value]]) {
    form.append(make("input", { name, value }));
  }
  if (form.elements.token.value === data.saved) return store();
  document.body.append(form);
  if (kept.wish) return void send(form, kept.wish);
  say(data.found);
  const [now, never] = box.querySelectorAll("button");
  box.lastElementChild.hidden = false;
  now.addEventListener("click", () => send(form, "yes"));
  never.addEventListener("click", () => { store(); box.hidden = true; });
})();
