// What each touch does. Every act becomes an entry; the page shows it only once it is stored.

import { settle, say } from "./dom.js";
import { askWhy } from "./ask_why.js";
import { askRow } from "./copy_row.js";
import { askOutside } from "./ask_outside.js";
import { seriesOf, SLIPS } from "./fold.js";
import { pace } from "./pace.js";
import { readPhoto } from "./photo.js";
import { fileName, fileText, readFile, continuation } from "./file.js";
import { lasted } from "./screen_event.js";
import { label } from "./wanting.js";
import { undoWords } from "./screen_shots.js";

/// Two touches of "done" closer than this are one touch that bounced: no series is that short.
const BOUNCE_MS = 900;

/// Below this much room the page asks to save and go on elsewhere.
export const ROOM = 20e6;

/// The acts of the page, over a journal and a function that paints.
export class App {
  constructor({ ground, pictures, journal, paint }) {
    Object.assign(this, { ground, pictures, journal, paint });
    this.screen = "before";
    this.unwatched = false;
    this.pacing = null;
    this.sound = false;
    this.paper = null;
    this.alarm = null;
    this.notice = null;
    this.touchedAt = null;
    this.lastDoneMs = -Infinity;
    this.pedal = null;
    this.waiting = false;
    this.pending = 0;
  }

  get day() { return this.journal.day; }
  /// While an entry waits for the server no other is taken: the next touch would speak of the same series.
  get mayCount() { return this.journal.mayWrite && !this.stopped && !(this.waiting && this.pending); }
  now() { return this.journal.now(); }

  go(screen) {
    if (screen === "plan") return;
    this.screen = screen;
    this.paint();
    document.getElementById("top").scrollIntoView();
    document.querySelector("main h2")?.setAttribute("tabindex", "-1");
    if (screen !== "shots") document.querySelector("main h2")?.focus({ preventScroll: true });
  }

  complain(words) {
    this.notice = words;
    say(words);
    this.paint();
    return null;
  }

  /// Adds an entry; `keys` are the fields whose text it takes down. Resolves to the entry, or null when it was not
  /// stored: then the page says so, and nothing of it is shown as taken.
  async add(what, keys = [], more = {}) {
    if (!this.mayCount) return null;
    this.notice = null;
    settle(...keys);
    this.pending += 1;
    try {
      return await this.journal.add(what, more);
    } catch (error) {
      for (const key of keys) {
        const field = document.querySelector(`[data-key="${CSS.escape(key)}"]`);
        if (field) field.dataset.dirty = "1";
      }
      this.fail(error);
      return null;
    } finally {
      this.pending -= 1;
      if (this.waiting) this.paint();
    }
  }

  fail(error) {
    this.alarm = `NOT TAKEN DOWN: ${error.message}. ${error.full
      ? "Save the file now, make room, then reload. Until then nothing more is counted here."
      : "Write it on paper. Save the file, then reload this page."}`;
    // A full device can't be trusted with the next touch either.
    this.stopped = true;
    say(this.alarm);
    this.paint();
  }

  /// Something stated. What was stated otherwise before is corrected, with the reason.
  async state(about, values, keys = []) {
    const earlier = this.day.said[about]?.values || {};
    const was = Object.fromEntries(Object.entries(earlier).filter(([key, value]) => key in values && String(value) !== String(values[key])));
    const more = await this.reasonFor(was);
    return more && this.add({ kind: "said", about, values, ...more }, keys);
  }

  /// A fact about an event.
  async tell(event, values, keys = []) {
    const was = Object.fromEntries(Object.entries(event.told).filter(([key, value]) => key in values && String(value) !== String(values[key])));
    const more = await this.reasonFor(was);
    return more && this.add({ kind: "told", event: event.id, values, ...more }, keys);
  }

  async reasonFor(was) {
    if (!Object.keys(was).length) return {};
    const why = await askWhy(`Why is it changed? Until now: ${Object.values(was).join(", ")}`, [...SLIPS, "seen better since", "changed at the bench"]);
    return why ? { was, why } : null;
  }

