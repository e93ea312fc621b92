// What happened: only the facts that a verdict needs, each one touch, in any order, now or later.

import { el, field, answers, typed } from "./dom.js";
import { clockOf, secondsBetween } from "./moment.js";
import { eventLacks, label } from "./wanting.js";

/// The screen of one event.
export function eventScreen(app, id) {
  const { ground, day } = app;
  const event = day.events.find((e) => e.id === id);
  if (!event) return [el("p", {}, "This event was taken back.")];
  const planned = day.plan.find((p) => p.id === event.series);
  const t = event.told;
  const tell = (key) => (value) => app.tell(event, { [key]: value });
  const lacks = eventLacks(event);
  const effect = t.affected !== "associated" && t.coincident !== false;
  return [el("section", { class: "event", "aria-labelledby": "event-title" },
    el("h2", { id: "event-title" }, `Something happened at ${event.at.slice(11, 19)}`),
    el("p", {}, planned ? `${label(planned)}${event.shot ? `, discharge ${event.shot}` : ""}` : "between two series"),
    el("div", { class: "pair" },
      t.lasted_s === undefined ? el("button", { type: "button", class: "back", "data-key": "back", onclick: () => app.backNow(event) }, "It is back now") : el("p", { class: "taken good" }, `✓ lasted ${t.lasted_s} s`),
      el("button", { type: "button", class: "go", "data-key": "later", onclick: () => app.go("shots") }, lacks.length ? "Details later" : "Back to the shots")),
    answers("affected", "What was affected?", [["item", "the item"], ["associated", "only equipment beside it"]], t.affected, tell("affected")),
    answers("coincident", "Did it come with a discharge?", [[true, "with a discharge"], [false, "not with one"]], t.coincident, tell("coincident")),
    belongs(app, event, planned),
    functions(app, t, tell),
    el("form", { class: "row", onsubmit: (e) => { e.preventDefault(); const seen = typed("seen"); if (seen) app.tell(event, { seen }, ["seen"]); } },
      field("seen", "What was seen", { value: t.seen || "" }), el("button", { type: "submit", class: "take" }, "Take down")),
    effect ? [
      answers("state_changed", "Did the operating state change?", [[false, "no"], [true, "yes"]], t.state_changed, tell("state_changed")),
      answers("data_lost", "Were stored data lost?", [[false, "no"], [true, "yes"]], t.data_lost, tell("data_lost")),
      answers("restored", "What brought it back?", [["by-itself", "came back by itself"], ["operator", "somebody used a control"], ["power-cycle", "supply off and on"], ["not-restored", "it did not come back"], ["nothing-lost", "nothing was lost"]], t.restored, tell("restored")),
      answers("before_next", "Was it over before the next discharge?", [[true, "yes"], [false, "no"]], t.before_next, tell("before_next")),
    ] : null,
    el("form", { class: "row", onsubmit: (e) => { e.preventDefault(); const remark = typed("remark"); if (remark) app.tell(event, { remark }, ["remark"]); } },
      field("remark", "Remark", { value: t.remark || "" }), el("button", { type: "submit", class: "take" }, "Take down")),
    el("p", { class: lacks.length ? "taken bad" : "taken good" }, lacks.length ? `Not stated yet: ${lacks.join("; ")}. What nobody looked at stays open.` : "✓ Every fact that a verdict may need is stated."),
    // The last answer stands far below the first touch: nobody has to scroll back.
    el("div", { class: "pair" }, el("button", { type: "button", class: "go", "data-key": "later-below", onclick: () => app.go("shots") }, lacks.length ? "To the shots, the rest later" : "Back to the shots")))];
}

// What was noticed a moment late belongs to the series that was done just before.
function belongs(app, event, planned) {
  const before = app.journal.entries.filter((e) => e.kind === "done" && e.n < event.n && !app.day.undone.has(e.n)).at(-1);
  const first = app.journal.entries.find((e) => e.n === event.n);
  const ids = [...new Set([first?.series, before?.series].filter(Boolean))];
  if (ids.length < 2 && planned) return null;
  return answers("series", "In which series?", ids.map((id) => [id, label(app.day.plan.find((p) => p.id === id))]), event.series, (series) => app.tell(event, { series }));
}

function functions(app, t, tell) {
  const list = (app.ground.facts.functions || []).map((f) => [f.id, f.description || f.id]);
  return list.length ? answers("function", "Which function?", list, t.function, tell("function")) : null;
}

/// Seconds from an event to now, as a record wants them.
export function lasted(event, now) {
  return String(Math.max(0, Math.round(secondsBetween(event.at, now))));
}

/// A line about an event, for lists.
export function eventWords(app, event) {
  const planned = app.day.plan.find((p) => p.id === event.series);
  return `${clockOf(event.at)} ${planned ? label(planned) : "between series"}: ${event.told.seen || "not described yet"}`;
}
