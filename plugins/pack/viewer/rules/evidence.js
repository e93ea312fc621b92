// What a valid result needs besides the discharges, and whether the record shows it for one state's series.
import { equal, times, within } from "./decimal.js";
import { dayOf, isNotApplicable, isStated, list, localTime } from "./facts.js";

const shown = (text) => ({ state: "shown", text });
const violated = (text) => ({ state: "violated", text });
const notStated = (text) => ({ state: "not-stated", text });
const notNeeded = (text) => ({ state: "not-needed", text });

/**
 * Every kind of evidence that applies, each with whether the standard's data require it. Runs other than the
 * compliance run need none. Waveforms are not judged here.
 */
export function evidenceOf(record, standard, all) {
  const facts = record.facts ?? {};
  const series = all.filter(({ kind }) => kind === "compliance");
  const days = testDays(facts, series);
  const needs = standard.evidence;
  const item = (kind, required, found) => ({ kind, required, ...found });
  const optional = (kind, required, found) => (found ? [item(kind, required, found)] : []);
  return [
    item("calibration", needs.calibration, calibration(facts, days)),
    ...otherCalibrations(facts, needs, days).map((found) => item("calibration", needs.calibration, found)),
    item("setup-verification", needs.setup_verification, setupVerification(facts, standard, series, days)),
    ...optional("setup-limits", needs.setup_limits ?? false, setupLimits(facts, standard, days)),
    ...standard.climate.map((limit) => item("climate", needs.climate, climate(facts, limit, series))),
    item("charge-removal", needs.charge_removal_unearthed, chargeRemoval(facts)),
    ...tips(facts, standard, series).map((found) => item("tip", needs.tip, found)),
    item("network", needs.network, network(facts, standard)),
  ];
}

/** Days with discharges: from the series where they carry times, else the days that the job states. */
function testDays(facts, series) {
  const days = new Set();
  let undated = series.length === 0;
  for (const one of series) {
    const shots = list(one.shots).map(({ at }) => at);
    for (const moment of [one.started, one.ended, ...shots]) if (moment != null) days.add(dayOf(moment));
    if (one.started == null && shots.every((at) => at == null)) undated = true;
  }
  if (undated || days.size === 0) {
    for (const day of [facts.work_started, facts.work_ended]) if (day != null) days.add(day);
  }
  return [...days].sort();
}

function calibration(facts, days) {
  const id = facts.generator?.equipment;
  if (id == null) return notStated("the record does not say which generator was used");
  const generator = list(facts.equipment).find((one) => one.id === id);
  if (!generator) return notStated(`generator ${id} is not among the equipment`);
  return calibrationOf(generator, days);
}

/** Equipment in further roles that the standard's data name; the generator has been looked at. */
function otherCalibrations(facts, needs, days) {
  return (needs.calibration_roles ?? []).flatMap((role) => {
    const own = list(facts.equipment).filter((one) => one.role === role);
    if (own.length === 0) return [notStated(`no equipment of the role ${role} is named`)];
    return own.filter(({ id }) => id !== facts.generator?.equipment).map((one) => calibrationOf(one, days));
  });
}

function calibrationOf(generator, days) {
  const { id } = generator;
  const { calibrated_on: from, calibration_due: due } = generator;
  if (generator.in_tolerance === false) return violated(`the calibration found generator ${id} outside its tolerances`);
  if (generator.accredited === false) return violated(`the calibration of generator ${id} was not accredited`);
  if (from == null || due == null) return notStated(`generator ${id}: begin or end of the calibration is not stated`);
  if (days.length === 0) return notStated(`generator ${id}: calibrated ${from} to ${due}, the test day is not stated`);
  if (days[0] < from || days.at(-1) > due) {
    return violated(`generator ${id}: calibration valid ${from} to ${due}, discharges on ${days.join(", ")}`);
  }
  if (generator.accredited == null) return notStated(`generator ${id}: whether the calibration was accredited`);
  return shown(`generator ${id}: accredited calibration ${from} to ${due}`);
}

