// The plan as a table: where each series stands, another one first, rows copied from paper.

import { el, field, typed } from "./dom.js";
import { seriesOf } from "./fold.js";
import { clockOf } from "./moment.js";
import { appliedAt, label } from "./wanting.js";
import { eventWords } from "./screen_event.js";

/// The screen.
export function table(app) {
  const { ground, day } = app;
  return [
    outside(app),
    paper(app),
    el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Series of the plan" }, el("table", { class: "series" },
      el("caption", {}, `Series of the plan${day.state ? `, item in state ${day.state}` : ""}`),
      el("thead", {}, el("tr", {}, ["", "Point", "Kind", "Voltage", "Stands", "Act"].map((h) => el("th", { scope: "col" }, h)))),
      el("tbody", {}, day.plan.map((planned) => row(app, planned))))),
    day.events.length ? el("section", { class: "part" }, el("h2", {}, "What happened"), el("ul", { class: "plainlist" }, day.events.map((event) =>
      el("li", {}, el("button", { type: "button", "data-key": `ev-${event.id}`, onclick: () => app.go(`event:${event.id}`) }, eventWords(app, event)))))) : null,
    stateOf(app),
  ];
}

function row(app, planned) {
  const series = seriesOf(app.day, planned.id);
  const sign = planned.polarity === "positive" ? "+" : "−";
  const current = app.day.current === planned.id;
  const act = (key, words, f) => el("button", { type: "button", "data-key": `${key}-${planned.id}`, "aria-label": `${words}: ${label(planned)}`, disabled: !app.mayCount, onclick: f }, words);
  return el("tr", { class: `${series.status} ${current ? "current" : ""}`, "aria-current": current ? "true" : undefined },
    el("td", {}, planned.id), el("th", { scope: "row" }, planned.point), el("td", {}, planned.application), el("td", { class: "num" }, `${sign}${planned.voltage_kv} kV`),
    el("td", {}, stands(series), planned.why ? el("span", { class: "when" }, ` outside the plan: ${planned.why}`) : null),
    el("td", {}, series.status === "done" ? null : app.paper ? act("copy", "Copy", () => app.copyRow(planned)) : current ? "now" : act("first", "Do first", () => app.doFirst(planned))));
}

function stands(series) {
  if (series.status === "done") {
    const copied = series.done.copied ? `, from paper ${series.done.copied.sheet} row ${series.done.copied.row}` : "";
    const noted = series.events.length ? `, ${series.events.length} noted` : "";
    return `✓ ${series.done.applied.count} at ${clockOf(appliedAt(series.done))}${noted}${copied}`;
  }
  if (series.status === "skipped") return `skipped: ${series.skip.why}`;
  return series.shots.length ? `${series.shots.length} counted` : "open";
}

// Rows of the paper sheet are entered here; the mark that they were copied, by whom and when, stays with them.
function paper(app) {
  const on = app.paper;
  const start = (event) => {
    event.preventDefault();
    const sheet = typed("sheet-code"), date = typed("sheet-day"), by = typed("sheet-by");
    if (!sheet || !date || !by) return app.complain("Write the sheet's code, the day, and who filled it.");
    return app.startPaper({ sheet, date, by });
  };
  return el("details", { class: "part", open: Boolean(on) }, el("summary", {}, "Rows from a paper sheet"),
    on ? [el("p", { class: "taken good" }, `✓ Copying sheet ${on.sheet}, filled on ${on.date} by ${on.by}`), el("button", { type: "button", "data-key": "stop-paper", onclick: () => app.startPaper(null) }, "Stop copying")]
      : el("form", { class: "row", onsubmit: start }, field("sheet-code", "Code on the sheet"), field("sheet-day", "Day of the test", { type: "date" }), field("sheet-by", "Who filled it", { value: app.day.said.person?.values.name || "" }),
        el("button", { type: "submit", class: "take" }, "Copy rows of this sheet")));
}

/// The touch that adds a series to the plan.
export function outsideButton(app, words) {
  return el("button", { type: "button", "data-key": "outside", disabled: !app.mayCount, onclick: () => app.addOutside() }, words);
}

// Something that the plan did not foresee is applied as a series of its own, with the reason.
function outside(app) {
  const { day } = app;
  return el("section", { class: "part beside", "aria-labelledby": "part-outside" }, el("h2", { id: "part-outside" }, "Table of the day"),
    outsideButton(app, `Add a series${day.outside.length ? ` (${day.outside.length} so far)` : ""}`),
    el("p", { class: "hint" }, "A series that the plan does not have: another voltage, another point, a look again. The report shows it as outside the plan. Key: Insert."));
}

// A modified item owes the plan again; what was applied before stays with the state before.
function stateOf(app) {
  const change = (event) => {
    event.preventDefault();
    const state = typed("state-id"), description = typed("state-what"), reason = typed("state-why");
    if (!state || !description) return app.complain("Name the state and say what was changed.");
    return app.newState({ state, description, reason }, ["state-id", "state-what", "state-why"]);
  };
  return el("details", { class: "part" }, el("summary", {}, `Item was modified (now ${app.day.state ?? "no state named"})`),
    el("div", { class: "answers" }, app.day.states.filter((s) => s.id !== app.day.state).map((s) => el("button", { type: "button", "data-key": `state-${s.id}`, disabled: !app.mayCount, onclick: () => app.newState({ state: s.id }) }, `Now in state ${s.id}${s.description ? `: ${s.description}` : ""}`))),
    el("form", { class: "row", onsubmit: change }, field("state-id", "Name of the new state"), field("state-what", "What was changed"), field("state-why", "Why"), el("button", { type: "submit", class: "take" }, "Take down")));
}
