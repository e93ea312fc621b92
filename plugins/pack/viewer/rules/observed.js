// Each observation made in one state of the item: the rule that applies to it, and what follows for the verdict.
import { compare } from "./decimal.js";
import { list } from "./facts.js";
import { bindingDemands, classFromFacts, standTo } from "./outcome.js";

/** Observations of the state's own series, and those that belong to no discharge. */
export function judgeObservations(work) {
  const own = new Map(work.series.map((series) => [series.id, series]));
  const all = new Set(list(work.record.series).map(({ id }) => id));
  return list(work.record.observations)
    .filter((observation) => own.has(observation.series) || !all.has(observation.series))
    .map((observation) => judgeOne(work, observation, own.get(observation.series)));
}

function judgeOne(work, observation, series) {
  const fromFacts = classFromFacts(observation);
  const observed = fromFacts ?? observation.written_class ?? null;
  const result = (rule, verdict, text, accepted = []) => ({
    observation: observation.id,
    class: observed,
    classFromFacts: fromFacts !== null,
    rule,
    verdict,
    text,
    accepted,
    source: observation,
    point: series?.point ?? null,
  });

  if (observation.affected === "associated") {
    return result("outcome-without-effect", null, "only associated equipment was affected");
  }
  if (observation.coincident === false) {
    return result("outcome-without-effect", null, "it did not coincide with a discharge");
  }
  if (!series) {
    return result("coincidence-not-stated", "undetermined", "it is not stated with which discharge it coincided");
  }
  if (series.kind !== "compliance") return result("outcome-without-effect", null, `in a run that is ${series.kind}`);

  const level = requiredLevel(work, series.application);
  if (level === "none") {
    return result("outcome-without-effect", null, `the plan requires no ${series.application} discharge`);
  }
  if (level !== "unknown" && compare(series.voltage_kv, level) > 0) {
    return result("outcome-without-effect", null, `above the required level of ${level} kV`);
  }

  const demands = bindingDemands(work.record.facts, observation.function, series);
  const accepted = [...new Set(demands.flatMap((demand) => list(demand.accepted)))];
  if (demands.length === 0) {
    return result("demand-not-stated", "undetermined", "no demand is stated for the function affected");
  }
  if (observed === "a") return result("outcome-within-demand", null, "within every demand", accepted);

  const stands = demands.map((demand) => standTo(demand, observation, observed, work.standard));
  if (stands.some(({ stand }) => stand === "unknown-word")) {
    return result("demand-unknown-word", "undetermined", "the demand is not in the standard's vocabulary", accepted);
  }
  const outside = stands.filter(({ stand }) => stand === "outside").length;
  const whichFunction = observation.function == null && demands.length > 1;
  if (outside === stands.length || (outside > 0 && !whichFunction)) {
    const severityKnown = level !== "unknown" && work.severityKnown(series);
    return severityKnown
      ? result("outcome-outside-demand", "fail", "outside what was demanded", accepted)
      : result(
          "failure-at-unknown-severity",
          "undetermined",
          "outside what was demanded, at a severity that is not known or may have been above the requirement",
          accepted,
        );
  }
  if (stands.every(({ stand }) => stand === "within")) {
    return result("outcome-within-demand", null, "within what was demanded", accepted);
  }
  const missing = new Set(stands.flatMap((one) => one.missing ?? []));
  if (outside > 0) missing.add("which function was affected");
  const text = `not stated: ${[...missing].join(", ")}`;
  return result("observation-facts-missing", "undetermined", text, accepted);
}

/** Highest voltage that the plan requires for a kind of discharge; "none" where it requires none of that kind. */
function requiredLevel(work, application) {
  const own = work.required.filter((one) => one.application === application).map((one) => one.voltage_kv);
  if (own.length) return own.reduce((top, kv) => (compare(kv, top) > 0 ? kv : top));
  return work.planProblems.some(({ rule }) => rule === "plan-unknown") ? "unknown" : "none";
}