/**
 * The last check of each thing before the day's first discharge counts: what was mended and checked again is in
 * order. What is found wrong later in the day, or at a time that nobody states, counts against it.
 */
function setupVerification(facts, standard, series, days) {
  const kinds = standard.evidence.setup_kinds;
  const checks = list(facts.setup_checks).filter(({ kind }) => kinds.includes(kind));
  const bad = checks.filter((check) => check.at == null && isInOrder(check, standard) === false);
  const verified = new Set();
  for (const day of days) {
    const last = new Map();
    for (const check of checks.filter(({ at }) => at != null && dayOf(at) === day)) {
      if (!isBeforeUse(check.at, series)) {
        if (isInOrder(check, standard) === false) bad.push(check);
        continue;
      }
      const thing = JSON.stringify([check.kind, check.what ?? ""]);
      const known = last.get(thing);
      if (!known || localTime(check.at) >= localTime(known.at)) last.set(thing, check);
    }
    for (const check of last.values()) {
      const inOrder = isInOrder(check, standard);
      if (inOrder === false) bad.push(check);
      if (inOrder) verified.add(day);
    }
  }
  if (bad.length) return violated(`${bad.map(({ what, kind }) => what ?? kind).join(", ")}: not in order`);
  const missing = days.filter((day) => !verified.has(day));
  if (days.length === 0 || missing.length) return notStated(`no verification before use for ${missing.join(", ")}`);
  return shown(`set-up verified before use on ${days.join(", ")}`);
}

/** From the reading and its limits, else from the person's word, else from the standard's limits; null where nothing says anything. */
function isInOrder(check, standard) {
  const { reading, unit, least, most, in_order: word } = check;
  if (word === false) return false;
  if (reading == null || unit == null) return word ?? null;
  if (least != null || most != null) {
    if (!within(reading, least, most)) return false;
    return true;
  }
  return word ?? holdsAny(limitsOf(check, standard));
}

/** Factors to the smallest unit of each family. */
const UNITS = { ohm: [0, 1], kohm: [0, 1e3], Mohm: [0, 1e6], mm: [1, 1], cm: [1, 10], m: [1, 1e3], V: [2, 1], kV: [2, 1e3] };

/** The standard's limits of the check's kind whose unit goes together with the reading's, and whether each holds. */
function limitsOf({ kind, reading, unit }, standard) {
  return standard.setupLimits
    .filter((limit) => limit.kind === kind && UNITS[unit] && UNITS[unit][0] === UNITS[limit.unit][0])
    .map((limit) => within(times(reading, UNITS[unit][1]), times(limit.least, UNITS[limit.unit][1]), times(limit.most, UNITS[limit.unit][1])));
}

const holdsAny = (held) => (held.length ? held.some(Boolean) : null);

/** Readings of the test days against the standard's limits of their kind; nothing where there is no such reading. */
function setupLimits(facts, standard, days) {
  const held = list(facts.setup_checks)
    .filter(({ reading, unit, at }) => reading != null && unit != null && (at == null || days.includes(dayOf(at))))
    .map((check) => holdsAny(limitsOf(check, standard)))
    .filter((one) => one !== null);
  if (held.length === 0) return null;
  return held.every(Boolean) ? shown("readings inside the standard's limits") : violated("a reading outside the standard's limits");
}

function isBeforeUse(at, series) {
  return series
    .map((one) => one.started ?? list(one.shots)[0]?.at)
    .filter((start) => start != null && dayOf(start) === dayOf(at))
    .every((start) => localTime(at) <= localTime(start));
}

const QUANTITIES = ["temperature_c", "humidity_percent", "pressure_hpa"];

