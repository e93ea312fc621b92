// The class that follows from what the item did, and whether it lies within what was demanded.
import { within } from "./decimal.js";
import { isNotApplicable, list } from "./facts.js";

const CLASS_BY_RESTORATION = {
  "nothing-lost": "a",
  "by-itself": "b",
  operator: "c",
  "power-cycle": "c",
  "not-restored": "d",
};

/** Class from the recorded facts; null where they don't suffice. Lost data is a lasting loss, whatever came back. */
export function classFromFacts(observation) {
  if (observation.data_lost === true) return "d";
  return CLASS_BY_RESTORATION[observation.restored] ?? null;
}

// Each condition of an outcome: true when it holds, false when it does not, else what has to be stated.
const CONDITIONS = {
  "no-state-change": (o) => denied(o.state_changed) ?? "whether the operating state changed",
  "no-data-loss": (o) => denied(o.data_lost) ?? "whether stored data were lost",
  "self-recovery": (o) =>
    typeof o.restored === "string"
      ? o.restored === "by-itself" || o.restored === "nothing-lost"
      : "who or what restored the function",
};

function denied(fact) {
  if (typeof fact === "boolean") return !fact;
  return isNotApplicable(fact) ? true : null;
}

/** Holds an observation against a demand: "within", "outside", "open" with the facts that are missing, or "unknown-word". */
export function standTo(demand, observation, observed, standard) {
  let missing = null;
  for (const word of list(demand.accepted)) {
    const outcome = standard.outcomes.find(({ name }) => name === word);
    if (!outcome) return { stand: "unknown-word" };
    const found = against(outcome, observation, observed);
    if (found === "within") return { stand: "within" };
    // Several accepted outcomes: the one that needs the fewest facts is the shortest way to an answer.
    if (found !== "outside" && (missing === null || found.length < missing.length)) missing = found;
  }
  return missing ? { stand: "open", missing } : { stand: "outside" };
}

/** "within", "outside", or the list of facts that are missing. */
function against(outcome, observation, observed) {
  if (observed === null) return ["who or what restored the function"];
  if (!outcome.classes.includes(observed)) return "outside";
  if (observed === "a") return "within";
  const answers = outcome.needs.map((need) => CONDITIONS[need](observation));
  // Looked at in the order of the conditions; one that is broken settles it, whatever else is missing.
  if (answers.includes(false)) return "outside";
  const missing = answers.filter((answer) => typeof answer === "string");
  return missing.length ? missing : "within";
}

/**
 * The demands that bind a function at a discharge. One that says more about where it holds replaces one that says
 * less: function before mode before kind of discharge before voltage range. Where the function affected is not
 * named, the demands on every function count.
 */
export function bindingDemands(facts, functionId, discharge) {
  const here = list(facts.demands).filter(
    (demand) =>
      (demand.mode == null || demand.mode === discharge.mode) &&
      (demand.application == null || demand.application === discharge.application) &&
      within(discharge.voltage_kv, demand.from_kv, demand.to_kv),
  );
  const functions = list(facts.functions).map(({ id }) => id);
  const asked = functionId != null ? [functionId] : functions.length ? functions : [null];
  const bound = new Set();
  for (const id of asked) {
    const own = here.filter((demand) => demand.function == null || demand.function === id);
    const most = Math.max(...own.map(precision));
    for (const demand of own) if (precision(demand) === most) bound.add(demand);
  }
  return [...bound];
}

function precision(demand) {
  const said = [demand.function, demand.mode, demand.application, demand.from_kv ?? demand.to_kv];
  return said.reduce((sum, value) => 2 * sum + (value != null ? 1 : 0), 0);
}
