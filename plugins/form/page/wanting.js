// What would leave the verdict undetermined, said while it can still be mended. Guidance: the program judges.

import { seriesOf, saidAt } from "./fold.js";
import { dayOf, secondsBetween, clockOf } from "./moment.js";
import { against, calibration, limitWords, number } from "./limits.js";
import { checkList, checkAbout, sparkCheck } from "./checks.js";

/// The facts of an event that a verdict may need, with the question that each answers.
export const EVENT_FACTS = [
  ["affected", "whether the item was affected, or only equipment beside it"],
  ["coincident", "whether it came with a discharge"],
  ["function", "which function"],
  ["seen", "what was seen"],
  ["state_changed", "whether the operating state changed"],
  ["data_lost", "whether stored data were lost"],
  ["restored", "who or what restored it"],
  ["before_next", "whether it was over before the next discharge"],
];

/// What an event still lacks: nothing more once it is known that it does not bear on the verdict.
export function eventLacks(event) {
  const told = event.told;
  if (told.affected === "associated" || told.coincident === false) return told.seen ? [] : ["what was seen"];
  return EVENT_FACTS.filter(([key]) => told[key] === undefined || told[key] === null || told[key] === "")
    .map(([, words]) => words);
}

/// Everything that is wanting: `{ place, words }`, place being the screen where it is mended.
export function wanting(ground, day, now) {
  const list = [];
  const want = (place, words) => list.push({ place, words });
  const rules = ground.limits.evidence;
  const today = dayOf(now);
  const days = daysOfWork(day, today);
  before(ground, day, days, want, rules);
  shots(ground, day, want);
  for (const event of day.events) {
    const lacks = eventLacks(event);
    if (lacks.length) want("event:" + event.id, `${clockOf(event.at)} something happened: state ${lacks.join(", ")}`);
  }
  if (!day.said.person?.values.name) want("before", "who tests: no name is stated");
  for (const problem of ground.plan_problems) want("plan", problem);
  return list;
}

/// The days on which discharges were applied, and today while nothing was applied yet.
function daysOfWork(day, today) {
  const days = new Set();
  for (const series of day.series.values()) {
    for (const shot of series.shots) days.add(dayOf(shot.at));
    if (series.done) days.add(dayOf(appliedAt(series.done)));
  }
  if (!days.size) days.add(today);
  return [...days].sort();
}

/// When a series was applied: at the touch, or as written on the paper it was copied from.
export function appliedAt(done) {
  return done.copied?.at || done.at;
}

function before(ground, day, days, want, rules) {
  const facts = ground.facts;
  const generator = day.said.generator?.values.equipment || facts.generator?.equipment;
  if (rules.calibration) {
    const piece = (facts.equipment || []).find((e) => e.id === generator);
    if (!piece) want("before", "which generator is used, and its calibration");
    else for (const d of days) {
      const found = calibration(piece, d);
      if (found.state === "bad" || found.state === "open") want("before", `generator ${piece.id}: ${found.words}`);
      else if (piece.accredited !== true) want("before", `generator ${piece.id}: whether its calibration was accredited`);
    }
  }
  if (rules.network && (!value(day, facts, "network_pf") || !value(day, facts, "network_ohm"))) {
    want("before", "the generator's network (capacitance and resistance)");
  }
  for (const d of days) {
    if (rules.setup_verification) setup(ground, day, d, want, rules);
    if (rules.climate) climate(ground, day, d, want);
  }
  if (rules.charge_removal) {
    const earthed = day.said.earthed?.values.earthed ?? facts.item?.earthed;
    const stated = facts.charge_removal !== undefined || day.said.charge?.values.method;
    if (earthed === undefined) want("before", "whether the item is earthed in the test");
    else if (earthed === false && !stated) want("before", "how charge is taken off the item before each discharge");
  }
}

function value(day, facts, key) {
  return day.said.generator?.values[key] ?? facts.generator?.[key];
}

