// What a valid result needs besides the discharges, and whether the record shows it for one state's series.
import { equal, within } from "./decimal.js";
import { dayOf, isNotApplicable, isStated, list, localTime } from "./facts.js";

const shown = (text) => ({ state: "shown", text });
const violated = (text) => ({ state: "violated", text });
const notStated = (text) => ({ state: "not-stated", text });
const notNeeded = (text) => ({ state: "not-needed", text });

/** Every kind of evidence that applies, each with whether the standard's data require it. */
export function evidenceOf(record, standard, series) {
  const facts = record.facts ?? {};
  const days = testDays(facts, series);
  const needs = standard.evidence;
  const item = (kind, required, found) => ({ kind, required, ...found });
  return [
    item("calibration", needs.calibration, calibration(facts, days)),
    item("setup-verification", needs.setup_verification, setupVerification(facts, needs.setup_kinds, series, days)),
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

/** A check that found something out of order counts against it; one that was in order, before the day's first discharge, for it. */
function setupVerification(facts, kinds, series, days) {
  const verified = new Set();
  for (const check of list(facts.setup_checks).filter(({ kind }) => kinds.includes(kind))) {
    const inOrder = isInOrder(check);
    if (inOrder === false) return violated(`${check.what ?? check.kind}: not in order`);
    if (inOrder && check.at != null && isBeforeUse(check.at, series)) verified.add(dayOf(check.at));
  }
  const missing = days.filter((day) => !verified.has(day));
  if (days.length === 0 || missing.length) return notStated(`no verification before use for ${missing.join(", ")}`);
  return shown(`set-up verified before use on ${days.join(", ")}`);
}

/** From the reading and its limits, else from the person's word; null where neither says anything. */
function isInOrder(check) {
  const { reading, unit, least, most, in_order: word } = check;
  if (word === false) return false;
  if (reading != null && unit != null && (least != null || most != null)) return within(reading, least, most);
  return word ?? null;
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
  if (pf == null || ohm == null) return notStated("the generator's network");
  const fits = equal(pf, standard.rules.network_pf) && equal(ohm, standard.rules.network_ohm);
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
