// From record and standard to plan, verdict per state, and what each observation comes to. A pure function.
import { list } from "./facts.js";
import { requiredSeries } from "./plan.js";
import { judgeState, unreadRows } from "./verdict.js";

/** The version of the rules that these files apply; an assessment made under another is not re-derived. */
export const RULES_VERSION = 2;

/**
 * `standard` is null where the record names none or its data are not at hand: nothing can be judged then. `waveforms`
 * says of each recorded waveform whether it lies within its limits (true, false, or null): that is not derived here.
 */
export function assess(record, standard, waveforms) {
  record = { ...record, facts: record.facts ?? {} };
  if (!standard) {
    const named = record.facts.method?.standard;
    const text = named ? `the data of ${named} are not at hand` : "the method is not stated";
    const state = judgedState(record);
    const series = list(record.series).filter((one) => (one.state ?? null) === state);
    const reasons = [{ rule: "method-unknown", effect: "undetermined", text }, ...unreadRows(record, series)];
    const none = { failureObserved: false, rows: [], uncounted: [], evidence: [], points: [], functions: [] };
    const headline = { ...none, state, verdict: "undetermined", reasons };
    return { verdict: "undetermined", required: [], planProblems: [], observed: [], states: [headline] };
  }
  const { required, problems } = requiredSeries(record.facts, standard);
  const planProblems = problems.map((text) => ({ rule: "plan-unknown", text }));
  if (list(record.facts.demands).length === 0) {
    planProblems.push({ rule: "demand-not-stated", text: "the record does not say which outcomes are accepted" });
  }
  const job = { record, standard, required, planProblems, waveforms };
  const received = list(record.facts.states)[0]?.id ?? null;
  const judged = statesToJudge(record).map((state) => judgeState(job, state, state === null || state === received));
  return { verdict: judged[0].verdict, required, planProblems, observed: firstOfEach(judged), states: judged };
}

/** The state that the headline verdict belongs to: the one that the plan names, else the item as received. */
function judgedState({ facts }) {
  return facts.plan?.judged_state ?? list(facts.states)[0]?.id ?? null;
}

/** The headline's state first; then those that the job describes, then any other that a series names. */
function statesToJudge(record) {
  const headline = judgedState(record);
  const described = list(record.facts.states).map(({ id }) => id);
  const applied = list(record.series).map(({ state }) => state ?? null);
  const all = new Set([...(headline === null ? [] : [headline]), ...described, ...applied]);
  return all.size ? [...all] : [null];
}

/** An observation that belongs to no discharge stands under every state; it is told once. */
function firstOfEach(states) {
  const told = new Map();
  for (const { state, observed } of states) {
    for (const one of observed) if (!told.has(one.observation)) told.set(one.observation, { ...one, state });
  }
  return [...told.values()];
}
