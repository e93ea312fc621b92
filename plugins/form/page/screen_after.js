// After the shots: the room again, the spark again, remarks, what is still wanting, the name, and the file.

import { el, field, typed } from "./dom.js";
import { dayOf, clockOf } from "./moment.js";
import { wanting } from "./wanting.js";
import { part, climateForm, checkForm, taken, loadAndSave } from "./screen_before.js";
import { sparkCheck } from "./checks.js";

/// The screen.
export function after(app) {
  const { ground, day } = app;
  const today = dayOf(app.now());
  const list = wanting(ground, day, app.now());
  const note = (event) => {
    event.preventDefault();
    const text = typed("note");
    if (text) app.add({ kind: "note", text }, ["note"]);
  };
  const sign = (event) => {
    event.preventDefault();
    const name = typed("sign");
    if (name) app.add({ kind: "signed", name }, ["sign"]);
  };
  return [
    part("Still wanting", el("p", { class: "hint" }, "What would leave the verdict undetermined, as far as this page can see. The program judges from the record and the standard's data."),
      list.length ? el("ul", { class: "plainlist wanting" }, list.map(({ place, words }) => el("li", {}, place === "plan" ? words : el("button", { type: "button", "data-key": `want-${place}-${words}`, onclick: () => app.go(place) }, words))))
        : el("p", { class: "taken good" }, "✓ Nothing is wanting.")),
    part("Room at the end", climateForm(app, today, "after")),
    part("Spark check at the end", checkForm(app, today, sparkCheck(ground, "after"))),
    part("Remarks", day.notes.map((n) => el("p", { class: "taken good" }, `✓ ${n.text}`, el("span", { class: "when" }, ` taken ${clockOf(n.at)}`))),
      el("form", { class: "row", onsubmit: note }, field("note", "Remark"), el("button", { type: "submit", class: "take" }, "Take down"))),
    part("Name", day.signed ? taken(`Written down by ${day.signed.name}`, { entries: [day.signed] }) : null,
      el("form", { class: "row", onsubmit: sign }, field("sign", "I wrote this down at the bench (name)", { value: day.signed?.name ?? day.said.person?.values.name ?? "" }), el("button", { type: "submit", class: "take" }, "Take down"))),
    part("File", el("p", {}, day.saved ? `Saved with ${day.saved - 1} entries; ${day.entries - day.saved} since.` : `${day.entries} entries, not saved as a file yet.`),
      el("p", { class: "hint" }, app.journal.store.served ? `The record is in the file ${app.journal.store.file} of the job folder, on the PC that serves this form. A saved file is a copy.`
        : "The file goes into the job folder; the program reads it. Until it is saved, the record is on this device only."),
      el("div", { class: "pair" }, el("button", { type: "button", class: "go", "data-key": "save", onclick: () => app.save() }, "Save as a file"))),
    loadAndSave(app),
  ];
}
