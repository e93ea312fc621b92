// The series that standard, level and points require, in the order of points, voltages, modes and polarities.
import { compare, equal, rising } from "./decimal.js";
import { list } from "./facts.js";
import { countingOf } from "./standard.js";

const POLARITIES = { both: ["positive", "negative"], positive: ["positive"], negative: ["negative"] };

/** `required`: the series. `problems`: why some can't be worked out. */
export function requiredSeries(facts, standard) {
  const plan = facts.plan ?? {};
  const points = list(facts.points).filter((point) => point.excluded == null);
  const problems = [];
  const polarities = POLARITIES[plan.polarity] ?? [];
  if (plan.polarity == null) problems.push("the plan does not say which polarities are required");
  if (polarities.length === 1 && plan.polarity_basis == null) {
    problems.push("the plan asks for one polarity and does not say on what basis");
  }
  if (points.length === 0) problems.push("the plan names no points");
  const { voltages, problem } = voltagesOf(plan, standard);
  if (problem) problems.push(problem);
  problems.push(...networkProblem(plan, standard));

  const required = [];
  for (const point of points) {
    const applications = list(point.applications);
    if (applications.length === 0) problems.push(`point ${point.id} does not say how discharges are applied`);
    if (problem) continue;
    for (const application of applications) {
      const own = voltages(application);
      if (own.length === 0) {
        problems.push(`the plan has no voltage for ${application} discharge, which point ${point.id} needs`);
      }
      for (const voltage_kv of own) {
        for (const mode of plan.modes?.length ? plan.modes : [null]) {
          for (const polarity of polarities) {
            const interval_s = plan.interval_s ?? countingOf(standard, application).interval_s.value;
            required.push({ point: point.id, application, polarity, voltage_kv, mode, interval_s });
          }
        }
      }
    }
  }
  problems.push(...shareOut(plan, standard, required), ...tooFewPoints(standard, required));
  return { required, problems };
}

const SHARED_BY = {
  "point-polarity-level": (one) => [one.point, one.application, one.polarity, one.voltage_kv],
  "point-level": (one) => [one.point, one.application, one.voltage_kv],
  "point-polarity": (one) => [one.point, one.application, one.polarity],
  point: (one) => [one.point, one.application],
  job: () => [],
};

/**
 * Gives each series its number of discharges. A number that belongs to several series (each point whatever the
 * polarity, say) is shared out evenly, and they are held against it together. A mode is a condition of its own.
 */
function shareOut(plan, standard, required) {
  const groups = new Map();
  for (const one of required) {
    const { counts_per: per } = countingOf(standard, one.application);
    const key = JSON.stringify([per.value, one.application === "air", one.mode, ...SHARED_BY[per.value](one)]);
    if (!groups.has(key)) groups.set(key, []);
    groups.get(key).push(one);
  }
  const problems = new Set();
  for (const members of groups.values()) {
    const { discharges: least } = countingOf(standard, members[0].application);
    const count = plan.discharges ?? least.value;
    if (count < least.value) problems.add(`the plan asks for ${count} discharges, the standard for at least ${least.value} (${least.status})`);
    const shared = members.length > 1 ? { count, members } : null;
    for (const one of members) Object.assign(one, { count: Math.ceil(count / members.length), shared });
  }
  return problems;
}

function tooFewPoints(standard, required) {
  return standard.totals
    .filter(({ of }) => of === "points")
    .map(({ least, appliesTo }) => [least.value, new Set(required.filter((one) => appliesTo.includes(one.application)).map(({ point }) => point)).size])
    .filter(([least, points]) => points < least)
    .map(([least, points]) => `the plan has ${points} points, the standard asks for at least ${least}`);
}

/** Where a standard has several networks the plan chooses one of them; it can't choose another than the standard's. */
function networkProblem({ network_pf: pf, network_ohm: ohm }, { networks, rules }) {
  const known = networks.length ? networks : [{ pf: rules.network_pf, ohm: rules.network_ohm }];
  if (pf == null && ohm == null && networks.length === 0) return [];
  if (pf == null || ohm == null) return ["the plan does not say which network is to be used"];
  return known.some((one) => equal(one.pf, pf) && equal(one.ohm, ohm)) ? [] : [`the standard has no network ${pf} pF, ${ohm} ohm`];
}

/** The voltages that a kind of discharge needs: the plan's own, else those of the standard's level. */
function voltagesOf(plan, standard) {
  const own = { contact: list(plan.contact_kv), air: list(plan.air_kv), indirect: list(plan.indirect_kv) };
  let { contact, air } = own;
  let ofLevel = [];
  if (contact.length + air.length + own.indirect.length === 0) {
    if (plan.level == null) return { problem: "the plan names neither a level nor voltages of its own" };
    const level = standard.levels.find(({ name }) => name === plan.level);
    if (!level) return { problem: `${standard.name} has no level ${plan.level}` };
    if (level.contact_kv === null && level.air_kv === null && level.indirect_kv === null) {
      return { problem: `level ${plan.level} is open: the plan must state its voltages` };
    }
    const { lower_levels_contact, lower_levels_air, contact_steps_kv, air_steps_kv } = standard.rules;
    contact = withLower(level.contact_kv, lower_levels_contact, contact_steps_kv ?? stepsOf(standard, "contact_kv"));
    air = withLower(level.air_kv, lower_levels_air, air_steps_kv ?? stepsOf(standard, "air_kv"));
    ofLevel = level.indirect_kv ?? [];
  }
  const inherited = standard.rules.indirect_uses_contact_level ? contact : [];
  const indirect = [own.indirect, ofLevel, inherited].find(({ length }) => length) ?? [];
  const byKind = { contact: rising(contact), air: rising(air), hcp: rising(indirect), vcp: rising(indirect) };
  return { voltages: (application) => byKind[application] };
}

/** The level's own voltages and, where the edition asks for them, the steps below the lowest of these. */
function withLower(own, lowerToo, steps) {
  if (own === null) return [];
  return lowerToo ? [...own, ...steps.filter((kv) => compare(kv, own[0]) < 0)] : own;
}

const stepsOf = (standard, column) => standard.levels.flatMap((level) => level[column] ?? []);
