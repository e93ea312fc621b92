// What a valid result needs besides the discharges, and whether the record shows it for one state's series.
import { equal, within } from "./decimal.js";
import { dayOf, isNotApplicable, isStated, list, localTime } from "./facts.js";

const shown = (text) => ({ state: "shown", text });
const violated = (text) => ({ state: "violated", text });
const notStated = (text) => ({ state: "not-stated", text });
const notNeeded = (text) => ({ state: "not-needed", text });

/**
 * Every kind of evidence that applies, each with whether the standard's data require it. Exploratory and threshold runs
 * need none: the verdict does not rest on them. `waveforms` says of each recorded waveform whether it lies within limits.
 */
export function evidenceOf(record, standard, all, waveforms) {
  const facts = record.facts ?? {};
  const series = all.filter(({ kind }) => kind === "compliance");
  const days = testDays(facts, series);
  const needs = standard.evidence;
  const item = (kind, required, found) => ({ kind, required, ...found });
  return [
    item("calibration", needs.calibration, calibration(facts, days)),
    ...otherCalibrations(facts, needs.calibration_roles ?? [], days).map((found) => item("calibration", needs.calibration, found)),
    item("setup-verification", needs.setup_verification, setupVerification(facts, standard, series, days)),
    ...setupReadings(facts, standard, days).map((found) => item("setup-limits", needs.setup_limits ?? false, found)),
    ...standard.climate.map((limit) => item("climate", needs.climate, climate(facts, limit, series))),
    item("charge-removal", needs.charge_removal_unearthed, chargeRemoval(facts)),
    ...tips(facts, standard, series).map((found) => item("tip", needs.tip, found)),
    item("network", needs.network, network(facts, standard)),
    ...inHouse(needs.waveform, waveforms).map((found) => item("waveform", needs.waveform, found)),
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
  return calibrationOf("generator", generator, days);
}

/** Equipment in further roles that the standard's data name. */
function otherCalibrations(facts, roles, days) {
  return roles.flatMap((role) => {
    const all = list(facts.equipment).filter((one) => one.role === role);
    if (all.length === 0) return [notStated(`no equipment of the role ${role} is named`)];
    return all.filter(({ id }) => id !== facts.generator?.equipment).map((one) => calibrationOf(role, one, days));
  });
}

function calibrationOf(role, equipment, days) {
  const { id, calibrated_on: from, calibration_due: due } = equipment;
  if (equipment.in_tolerance === false) return violated(`the calibration found ${role} ${id} outside its tolerances`);
  if (equipment.accredited === false) return violated(`the calibration of ${role} ${id} was not accredited`);
  if (from == null || due == null) return notStated(`${role} ${id}: begin or end of the calibration is not stated`);
  if (days.length === 0) return notStated(`${role} ${id}: calibrated ${from} to ${due}, the test day is not stated`);
  if (days[0] < from || days.at(-1) > due) {
    return violated(`${role} ${id}: calibration valid ${from} to ${due}, discharges on ${days.join(", ")}`);
  }
  if (equipment.accredited == null) return notStated(`${role} ${id}: whether the calibration was accredited`);
  return shown(`${role} ${id}: accredited calibration ${from} to ${due}`);
}

/**
 * Before the first discharge of a day the last check of each thing counts: what was found wrong, mended and checked
 * again is in order. What is found wrong later in the day spoils the day; found wrong at no stated time, it spoils all.
 */
function setupVerification(facts, standard, series, days) {
  const checks = list(facts.setup_checks)
    .filter(({ kind }) => standard.evidence.setup_kinds.includes(kind))
    .map((check) => ({ ...check, sound: isInOrder(check, standard) }));
  const bad = checks.filter(({ at, sound }) => at == null && sound === false);
  const verified = new Set();
  for (const day of days) {
    const ofDay = checks.filter(({ at }) => at != null && dayOf(at) === day);
    const before = ofDay.filter(({ at }) => isBeforeUse(at, series));
    bad.push(...ofDay.filter((check) => check.sound === false && !before.includes(check)));
    const last = new Map();
    for (const check of before) {
      const thing = JSON.stringify([check.kind, check.what ?? ""]);
      const known = last.get(thing);
      if (!known || localTime(check.at) >= localTime(known.at)) last.set(thing, check);
    }
    for (const check of last.values()) {
      if (check.sound === false) bad.push(check);
      if (check.sound) verified.add(day);
    }
  }
  if (bad.length) return violated(bad.map(({ what, kind }) => `${what ?? kind}: not in order`).join("; "));
  const missing = days.filter((day) => !verified.has(day));
  if (days.length === 0 || missing.length) return notStated(`no verification before use for ${missing.join(", ")}`);
  return shown(`set-up verified before use on ${days.join(", ")}`);
}

/** From the person's no, the reading and its limits, or the person's yes; null where none of them says anything. */
function isInOrder(check, standard) {
  const { reading, unit, least, most, in_order: word } = check;
  if (word === false) return false;
  if (reading == null || unit == null) return word ?? null;
  if (least != null || most != null) return within(reading, least, most);
  return word ?? isInsideLimits(check, standard);
}

/** What is measured and how many of the smallest unit one is. */
const UNITS = {
  ohm: ["ohm", 0],
  kohm: ["ohm", 3],
  Mohm: ["ohm", 6],
  mm: ["mm", 0],
  cm: ["mm", 1],
  m: ["mm", 3],
  V: ["V", 0],
  kV: ["V", 3],
};

/** A reading against the standard's limits of its kind: inside any of them will do; null where there are none for it. */
function isInsideLimits({ kind, reading, unit }, standard) {
  const [measured, power] = UNITS[unit] ?? [];
  const limits = standard.setupLimits.filter((limit) => limit.kind === kind && measured !== undefined && UNITS[limit.unit]?.[0] === measured);
  if (limits.length === 0) return null;
  const converted = (limit) => `${reading}e${power - UNITS[limit.unit][1]}`;
  return limits.some((limit) => within(converted(limit), limit.least, limit.most));
}

/** Readings of the test days against the standard's limits; nothing where there is none to compare. */
function setupReadings(facts, standard, days) {
  const compared = list(facts.setup_checks)
    .filter(({ reading, unit, at }) => reading != null && unit != null && (at == null || days.includes(dayOf(at))))
    .map((check) => [check, isInsideLimits(check, standard)])
    .filter(([, inside]) => inside !== null);
  if (compared.length === 0) return [];
  const outside = compared.filter(([, inside]) => !inside).map(([{ what, kind, reading, unit }]) => `${what ?? kind} ${reading} ${unit}`);
  return [outside.length ? violated(`outside the limits: ${outside.join("; ")}`) : shown(`${compared.length} readings inside the limits`)];
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

/** The network that the plan chooses, else the standard's only one. */
function network(facts, standard) {
  const { network_pf: pf, network_ohm: ohm } = facts.generator ?? {};
  const chosen = { pf: facts.plan?.network_pf, ohm: facts.plan?.network_ohm };
  const isChosen = chosen.pf != null && chosen.ohm != null;
  if (!isChosen && standard.networks.length) return notStated("which of the standard's networks is to be used");
  const wanted = isChosen ? chosen : { pf: standard.rules.network_pf, ohm: standard.rules.network_ohm };
  if (pf == null || ohm == null) return notStated("the generator's network");
  const fits = equal(pf, wanted.pf) && equal(ohm, wanted.ohm);
  return fits ? shown(`${pf} pF, ${ohm} ohm`) : violated(`${pf} pF, ${ohm} ohm`);
}

/** Waveforms measured in house: a bonus, unless the standard's data ask for them. */
function inHouse(isRequired, waveforms) {
  if (waveforms.length === 0) return isRequired ? [notStated("no waveform is recorded")] : [];
  const outside = waveforms.filter((inside) => inside === false).length;
  const open = waveforms.filter((inside) => inside === null).length;
  if (outside) return [violated(`${outside} of ${waveforms.length} waveforms outside their limits`)];
  return [open ? notStated(`${open} of ${waveforms.length} waveforms can't be compared`) : shown(`${waveforms.length} waveforms within limits`)];
}

/**
 * Whether the record says how severe the discharges of a series really were: calibrated generator, its network, and
 * the tip of this series. A tip that is wrong elsewhere says nothing about this series.
 */
export function severityIsKnown(evidence, record, standard, series) {
  // The generator's calibration is the first; that of other equipment says nothing about the discharges.
  const own = [evidence.find(({ kind }) => kind === "calibration"), evidence.find(({ kind }) => kind === "network")];
  const generatorKnown = own.every(({ required, state }) => !required || state === "shown");
  return generatorKnown && tipIsKnown(record, standard, series);
}

export function tipIsKnown(record, standard, series) {
  return !standard.evidence.tip || tipOf(record.facts, series) === wantedTip(standard, series);
}
