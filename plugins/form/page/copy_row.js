// One row of a paper sheet, as the hand wrote it.

import { el } from "./dom.js";
import { label } from "./wanting.js";

/// Asks for the row of a planned series; resolves to `{ row, at, count, sparks, watched, seen }` or null. A time that
/// the sheet does not show is left out, and the time of copying is kept beside it in any case.
export function askRow(planned, paper) {
  return new Promise((resolve) => {
    let answer = null;
    const input = (id, words, props) => [el("label", { for: id }, words), el("input", { id, autocomplete: "off", ...props })];
    const value = (id) => box.querySelector(`#${id}`)?.value.trim() ?? "";
    const take = (event) => {
      event.preventDefault();
      const count = value("row-count");
      if (!/^\d+$/.test(count) || !/^\d+$/.test(value("row-number"))) return;
      const time = value("row-time"), sparks = value("row-sparks");
      answer = { row: Number(value("row-number")), count: Number(count), at: time ? `${paper.date}T${time.length === 5 ? time + ":00" : time}` : null,
        sparks: /^\d+$/.test(sparks) ? Number(sparks) : null, watched: box.querySelector("#row-watched").checked, seen: value("row-seen") };
      box.close();
    };
    const box = el("dialog", { "aria-labelledby": "row-title", onclose: () => { box.remove(); resolve(answer); } },
      el("h2", { id: "row-title" }, label(planned)),
      el("form", { onsubmit: take },
        input("row-number", "Row on the sheet", { inputmode: "numeric", value: planned.id, required: true }),
        input("row-time", "Time written there (none if it shows none)", { type: "time" }),
        input("row-count", planned.application === "air" ? "Approaches" : "Discharges", { inputmode: "numeric", value: planned.count, required: true }),
        planned.application === "air" ? input("row-sparks", "With a spark (none if not written)", { inputmode: "numeric" }) : null,
        el("div", { class: "tickrow" }, el("input", { type: "checkbox", id: "row-watched", checked: true }), el("label", { for: "row-watched" }, "watched all the time, as the sheet says")),
        input("row-seen", "What was seen (empty for nothing)", { type: "text" }),
        el("div", { class: "pair" }, el("button", { type: "submit", class: "go" }, "Take down"), el("button", { type: "button", onclick: () => box.close() }, "Back"))));
    document.body.append(box);
    box.showModal();
  });
}
