// The fold, the limits, what is wanting, and the file: with node's own runner, `node --test`.
import test from "node:test";
import assert from "node:assert/strict";
import { fold, seriesOf, progress, changes, saidAt } from "../fold.js";
import { against, plain, calibration } from "../limits.js";
import { wanting, eventLacks } from "../wanting.js";
import { fileText, readFile, continuation } from "../file.js";
import { clockWatch, stamp } from "../moment.js";
import { kind } from "../photo.js";

const series = (id, more = {}) => ({ id, point: "P1", application: "contact", polarity: "positive", voltage_kv: "4", mode: null,
  count: 10, interval_s: "1", tip: "sharp", ...more });

const ground = () => ({
  form: 1, id: "i", program: "p", standard: null,
  facts: { states: [{ id: "AR" }], points: [], functions: [], item: { earthed: true }, equipment: [{ id: "G", role: "generator",
    calibrated_on: "2026-01-01", calibration_due: "2027-01-01", accredited: true }], generator: { equipment: "G", network_pf: "150", network_ohm: "330" } },
  plan: [series("1"), series("2", { polarity: "negative" }), series("3", { application: "air", tip: "round", voltage_kv: "8" })],
  plan_problems: [],
  checks: [{ key: "bleeder-horizontal", kind: "bleeder", what: "bleeder cable", unit: "kohm", least: "846", most: "1034", nominal: "940", status: "practice" },
    { key: "strap", kind: "strap", what: "return cable", unit: null, least: null, most: null, nominal: null, status: null }],
  spark_check: "spark to the plane", before_checks: "", cautions: [],
  limits: { climate: [{ applies_to: ["air"], temperature_c: { least: "15", most: "35" } }],
    evidence: { calibration: true, setup_verification: true, setup_kinds: ["bleeder", "spark"], climate: true, charge_removal: true, network: true } },
});

function journal(...entries) {
  return entries.map((entry, index) => ({ n: index + 1, key: `s-${index + 1}`, at: `2026-03-12T09:${String(index).padStart(2, "0")}:00.000+00:00`, ...entry }));
}

const applied = (count = 10) => ({ point: "P1", application: "contact", polarity: "positive", voltage_kv: "4", count, interval_s: "1", single: true });

test("the next series is the first open one, or the one chosen, and a done one frees the choice", () => {
  const g = ground();
  assert.equal(fold(g, []).current, "1");
  assert.equal(fold(g, journal({ kind: "next", series: "3", why: "tip" })).current, "3");
  const day = fold(g, journal({ kind: "next", series: "3", why: "tip" }, { kind: "done", series: "3", applied: applied(), watched: true }));
  assert.equal(day.current, "1");
  assert.deepEqual(progress(g, day), { done: 1, skipped: 0, all: 3 });
});

test("what is taken back counts for nothing and stays in the journal", () => {
  const entries = journal({ kind: "done", series: "1", applied: applied(), watched: true }, { kind: "undo", of: 1 });
  const day = fold(ground(), entries);
  assert.equal(seriesOf(day, "1").status, "open");
  assert.equal(entries.length, 2);
});

test("a modified item owes the plan again, and what was done before stays with the state before", () => {
  const g = ground();
  const day = fold(g, journal({ kind: "done", series: "1", applied: applied(), watched: true }, { kind: "state", state: "M1", description: "braid" }));
  assert.equal(day.current, "1");
  assert.equal(seriesOf(day, "1").status, "open");
  assert.equal(day.series.get("AR/1").status, "done");
});

test("an event noticed late moves to the series before", () => {
  const day = fold(ground(), journal({ kind: "done", series: "1", applied: applied(), watched: true }, { kind: "happened", event: "e1", series: "2" },
    { kind: "told", event: "e1", values: { series: "1" } }));
  assert.equal(seriesOf(day, "1").events.length, 1);
  assert.equal(seriesOf(day, "2").events.length, 0);
});

test("a series outside the plan comes next, and the plan stays what it was", () => {
  const g = ground();
  const outside = { kind: "outside", series: "x1", planned: { ...series("x1"), voltage_kv: "9" }, why: "to look again" };
  const day = fold(g, journal(outside));
  assert.equal(day.current, "x1");
  assert.equal(day.plan.at(-1).voltage_kv, "9");
  assert.deepEqual(progress(g, day), { done: 0, skipped: 0, all: 3 });
  assert.equal(fold(g, journal(outside, { kind: "undo", of: 1 })).current, "1");
  const done = fold(g, journal(outside, { kind: "done", series: "x1", applied: applied(), watched: true }));
  assert.equal(done.current, "1");
  assert.deepEqual(progress(g, done), { done: 0, skipped: 0, all: 3 });
});

test("the hands are told what changes", () => {
  assert.deepEqual(changes(series("1"), series("2", { polarity: "negative" })), ["polarity"]);
  assert.deepEqual(changes(series("1"), series("3", { application: "air", tip: "round", voltage_kv: "8" })), ["kind of discharge", "tip", "voltage"]);
  assert.deepEqual(changes(null, series("1")), []);
});

