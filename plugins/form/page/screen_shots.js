// The shots, one series at a time. The other hand holds the generator and the eyes are on the item: what must be read
// is large, what must be hit is larger, and whatever the hands have to change since the last series is said first.

import { el } from "./dom.js";
import { changes, seriesOf, progress } from "./fold.js";
import { clockOf } from "./moment.js";
import { eventLacks } from "./wanting.js";
import { outsideButton } from "./screen_table.js";

const KIND = { contact: "CONTACT", air: "AIR", hcp: "PLANE, horizontal", vcp: "PLANE, vertical" };

/// The screen.
export function shots(app) {
  const { ground, day } = app;
  const planned = day.plan.find((p) => p.id === day.current);
  if (!planned) return [el("div", { class: "bench" }, el("h2", { class: "allset" }, ground.plan.length ? "Every series is done or skipped" : "The plan has no series"),
    openEvents(app), el("div", { class: "pair end" }, undoButton(app), outsideButton(app, "Add a series"), el("button", { type: "button", class: "go", "data-key": "to-after", onclick: () => app.go("after") }, "To the end of the day")))];
  const series = seriesOf(day, planned.id);
  return [el("div", { class: "bench" },
    el("div", { class: "setting" }, setting(app, planned, series), where(app, planned)),
    acts(app, planned, series),
    openEvents(app),
    more(app, planned, series))];
}

// The series done last: what the hands have fitted now.
function fittedNow(ground, day) {
  return day.lastDone ? day.plan.find((p) => p.id === day.lastDone.series) : null;
}

function setting(app, planned, series) {
  const { ground, day } = app;
  const change = changes(fittedNow(ground, day), planned);
  const sign = planned.polarity === "positive" ? "+" : "−";
  const p = progress(ground, day);
  const point = (ground.facts.points || []).find((x) => x.id === planned.point);
  return el("section", { class: `now ${planned.polarity}`, "aria-label": "Set now" },
    el("p", { class: "count" }, planned.why ? "outside the plan" : `series ${p.done + p.skipped + 1} of ${p.all}`),
    el("p", { class: "change" }, change.length ? ["Change: ", el("strong", {}, change.join(", "))] : day.lastDone ? "Nothing to change" : "First series"),
    el("p", { class: "kind" }, KIND[planned.application], el("span", { class: "tip" }, ` ${planned.tip} tip`)),
    el("p", { class: "volts" }, el("span", { class: "sign" }, sign), planned.voltage_kv, el("span", { class: "unit" }, " kV")),
    el("p", { class: "polarity" }, planned.polarity),
    el("p", { class: "point" }, el("strong", {}, planned.point), point?.description ? ` ${point.description}` : ""),
    el("p", { class: "times" }, `${planned.count} single ${planned.application === "air" ? "approaches" : "discharges"}, at least ${planned.interval_s} s apart${planned.mode ? `, item in mode ${planned.mode}` : ""}`),
    removalReminder(app),
    series.events.length ? el("p", { class: "seen" }, `Noted in this series: ${series.events.map((e) => clockOf(e.at)).join(", ")}`) : null,
    el("div", { class: "lamp", id: "lamp", hidden: !app.pacing, "aria-hidden": "true" }));
}

// On an item that is not earthed charge stays behind, and the next discharge would not be the one intended.
function removalReminder({ ground, day }) {
  const earthed = day.said.earthed?.values.earthed ?? ground.facts.item?.earthed;
  if (earthed !== false) return null;
  return el("p", { class: "change" }, `Before each: take the charge off (${day.said.charge?.values.method ?? ground.facts.charge_removal?.method ?? "how is not stated yet"})`);
}

function where(app, planned) {
  const point = (app.ground.facts.points || []).find((p) => p.id === planned.point);
  const src = point?.picture && app.pictures[point.picture];
  if (!src) return el("div", { class: "picture none" }, point?.picture ? `No picture ${point.picture}` : "No picture for this point");
  const caption = (app.ground.facts.attachments || []).find((a) => a.file === point.picture)?.caption || point.picture;
  const ring = point.mark ? el("span", { class: "ring", style: `left:${Number(point.mark.x) * 100}%;top:${Number(point.mark.y) * 100}%` }) : null;
  return el("div", { class: "picture" }, el("div", { class: "framed" }, el("img", { src, alt: `${caption}; the ring marks ${point.id}` }), ring));
}

