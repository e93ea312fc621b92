// The series that standard, level and points require, in the order of points, voltages, modes and polarities.
import { compare, equal, rising } from "./decimal.js";
import { list } from "./facts.js";

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
  const least = standard.rules.discharges;
  const count = plan.discharges ?? least;
  if (count < least) problems.push(`the plan asks for ${count} discharges, the standard for at least ${least}`);

  const { voltages, problem } = voltagesOf(plan, standard);
  if (problem) problems.push(problem);

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
            const interval_s = plan.interval_s ?? standard.rules.interval_s;
            required.push({ point: point.id, application, polarity, voltage_kv, mode, count, interval_s });
          }
        }
      }
    }
  }
  return { required, problems };
}

/** The voltages that a kind of discharge needs: the plan's own, else those of the standard's level. */
function voltagesOf(plan, standard) {
  const own = { contact: list(plan.contact_kv), air: list(plan.air_kv), indirect: list(plan.indirect_kv) };
  let { contact, air } = own;
  if (contact.length + air.length + own.indirect.length === 0) {
    if (plan.level == null) return { problem: "the plan names neither a level nor voltages of its own" };
    const level = standard.levels.find(({ name }) => name === plan.level);
    if (!level) return { problem: `${standard.name} has no level ${plan.level}` };
    if (level.contact_kv === null && level.air_kv === null) {
      return { problem: `level ${plan.level} is open: the plan must state its voltages` };
    }
    contact = upTo(standard, "contact_kv", level.contact_kv, standard.rules.lower_levels_contact);
    air = upTo(standard, "air_kv", level.air_kv, standard.rules.lower_levels_air);
  }
  const inherited = standard.rules.indirect_uses_contact_level ? contact : [];
  const indirect = own.indirect.length ? own.indirect : inherited;
  const byKind = { contact: rising(contact), air: rising(air), hcp: rising(indirect), vcp: rising(indirect) };
  return { voltages: (application) => byKind[application] };
}

/** The level's own voltage and, where the edition asks for them, those of the lower levels. */
function upTo(standard, column, top, lowerToo) {
  if (top === null) return [];
  const all = standard.levels.map((level) => level[column]).filter((kv) => kv !== null);
  return all.filter((kv) => equal(kv, top) || (lowerToo && compare(kv, top) < 0));
}
