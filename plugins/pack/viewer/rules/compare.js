// What the pack's assessment says and what was derived here, side by side: every difference by name.
import { plain } from "./decimal.js";
import { label } from "./verdict.js";

/** Differences as `{ where, pack, derived }`; none when both say the same. Words of reasons are not compared, rules are. */
export function differences(assessment, derived) {
  const found = [];
  const hold = (where, pack, own) => {
    const [left, right] = [JSON.stringify(pack ?? null), JSON.stringify(own ?? null)];
    if (left !== right) found.push({ where, pack: left, derived: right });
  };
  hold("verdict", assessment.verdict, derived.verdict);
  hold("plan", assessment.plan.map(planRow), derived.required.map(planRow));
  hold("series that share a number", sharedOf(assessment.plan, ({ group }) => group), sharedOf(derived.required, ({ members }) => members));
  hold("plan problems", rules(assessment.plan_problems), rules(derived.planProblems.map((one) => ({ ...one, effect: "undetermined" }))));
  hold("states", assessment.states.map(({ state }) => state), derived.states.map(({ state }) => state));
  derived.states.forEach((own, at) => {
    const pack = assessment.states[at];
    if (pack) holdState(hold, `state ${own.state ?? "(none named)"}`, pack, own, derived.required);
  });
  const seen = (one, from) => [one.observation, one.state, one.class, from, one.rule, one.verdict, one.accepted];
  const byName = (all) => [...all].sort((a, b) => (String(a[0]) < String(b[0]) ? -1 : 1));
  const packSeen = byName(assessment.observations.map((one) => seen(one, one.class_from_facts)));
  const ownSeen = byName(derived.observed.map((one) => seen(one, one.classFromFacts)));
  packSeen.forEach((pack, at) => hold(`observation ${pack[0]}`, pack, ownSeen[at]));
  hold("number of observations", packSeen.length, ownSeen.length);
  return found;
}

function holdState(hold, where, pack, own, required) {
  hold(`${where}: verdict`, pack.verdict, own.verdict);
  hold(`${where}: failure observed`, pack.failure_observed, own.failureObserved);
  hold(`${where}: rules`, rules(pack.reasons), rules(own.reasons));
  const evidence = (all) => all.map(({ kind, required: needed, state }) => [kind, needed, state]);
  hold(`${where}: evidence`, evidence(pack.evidence), evidence(own.evidence));
  hold(`${where}: series that do not count`, pack.uncounted.map(({ series }) => series), own.uncounted.map(({ series }) => series));
  hold(`${where}: number of required series`, pack.coverage.length, own.rows.length);
  const row = (one, series) => [one.counted, one.sparks, one.state, series, one.worst, one.observations, one.verdict];
  pack.coverage.forEach((one, at) => {
    const mine = own.rows[at];
    if (mine) hold(`${where}: ${label(required[mine.required])}`, row(one, one.series), row(mine, mine.series.map(({ id }) => id)));
  });
  const part = ({ name, verdict, worst }) => [name, verdict, worst];
  hold(`${where}: points`, pack.points.map(part), own.points.map(part));
  const count = ({ required: needed, complete }) => [needed, complete];
  hold(`${where}: series per point`, pack.points.map(count), own.points.map(count));
  hold(`${where}: functions`, pack.functions.map(part), own.functions.map(part));
}

/** Rules and what they lead to, in an order that does not depend on who listed them. */
const rules = (reasons) => reasons.map(({ rule, effect }) => `${rule} ${effect}`).sort();

/** For each series the first one that it shares a number with, and that number: who is with whom, whatever the groups are called. */
function sharedOf(plan, groupOf) {
  const first = new Map();
  return plan.map(({ shared }, at) => {
    if (!shared) return null;
    if (!first.has(groupOf(shared))) first.set(groupOf(shared), at);
    return [first.get(groupOf(shared)), shared.count];
  });
}

const planRow = (one) => [one.point, one.application, one.polarity, plain(one.voltage_kv), one.mode, one.count, plain(one.interval_s)];