test("a slip put right keeps the time of the reading, a new reading does not", () => {
  assert.equal(saidAt([{ at: "1" }, { at: "2", why: "wrong touch" }]), "1");
  assert.equal(saidAt([{ at: "1" }, { at: "2", why: "seen better since" }]), "2");
});

test("limits include their ends, and numbers may have a comma", () => {
  assert.equal(against("846", "846", "1034"), "inside");
  assert.equal(against("845,9", "846", "1034"), "outside");
  assert.equal(against("", "1", "2"), "open");
  assert.equal(plain("21,4"), "21.4");
  assert.equal(plain("1 200"), null);
});

test("a calibration is good on its last day and not on the day after", () => {
  const piece = { calibrated_on: "2025-03-14", calibration_due: "2026-03-14" };
  assert.equal(calibration(piece, "2026-03-14").state, "soon");
  assert.equal(calibration(piece, "2026-03-15").state, "bad");
  assert.equal(calibration(piece, "2025-03-13").state, "bad");
  assert.equal(calibration({}, "2026-03-14").state, "open");
});

test("nothing is wanting after a whole day, and each thing left out is named", () => {
  const whole = [
    { kind: "said", about: "person", values: { name: "I. Marsh" } },
    { kind: "said", about: "climate/2026-03-12/1", values: { temperature_c: "21" } },
    { kind: "said", about: "check/2026-03-12/bleeder-horizontal", values: { kind: "bleeder", reading: "940" } },
    ...["1", "2", "3"].map((id) => ({ kind: "done", series: id, applied: applied(), watched: true })),
  ];
  const words = (entries) => wanting(ground(), fold(ground(), journal(...entries)), "2026-03-12T12:00:00.000+00:00").map((w) => w.words);
  assert.deepEqual(words(whole), []);
  for (const [index, word] of [[0, "no name"], [1, "temperature"], [2, "set-up verified"], [3, "1 series still to do"]]) {
    const found = words(whole.filter((_, i) => i !== index));
    assert.ok(found.some((w) => w.includes(word)), `${word}: ${found}`);
  }
  const late = [...whole.slice(0, 2), ...whole.slice(3), whole[2]];
  assert.ok(words(late).some((w) => w.includes("set-up verified")), "a check after the first discharge verifies nothing before it");
});

test("ten discharges a second apart are not done in four seconds", () => {
  const entries = journal({ kind: "done", series: "1", applied: applied(), watched: true }, { kind: "done", series: "2", applied: applied(), watched: true });
  entries[1].at = "2026-03-12T09:00:04.000+00:00";
  const found = wanting(ground(), fold(ground(), entries), "2026-03-12T12:00:00.000+00:00").map((w) => w.words);
  assert.ok(found.some((w) => w.includes("take 9 s")), String(found));
});

test("an event asks only what a verdict needs", () => {
  assert.ok(eventLacks({ told: {} }).length > 5);
  assert.deepEqual(eventLacks({ told: { affected: "associated", seen: "loop recorder beeped" } }), []);
  const told = { affected: "item", coincident: true, function: "f", seen: "dark", state_changed: false, data_lost: false, restored: "by-itself", before_next: true };
  assert.deepEqual(eventLacks({ told }), []);
});

test("a file comes back as it was, a changed one is refused, and a longer one goes on", () => {
  const g = ground();
  const entries = journal({ kind: "opened", why: "first" }, { kind: "note", text: "a\n\"b\"" });
  const text = fileText(g, entries, { "p.jpg": "AAAA" });
  assert.deepEqual(readFile(g, text), { journal: entries, photos: { "p.jpg": "AAAA" } });
  assert.match(readFile(g, text.slice(0, -40)).problem, /cut off/);
  assert.match(readFile({ ...g, id: "other" }, text).problem, /another form/);
  assert.match(readFile(g, text.replace('"n":2', '"n":3')).problem, /out of order/);
  assert.deepEqual(continuation(entries.slice(0, 1), entries), { add: entries.slice(1) });
  assert.ok(continuation([{ ...entries[0], at: "x" }], entries).problem);
  // An entry a line: the row of a place in it is the line.
  assert.equal(text.split("\n").filter((line) => line.startsWith('  {"n":')).length, 2);
});

test("a clock that is moved is noticed, one that runs is not", () => {
  let wall = 0, steady = 0;
  const watch = clockWatch(() => wall, () => steady);
  wall += 60000; steady += 60000;
  assert.equal(watch.jump(), 0);
  wall += 3600000 + 1000; steady += 1000;
  assert.equal(watch.jump(), 3600);
});

test("a stamp has an offset and milliseconds", () => {
  assert.match(stamp(new Date(0)), /^19(70-01-01|69-12-31)T\d\d:\d\d:00\.000[+-]\d\d:\d\d$/);
});

test("a picture is known by its first bytes", () => {
  assert.equal(kind(Uint8Array.of(0xff, 0xd8, 0xff, 0xe0)), "image/jpeg");
  assert.equal(kind(new TextEncoder().encode("<svg>")), null);
});
