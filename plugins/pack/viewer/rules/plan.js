// The series that standard, level and points require, in the order of points, voltages, modes and polarities.
import { compare, equal, rising } from "./decimal.js";
import { list } from "./facts.js";
import { counting } from "./standard.js";

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
  const network = networkProblem(plan, standard);
  if (network) problems.push(network);

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
            const interval_s = plan.interval_s ?? counting(standard, application).interval_s;
            required.push({ point: point.id, application, polarity, voltage_kv, mode, count: 0, shared: null, interval_s });
          }
        }
      }
    }
  }
  problems.push(...shareOut(plan, standard, required), ...tooFewPoints(standard, required));
  return { required, problems };
}

/** A standard with several networks leaves the choice to the plan; one with a single network leaves none. */
function networkProblem({ network_pf: pf, network_ohm: ohm }, standard) {
  const { rules, networks } = standard;
  if (pf == null && ohm == null && networks.length === 0) return null;
  if (pf == null || ohm == null) return "the plan does not say which network is to be used";
  const allowed = networks.length ? networks : [{ pf: rules.network_pf, ohm: rules.network_ohm }];
  return allowed.some((one) => equal(one.pf, pf) && equal(one.ohm, ohm)) ? null : `no network of ${pf} pF, ${ohm} ohm`;
}

const KEYS = {
  "point-polarity-level": (one) => [one.point, one.application, one.polarity, Number(one.voltage_kv)],
  "point-level": (one) => [one.point, one.application, Number(one.voltage_kv)],
  "point-polarity": (one) => [one.point, one.application, one.polarity],
  point: (one) => [one.point, one.application],
  job: () => [],
};

/** A number that belongs to several series is shared out evenly among them; they reach it together. */
function shareOut(plan, standard, required) {
  const groups = new Map();
  for (const one of required) {
    const per = counting(standard, one.application).counts_per;
    const key = JSON.stringify([per, one.application === "air", one.mode, ...KEYS[per](one)]);
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  const problems = new Set();
  let group = 0;
  for (const members of groups.values()) {
    const least = counting(standard, members[0].application).discharges;
    const count = plan.discharges ?? least;
    if (count < least) problems.add(`the plan asks for ${count} discharges, the standard for at least ${least}`);
    for (const one of members) {
      one.count = Math.ceil(count / members.length);
      one.shared = members.length > 1 ? { group, count } : null;
    }
    group += 1;
  }
  return problems;
}

/** A constraint on the number of points is one on the plan. */
function tooFewPoints(standard, required) {
  return standard.totals
    .filter(({ of }) => of === "points")
    .map(({ appliesTo, least }) => ({
      least,
      points: new Set(required.filter((one) => appliesTo.includes(one.application)).map(({ point }) => point)).size,
    }))
    .filter(({ points, least }) => points < least)
    .map(({ points, least }) => `the plan has ${points} points, the standard asks for at least ${least}`);
}

/** The voltages that a kind of discharge needs: the plan's own, else those of the standard's level. */
function voltagesOf(plan, standard) {
  const own = { contact: list(plan.contact_kv), air: list(plan.air_kv), indirect: list(plan.indirect_kv) };
  let { contact, air } = own;
  if (contact.length + air.length + own.indirect.length === 0) {
    if (plan.level == null) return { problem: "the plan names neither a level nor voltages of its own" };
    const level = standard.levels.find(({ name }) => name === plan.level);
    if (!level) return { problem: `${standard.name} has no level ${plan.level}` };
    if (level.contact_kv === null && level.air_kv === null && level.indirect_kv === null) {
      return { problem: `level ${plan.level} is open: the plan must state its voltages` };
    }
    const { rules } = standard;
    contact = upTo(level.contact_kv, rules.lower_levels_contact, rules.contact_steps_kv ?? column(standard, "contact_kv"));
    air = upTo(level.air_kv, rules.lower_levels_air, rules.air_steps_kv ?? column(standard, "air_kv"));
    own.indirect = own.indirect.length ? own.indirect : (level.indirect_kv ?? []);
  }
  const inherited = standard.rules.indirect_uses_contact_level ? contact : [];
  const indirect = own.indirect.length ? own.indirect : inherited;
  const byKind = { contact: rising(contact), air: rising(air), hcp: rising(indirect), vcp: rising(indirect) };
  return { voltages: (application) => byKind[application] };
}

const column = (standard, name) => standard.levels.flatMap((level) => level[name] ?? []);

/** The level's own voltages and, where the edition asks for them, the lower steps of the ladder. */
function upTo(level, lowerToo, steps) {
  if (level === null) return [];
  return lowerToo ? [...level, ...[steps].flat().filter((kv) => compare(kv, level[0]) < 0)] : level;
}
