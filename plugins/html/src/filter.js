"use strict";
// Long tables get a field that hides the rows without the words typed. Without this script, and on paper, the
// tables are whole.
document.querySelectorAll(".scroll[data-rows]").forEach((region, index) => {
  const words = document.body.dataset;
  const body = region.querySelector("tbody");
  if (!body || !words.filter) return;
  const rows = Array.from(body.rows);
  const counted = rows.filter((row) => !row.classList.contains("group"));
  const plain = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
  const texts = new Map(rows.map((row) => [row, plain(row.textContent)]));
  const box = document.createElement("p");
  box.className = "filter";
  const label = document.createElement("label");
  label.htmlFor = "filter-" + index;
  label.textContent = words.filter;
  const field = document.createElement("input");
  field.type = "search";
  field.id = label.htmlFor;
  field.autocomplete = "off";
  const count = document.createElement("output");
  count.htmlFor = field.id;
  box.append(label, field, count);
  region.before(box);
  const show = () => {
    const wanted = plain(field.value).split(/\s+/).filter(Boolean);
    let above = true; // whether the heading of the group matches by itself
    let heading = null;
    let shown = 0;
    for (const row of rows) {
      const has = wanted.every((word) => texts.get(row).includes(word));
      if (row.classList.contains("group")) {
        heading = row;
        above = wanted.length > 0 && has;
        row.hidden = wanted.length > 0 && !has;
        continue;
      }
      // Words may stand in the heading and in the row.
      const all = heading ? texts.get(heading) + " " + texts.get(row) : texts.get(row);
      const hit = above || has || wanted.every((word) => all.includes(word));
      row.hidden = !hit;
      if (hit) {
        shown += 1;
        if (heading) heading.hidden = false;
      }
    }
    count.textContent = wanted.length
      ? words.shown.replace("{n}", shown).replace("{of}", counted.length)
      : "";
  };
  field.addEventListener("input", show);
  field.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && field.value) {
      field.value = "";
      show();
      event.preventDefault();
    }
  });
});