function setup(ground, day, date, want, rules) {
  let verified = false;
  const first = firstDischarge(day, date);
  const checks = [...checkList(ground), sparkCheck(ground, "before")];
  for (const check of checks) {
    const said = day.said[checkAbout(date, check.key)];
    if (!said) continue;
    const { reading, in_order } = said.values;
    const state = reading == null || reading === "" ? "open" : against(reading, check.least, check.most);
    const bad = state === "outside" || in_order === false;
    if (bad) want("before", `${check.what}: not in order${state === "outside"
      ? ` (${reading}, limits ${limitWords(check.least, check.most, check.unit)})` : ""}`);
    const good = state === "inside" || in_order === true;
    const inTime = !first || saidAt(said.entries) <= first;
    if (good && !bad && inTime && rules.setup_kinds.includes(check.kind)) verified = true;
  }
  for (const check of ground.facts.setup_checks || []) {
    if (check.at && dayOf(String(check.at)) === date && rules.setup_kinds.includes(check.kind)) verified = true;
  }
  if (!verified) want("before", `set-up verified before the first discharge of ${date} (${rules.setup_kinds.join(", ")})`);
}

function firstDischarge(day, date) {
  const times = [];
  for (const series of day.series.values()) {
    for (const shot of series.shots) times.push(shot.at);
    if (series.done) times.push(appliedAt(series.done));
  }
  return times.filter((at) => dayOf(at) === date).sort()[0];
}

/// The readings of a day, from the form and from the job.
export function climateOf(ground, day, date) {
  const mine = Object.entries(day.said).filter(([about]) => about.startsWith(`climate/${date}/`)).map(([, s]) => s.values);
  const others = (ground.facts.climate || []).filter((c) => c.at && dayOf(String(c.at)) === date);
  return [...others, ...mine];
}

function climate(ground, day, date, want) {
  for (const limit of ground.limits.climate) {
    if (!ground.plan.some((p) => limit.applies_to.includes(p.application))) continue;
    const readings = climateOf(ground, day, date);
    for (const [key, name, unit] of [["temperature_c", "temperature", "°C"], ["humidity_percent", "relative humidity", "%"],
      ["pressure_hpa", "air pressure", "hPa"]]) {
      const span = limit[key];
      if (!span) continue;
      const values = readings.map((r) => r[key]).filter((v) => number(v) !== null);
      if (!values.length) want("before", `${name} on ${date}`);
      for (const v of values) {
        if (against(v, span.least, span.most) === "outside") {
          want("before", `${name} ${v} ${unit} on ${date} is outside ${limitWords(span.least, span.most, unit)} for ${limit.applies_to.join(", ")} discharge`);
        }
      }
    }
  }
}

function shots(ground, day, want) {
  let open = 0, skipped = 0, earlier = null;
  for (const planned of day.plan) {
    const series = seriesOf(day, planned.id);
    if (series.status === "open") open += 1;
    if (series.status === "skipped") skipped += 1;
    if (series.done) {
      if (series.done.applied.count < planned.count) {
        want("table", `${label(planned)}: ${series.done.applied.count} of ${planned.count} discharges`);
      }
      if (!series.done.watched) want("table", `${label(planned)}: the item was not watched all the time`);
    }
  }
  if (open) want("shots", `${open} series still to do`);
  if (skipped) want("table", `${skipped} series skipped`);
  const done = [...day.series.values()].filter((s) => s.done && !s.done.copied).sort((a, b) => a.done.n - b.done.n);
  for (const series of done) {
    const planned = day.plan.find((p) => p.id === series.id);
    if (planned && earlier) {
      const took = secondsBetween(earlier, series.done.at);
      const needs = (series.done.applied.count - 1) * Number(planned.interval_s);
      if (took >= 0 && took < needs) {
        want("table", `${label(planned)}: done ${Math.round(took)} s after the one before, ${series.done.applied.count} discharges ${planned.interval_s} s apart take ${needs} s`);
      }
    }
    earlier = series.done.at;
  }
}

/// A series in words: `USB contact +8 kV`.
export function label(planned) {
  const sign = planned.polarity === "positive" ? "+" : "−";
  return `${planned.point} ${planned.application} ${sign}${planned.voltage_kv} kV${planned.mode ? ` (${planned.mode})` : ""}`;
}