function acts(app, planned, series) {
  const air = planned.application === "air";
  const counted = series.shots.length;
  const short = counted > 0 && counted < planned.count;
  const some = series.events.length > 0;
  const number = counted || planned.count;
  const watched = !app.unwatched;
  // The touch states all this, so it stands on the button.
  const words = short ? `Stop at ${counted} of ${planned.count}` : some ? "Series done" : "Done, nothing seen";
  const states = `${number} ${air ? "approaches" : "applied"}, ${watched ? "watched" : "NOT watched all the time"}${some ? `, ${series.events.length} noted` : ", nothing seen"}`;
  return el("div", { class: "acts" },
    el("button", { type: "button", class: `done ${short ? "short" : ""}`, "data-key": "done", disabled: !app.mayCount, onclick: () => app.done() },
      el("span", { class: "big" }, words), el("span", { class: "small" }, states)),
    el("button", { type: "button", class: "happened", "data-key": "happened", disabled: !app.mayCount, onpointerdown: () => app.touch(), onclick: () => app.happened() },
      el("span", { class: "big" }, "Something happened"), el("span", { class: "small" }, "time is taken at the touch")));
}

function openEvents(app) {
  const open = app.day.events.filter((e) => eventLacks(e).length);
  if (!open.length) return null;
  return el("div", { class: "openevents" }, open.map((e) => el("button", { type: "button", "data-key": `open-${e.id}`, class: "care", onclick: () => app.go(`event:${e.id}`) },
    `${clockOf(e.at)} ${e.series ? "" : "between series "}details to state`)));
}

function more(app, planned, series) {
  const air = planned.application === "air";
  const n = series.shots.length;
  const sparks = series.shots.filter((s) => s.spark).length;
  const count = n ? ` (${n}${air ? `, ${sparks} with spark` : ""})` : "";
  const b = (key, words, act, more = {}) => el("button", { type: "button", "data-key": key, onclick: act, disabled: !app.mayCount, ...more }, words);
  return el("div", { class: "more", role: "group", "aria-label": "More" },
    air ? [b("spark", `Count: spark${count}`, () => app.shot(true)), b("nospark", "Count: no spark", () => app.shot(false))] : b("shot", `Count one${count}`, () => app.shot()),
    undoButton(app),
    b("unwatched", "Not watched all the time", () => app.toggleWatched(), { "aria-pressed": String(app.unwatched) }),
    b("skip", "Skip", () => app.skip()),
    b("order", "Another first", () => app.go("table")),
    outsideButton(app, "Add a series"),
    el("label", { class: "filebutton" }, "Photo", el("input", { type: "file", accept: "image/jpeg,image/png", capture: "environment", "data-key": "photo", onchange: (e) => app.photo(e.target.files[0], planned.point) })),
    el("button", { type: "button", "data-key": "pace", "aria-pressed": String(Boolean(app.pacing)), onclick: () => app.togglePace() }, "Pacing light"),
    app.pacing ? el("button", { type: "button", "data-key": "sound", "aria-pressed": String(app.sound), onclick: () => app.toggleSound() }, "Sound") : null,
    el("button", { type: "button", "data-key": "keys", onclick: () => app.help() }, "Keys, foot switch"));
}

function undoButton(app) {
  const last = app.day.lastUndoable;
  return el("button", { type: "button", "data-key": "undo", disabled: !last || !app.mayCount, onclick: () => app.undo() }, last ? `Take back: ${undoWords(app, last)}` : "Take back");
}

/// What would be taken back.
export function undoWords(app, entry) {
  const planned = app.day.plan.find((p) => p.id === entry.series);
  const at = planned ? ` ${planned.point} ${planned.polarity === "positive" ? "+" : "−"}${planned.voltage_kv}` : "";
  const word = { shot: "count", done: "done", happened: "event", skip: "skip", next: "choice", state: "state", photo: "photo", note: "remark", outside: "series added" }[entry.kind];
  return word + at;
}