/** The limits bind some kinds of discharge only; each quantity needs a reading on each day of those. */
function climate(facts, limit, series) {
  const bound = series.filter((one) => limit.appliesTo.includes(one.application));
  if (bound.length === 0) return notNeeded(`the limits bind ${limit.appliesTo.join(", ")} discharge only`);
  const days = testDays(facts, bound);
  const missing = days.length === 0 ? ["the test day"] : [];
  const outside = [];
  for (const day of days) {
    const readings = list(facts.climate).filter(({ at }) => at != null && dayOf(at) === day);
    for (const quantity of QUANTITIES.filter((name) => limit[name])) {
      const { least, most } = limit[quantity];
      const values = readings.map((reading) => reading[quantity]).filter((value) => value != null);
      if (values.length === 0) missing.push(`${quantity} on ${day}`);
      const beyond = values.filter((value) => !within(value, least, most));
      if (beyond.length) outside.push(`${quantity} ${beyond.join(", ")} on ${day}, limits ${least} to ${most}`);
    }
  }
  if (outside.length) return violated(outside.join("; "));
  if (missing.length) return notStated(`not stated: ${missing.join(", ")}`);
  return shown("inside the limits on every day");
}

/** An earthed item needs none. */
function chargeRemoval(facts) {
  const earthed = facts.item?.earthed;
  const removal = facts.charge_removal;
  if (earthed === true) return notNeeded("the item is earthed");
  if (isStated(removal)) return shown(removal.method);
  if (isNotApplicable(earthed) || isNotApplicable(removal)) return notNeeded("declared not applicable, with a reason");
  return notStated("how charge was removed from the item before each discharge");
}

const isAir = (series) => series.application === "air";

/** The tip fitted for a series: its own, else the one stated for that kind of discharge. */
const tipOf = (facts, series) =>
  series.tip ?? (isAir(series) ? facts.generator?.air_tip : facts.generator?.contact_tip) ?? null;

const wantedTip = (standard, series) => (isAir(series) ? standard.rules.air_tip : standard.rules.contact_tip);

/** Contact and air discharge each have a tip of their own. */
function tips(facts, standard, series) {
  const kinds = [series.filter((one) => !isAir(one)), series.filter(isAir)].filter((group) => group.length);
  return kinds.map((group) => {
    const name = isAir(group[0]) ? "air discharge" : "contact discharge";
    const fitted = group.map((one) => tipOf(facts, one));
    const wanted = wantedTip(standard, group[0]);
    if (fitted.some((tip) => tip !== null && tip !== wanted)) return violated(`${name}: not the ${wanted} tip`);
    if (fitted.includes(null)) return notStated(`the tip used for ${name}`);
    return shown(`${name}: ${wanted} tip`);
  });
}

function network(facts, standard) {
  const { network_pf: pf, network_ohm: ohm } = facts.generator ?? {};
  const plan = facts.plan ?? {};
  const chosen = plan.network_pf != null && plan.network_ohm != null;
  if (!chosen && standard.networks.length) return notStated("which of the standard's networks the plan chooses");
  const wanted = chosen ? [plan.network_pf, plan.network_ohm] : [standard.rules.network_pf, standard.rules.network_ohm];
  if (pf == null || ohm == null) return notStated("the generator's network");
  const fits = equal(pf, wanted[0]) && equal(ohm, wanted[1]);
  return fits ? shown(`${pf} pF, ${ohm} ohm`) : violated(`${pf} pF, ${ohm} ohm`);
}

/**
 * Whether the record says how severe the discharges of a series really were: calibrated generator, its network, and
 * the tip of this series. A tip that is wrong elsewhere says nothing about this series.
 */
export function severityIsKnown(evidence, record, standard, series) {
  const generatorKnown = evidence
    .filter(({ kind, required }) => required && (kind === "calibration" || kind === "network"))
    .every(({ state }) => state === "shown");
  return generatorKnown && tipIsKnown(record, standard, series);
}

export function tipIsKnown(record, standard, series) {
  return !standard.evidence.tip || tipOf(record.facts, series) === wantedTip(standard, series);
}