  applied(planned, count) {
    return { point: planned.point, application: planned.application, polarity: planned.polarity, voltage_kv: planned.voltage_kv,
      mode: planned.mode ?? null, state: this.day.state, tip: planned.tip, count, interval_s: planned.interval_s, single: true };
  }

  async done(at = this.now()) {
    const planned = this.day.plan.find((p) => p.id === this.day.current);
    if (!planned || !this.mayCount) return;
    const ms = performance.now();
    if (ms - this.lastDoneMs < BOUNCE_MS) return;
    this.lastDoneMs = ms;
    const series = seriesOf(this.day, planned.id);
    const count = series.shots.length || planned.count;
    const sparks = planned.application === "air" && series.shots.length ? { sparks: series.shots.filter((s) => s.spark).length } : {};
    const watched = !this.unwatched;
    const entry = await this.add({ kind: "done", series: planned.id, applied: this.applied(planned, count), watched, ...sparks }, [], { at });
    if (!entry) return;
    this.otherSeries();
    this.announce();
    this.paint();
  }

  /// What was said of one series, and its pace, do not go over to the next.
  otherSeries() {
    this.unwatched = false;
    this.stopPace();
  }

  announce() {
    const next = this.day.plan.find((p) => p.id === this.day.current);
    const words = next ? `Taken down. Next: ${next.application}, ${next.point}, ${next.polarity} ${next.voltage_kv} kilovolts, ${next.tip} tip.` : "Taken down. Every series is done or skipped.";
    say(words);
  }

  /// The moment a finger lands on "something happened": the click comes later.
  touch() { this.touchedAt = this.now(); }

  async happened(at = this.touchedAt || this.now()) {
    this.touchedAt = null;
    const planned = this.day.plan.find((p) => p.id === this.day.current);
    // An effect that is noticed late belongs to the series before: the screen of the event asks.
    const shots = planned ? seriesOf(this.day, planned.id).shots.length : 0;
    const id = `e${this.day.events.length + 1 + [...this.day.undone].length}`;
    const entry = await this.add({ kind: "happened", event: id, ...(planned ? { series: planned.id } : {}), ...(shots ? { shot: shots } : {}) }, [], { at });
    if (entry) {
      say("Time taken. State the details now or later.");
      this.go(`event:${id}`);
    }
  }

  /// From an event, details later. A foot that bounces on its switch does not mean "done" with the second press.
  backToShots() {
    this.lastDoneMs = performance.now();
    say("Back to the shots. The details are still open.");
    this.go("shots");
  }

  backNow(event) { return this.tell(event, { lasted_s: lasted(event, this.now()) }); }

  shot(spark) {
    const planned = this.day.plan.find((p) => p.id === this.day.current);
    if (!planned) return null;
    if (spark === false && planned.application !== "air") return null;
    const more = planned.application === "air" ? { spark: spark !== false } : {};
    return this.add({ kind: "shot", series: planned.id, ...more }).then((entry) => {
      if (!entry) return;
      const n = seriesOf(this.day, planned.id).shots.length;
      say(n >= planned.count ? `${n}: all ${planned.count} counted` : String(n));
    });
  }

  async undo() {
    const last = this.day.lastUndoable;
    if (!last) return;
    // One touch takes back the last touch; the reason is that touch itself. Anything else is a correction.
    await this.add({ kind: "undo", of: last.n, why: "taken back at once" });
    this.lastDoneMs = -Infinity;
    say(`Taken back: ${undoWords(this, last)}`);
  }

  async skip() {
    const planned = this.day.plan.find((p) => p.id === this.day.current);
    const why = planned && await askWhy(`Skip ${label(planned)}. Why?`, ["point not reachable", "agreed with the client", "item does not run", "stopped after a failure", "no time left"]);
    if (!why || !await this.add({ kind: "skip", series: planned.id, why })) return;
    this.otherSeries();
    this.announce();
    this.paint();
  }

  async doFirst(planned) {
    const why = await askWhy(`${label(planned)} first. Why?`, ["same tip or point as now", "item is set up for it", "to look at an effect again", "agreed with the client"]);
    if (!why || !await this.add({ kind: "next", series: planned.id, why })) return;
    this.otherSeries();
    this.go("shots");
  }

