/* Readings that go in by themselves: a gauge types a number and Enter. */
"use strict";
(() => {
  const PER_SPOT = 3;
  const sheet = document.getElementById("sheet");
  if (!sheet) return;
  const each = document.getElementById("spots-each");
  const fields = () => [...sheet.querySelectorAll(".read input.readings")];
  const trialStep = { "trial-before": "trial-after", "trial-after": "trial-cleared" };

  try { each.value = localStorage.getItem("spots-each") || each.value; } catch { /* private window */ }
  each.addEventListener("change", () => {
    try { localStorage.setItem("spots-each", each.value); } catch { /* private window */ }
  });

  /* The field where the next reading of the walk is wanted. */
  const next = (field) => {
    const [panel, step] = field.name.split(/-(.*)/);
    if (trialStep[step]) return document.getElementById(`${panel}-${trialStep[step]}`).focus();
    const all = fields();
    const following = all.slice(all.indexOf(field) + 1).find((one) => {
      const made = one.closest(".panel").querySelector(".made select").value;
      return made !== "composite";
    });
    (following || document.getElementById("notes")).focus();
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

  /* One more row as soon as the last one is used. */
  sheet.addEventListener("change", (event) => {
    if (!event.target.matches("select.kind") || !event.target.value) return;
    const row = event.target.closest(".finding");
    if (row.nextElementSibling) return;
    const copy = row.cloneNode(true);
    const was = `${row.dataset.panel}-${row.dataset.index}`;
    const now = `${row.dataset.panel}-${Number(row.dataset.index) + 1}`;
    copy.dataset.index = Number(row.dataset.index) + 1;
    copy.querySelectorAll(".errors").forEach((list) => list.remove());
    for (const part of copy.querySelectorAll("[id], [name], [for]")) {
      for (const name of ["id", "name", "for"]) {
        if (part.hasAttribute(name)) part.setAttribute(name, part.getAttribute(name).replace(was, now));
      }
      if (part.tagName === "INPUT") part.value = "";
      part.removeAttribute("aria-invalid");
    }
    copy.querySelector("select.kind").value = "";
    copy.querySelector("label").textContent = row.closest(".findings").dataset.also || copy.querySelector("label").textContent;
    row.after(copy);
    row.querySelector("[id$=-amount]").focus();
  });

  /* What was typed is not lost by a wrong turn. */
  let typed = false;
  sheet.addEventListener("input", () => { typed = true; });
  sheet.addEventListener("submit", () => { typed = false; });
  addEventListener("beforeunload", (event) => { if (typed) event.preventDefault(); });
})();
