// The head of the page: what it is for, where it stands, whether it can be trusted with the record.

import { el, put } from "./dom.js";
import { progress } from "./fold.js";
import { wanting } from "./wanting.js";

const SCREENS = [["before", "Before"], ["shots", "Shots"], ["table", "Table"], ["after", "After"]];

/// Paints head and alarms.
export function paintHead(app) {
  const { ground, day } = app;
  const p = progress(ground, day);
  const it = ground.facts.item || {};
  const open = wanting(ground, day, app.now()).length;
  put(document.getElementById("head"),
    el("p", { class: "job" }, el("strong", {}, [it.type_designation, it.serial].filter(Boolean).join(" ") || it.name || "Item not named"), ` ${ground.facts.report?.number ?? ""}`),
    el("p", { class: "stand" }, `${p.done} of ${p.all} done${p.skipped ? `, ${p.skipped} skipped` : ""}${day.outside.length ? `, ${day.outside.length} outside the plan` : ""}`),
    el("p", { class: `stored ${app.mayCount ? "good" : "bad"}` }, storedWords(app)),
    el("nav", { "aria-label": "Order of the day" }, SCREENS.map(([key, words]) => el("button", { type: "button", "data-key": `nav-${key}`, "aria-current": app.screen === key ? "page" : undefined, onclick: () => app.go(key) },
      key === "after" && open ? `${words} (${open})` : words)),
      el("button", { type: "button", "data-key": "look", onclick: () => app.look() }, "Bright / dark")));
  put(document.getElementById("alarms"),
    ground.facts.invented ? el("p", { class: "invented" }, ground.facts.invented) : null,
    app.alarm ? el("div", { class: "alarm", role: "alert" }, el("p", {}, app.alarm), el("button", { type: "button", "data-key": "alarm-save", onclick: () => app.save() }, "Save as a file")) : null,
    app.waiting ? el("div", { class: "alarm", role: "alert" }, el("p", {}, app.pending ? "NOT STORED YET: the PC that serves this form does not answer. The touch is kept with its time and sent again; wait until this line goes." : "The PC that serves this form does not answer. Wait, or save what is here.")) : null,
    app.watching ? el("div", { class: "alarm", role: "alert" }, el("p", {}, "This form is open in another window, and that one counts. Here nothing is taken down."), el("button", { type: "button", "data-key": "take-over", onclick: () => app.takeOver() }, "Count here instead")) : null,
    app.tight ? el("div", { class: "care", role: "status" }, el("p", {}, "Room on this device runs short. Save the file soon; photos are refused first.")) : null,
    app.notice ? el("p", { class: "care", role: "status" }, app.notice) : null);
}

function storedWords(app) {
  if (app.waiting) return "waiting for the PC";
  if (app.refused) return "does not count: no safe storage";
  if (app.watching) return "only watching";
  if (!app.mayCount) return "does not count";
  return `stored on ${app.journal.store.what}`;
}