  /// What a series outside the plan is most like: what is on the page, else what was done last.
  like() {
    const find = (id) => this.day.plan.find((p) => p.id === id);
    return find(this.day.current) ?? find(this.day.lastDone?.series) ?? this.ground.plan[0];
  }

  /// A series that the plan does not have.
  async addOutside() {
    const asked = await askOutside(this.ground, this.like());
    if (!asked) return;
    const { why, ...planned } = asked;
    const series = `x${this.journal.entries.filter((e) => e.kind === "outside").length + 1}`;
    if (!await this.add({ kind: "outside", series, planned, why })) return;
    this.otherSeries();
    this.go("shots");
  }

  newState(state, keys = []) { return this.add({ kind: "state", ...state }, keys); }

  toggleWatched() {
    this.unwatched = !this.unwatched;
    this.paint();
  }

  togglePace() {
    if (this.pacing) this.stopPace();
    else {
      const planned = this.day.plan.find((p) => p.id === this.day.current);
      this.pacing = pace(planned?.interval_s ?? 1, (lit) => document.getElementById("lamp")?.classList.toggle("lit", lit), () => this.sound);
    }
    this.paint();
  }

  stopPace() {
    this.pacing?.();
    this.pacing = null;
  }

  toggleSound() {
    this.sound = !this.sound;
    this.paint();
  }

  async photo(file, about) {
    if (!file) return;
    try {
      const made = await readPhoto(file, `photo-${String(this.journal.entries.length + 1).padStart(4, "0")}`);
      const free = await this.journal.store.free();
      if (free !== null && free < ROOM + made.bytes * 2) throw new Error("there is not enough room for a photo; the touches still fit");
      const { base64, ...entry } = made;
      await this.add({ kind: "photo", ...entry, about, caption: `Taken at the bench: ${about}` }, [], { photo: base64 });
    } catch (error) {
      this.complain(`The photo was not taken: ${error.message}.`);
    }
  }

  startPaper(paper) {
    this.paper = paper;
    this.paint();
  }

  async copyRow(planned) {
    const row = await askRow(planned, this.paper);
    if (!row) return;
    const copied = { sheet: this.paper.sheet, row: row.row, tested_by: this.paper.by, day: this.paper.date, ...(row.at ? { at: row.at } : {}) };
    if (row.seen) {
      const id = `e${this.day.events.length + 1 + [...this.day.undone].length}`;
      if (!await this.add({ kind: "happened", event: id, series: planned.id, copied })) return;
      await this.add({ kind: "told", event: id, values: { seen: row.seen } });
    }
    await this.add({ kind: "done", series: planned.id, applied: this.applied(planned, row.count), watched: row.watched,
      ...(row.sparks === null ? {} : { sparks: row.sparks }), copied });
  }

  /// Hands the file to the browser. The entry that says so comes after, and is not in the file.
  async save() {
    const text = fileText(this.ground, this.journal.entries, await this.journal.store.photos().catch(() => ({})));
    const link = document.createElement("a");
    const name = fileName(this.ground, this.now());
    link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    if (this.mayCount) await this.add({ kind: "saved", file: name });
  }

  async load(file) {
    if (!file || !this.mayCount) return;
    const read = readFile(this.ground, await file.text());
    if (read.problem) return void this.complain(read.problem);
    // What this page wrote when it was opened is no record of work yet.
    const here = this.journal.entries;
    const untouched = here.every((e) => e.kind === "opened" || e.kind === "left");
    const more = untouched ? { add: read.journal } : continuation(here, read.journal);
    if (more.problem) return void this.complain(more.problem);
    try {
      const add = untouched ? read.journal.map((e) => ({ ...e, n: e.n + here.length, ...(e.kind === "undo" ? { of: e.of + here.length } : {}) })) : more.add;
      await this.journal.load(add, read.photos);
      await this.add({ kind: "opened", why: "loaded", file: file.name });
    } catch (error) {
      this.fail(error);
    }
  }
}
