// The verdict on one modification state of the item, by the table of rules, with every reason that applies.
import { coverageOf, sumOf } from "./coverage.js";
import { evidenceOf, severityIsKnown, tipIsKnown } from "./evidence.js";
import { isNotApplicable, list, placeOf, readOrigin, worse } from "./facts.js";
import { judgeObservations } from "./observed.js";

const WEIGHT = { pass: 0, undetermined: 1, fail: 2 };

/** Fail beats undetermined, undetermined beats pass; what has no effect counts for nothing. */
export function strongest(verdicts) {
  return verdicts.reduce((top, one) => (one && WEIGHT[one] > WEIGHT[top] ? one : top), "pass");
}

/** `job` holds record, standard, required series and problems of the plan; `isFirst`: the state as received. */
export function judgeState(job, state, isFirst) {
  const { record, standard, required } = job;
  const series = list(record.series).filter((one) => (one.state ?? null) === state);
  const { rows, uncounted } = coverageOf(required, series, standard);
  const evidence = evidenceOf(record, standard, series, job.waveforms);
  const severityKnown = (one) => severityIsKnown(evidence, record, standard, one);
  const observed = judgeObservations({ ...job, series, severityKnown });

  const fromObservations = observed.map(({ rule, verdict, text, source }) => ({
    rule,
    effect: verdict,
    text: `${placeOf(record, source.origin)} "${source.seen ?? "not described"}": ${text}`,
  }));
  const others = [
    ...unreadRows(record, series),
    ...job.planProblems.map(({ rule, text }) => ({ rule, effect: "undetermined", text })),
    ...shortfall(record, required, rows, state, isFirst),
    ...totals(standard, required, rows),
    ...watching(record, standard, required, rows),
    ...intervals(required, rows),
    ...evidenceReasons(evidence),
    ...list(record.facts.method?.deviations).map(({ what, reason }) => ({
      rule: "deviation",
      effect: null,
      text: `deviation: ${what} (${reason ?? "reason not stated"})`,
    })),
  ];
  const reasons = [...fromObservations, ...others];
  const verdict = strongest(reasons.map(({ effect }) => effect));
  if (verdict === "pass") {
    reasons.push({ rule: "meets-plan", effect: "pass", text: "every required series is complete and within the demand" });
  }
  reasons.sort((a, b) => (WEIGHT[b.effect] ?? -1) - (WEIGHT[a.effect] ?? -1));

  for (const row of rows) completeRow(job, row, observed, evidence);
  return {
    state,
    verdict,
    failureObserved: verdict === "undetermined" && reasons.some(({ rule }) => rule === "failure-at-unknown-severity"),
    reasons,
    rows,
    uncounted,
    evidence,
    observed,
    points: points(required, rows, observed),
    functions: functions(record, observed, strongest(others.map(({ effect }) => effect))),
  };
}

/** Rows that nobody could read, of the logs that may hold this state. A named person's ruling settles a row. */
export function unreadRows(record, series) {
  const sources = (those) => new Set(those.map(({ origin }) => readOrigin(origin).source));
  const own = sources(series);
  const all = sources(list(record.series));
  return list(record.unread)
    .filter(({ source }) => own.has(source) || !all.has(source))
    .map(({ source, row, why }) => {
      const file = list(record.sources)[source]?.name ?? "?";
      const ruling = list(record.facts.rulings).find((one) => one.file === file && one.row === row);
      return ruling
        ? { rule: "row-ruled", effect: null, text: `${file}:${row}: ${ruling.by} ruled: ${ruling.ruling}` }
        : { rule: "row-unread", effect: "undetermined", text: `${file}:${row} could not be read: ${why}` };
    });
}

/** A later state in which only part of the plan was run needs all of it, or a named person's justification. */
function shortfall(record, required, rows, state, isFirst) {
  const missing = rows.filter((row) => row.state === "missing").length;
  const inPart = !isFirst && missing > 0 && missing < rows.length;
  const reasons = [];
  if (inPart) {
    const text = `${rows.length - missing} of ${rows.length} required series were run in this state`;
    const given = list(record.facts.partial_plan_justifications).find((one) => one.state === state);
    reasons.push(
      given
        ? { rule: "plan-in-part-justified", effect: null, text: `${text}; ${given.by}: ${given.why}` }
        : { rule: "plan-in-part", effect: "undetermined", text },
    );
  }
  for (const row of rows.filter((one) => !one.complete && !(inPart && one.state === "missing"))) {
    const text = `${label(required[row.required])}: ${row.counted} of ${required[row.required].count} discharges`;
    reasons.push({ rule: "series-short", effect: "undetermined", text });
  }
  return reasons;
}

/** Least numbers over the whole job, of those kinds of discharge that the plan has at all. */
function totals(standard, required, rows) {
  const reasons = [];
  for (const { of, least, appliesTo } of standard.totals.filter((total) => total.of !== "points")) {
    for (const polarity of of === "polarity" ? ["positive", "negative"] : [null]) {
      const own = rows.map((row) => [required[row.required], row]).filter(([one]) => appliesTo.includes(one.application) && (polarity === null || one.polarity === polarity));
      const sum = sumOf(own.map(([, row]) => row));
      if (own.length === 0 || sum >= least.value) continue;
      const text = `${sum} ${polarity ?? ""} discharges over the whole job, at least ${least.value} are required`;
      reasons.push({ rule: "total-short", effect: "undetermined", text });
    }
  }
  return reasons;
}

/** Somebody says so, or the log has a result beside each discharge. */
const saysWatched = ({ monitoring }) => monitoring === "continuous" || monitoring === "result-each";

/** What nobody watched can't be classified. */
const isWatched = (series) => saysWatched(series) || isNotApplicable(series.monitoring);

function watching(record, standard, required, rows) {
  if (!standard.evidence.monitoring) return [];
  const unwatched = rows.flatMap((row) =>
    row.series
      .filter((series) => !isWatched(series))
      .map((series) => ({
        rule: "series-not-watched",
        effect: "undetermined",
        text: `${label(required[row.required])}: ${series.monitoring === "interrupted" ? "not watched all the time" : "not stated whether it was watched"}`,
      })),
  );
  const byResults = rows.flatMap(({ series }) => series).filter(({ monitoring }) => monitoring === "result-each");
  const files = new Set(byResults.map(({ origin }) => readOrigin(origin).source));
  const noted = [...files].map((source) => ({
    rule: "watched-by-results",
    effect: null,
    text: `${list(record.sources)[source]?.name ?? "?"}: a result stands beside each discharge; it is taken as the statement that the item was watched`,
  }));
  return [...unwatched, ...noted];
}

function intervals(required, rows) {
  return rows.flatMap((row) =>
    row.series
      .filter((series) => series.interval_s == null)
      .map(() => ({
        rule: "interval-not-stated",
        effect: "undetermined",
        text: `${label(required[row.required])}: the time between discharges is not stated`,
      })),
  );
}

function evidenceReasons(evidence) {
  const rules = { violated: "evidence-violated", "not-stated": "evidence-not-stated" };
  return evidence
    .filter(({ state }) => rules[state])
    .map(({ kind, required, state, text }) => ({
      rule: rules[state],
      effect: required ? "undetermined" : null,
      text: `${kind}: ${text}`,
      kind,
    }));
}

/** What was seen in a required series, and what can be said about it by itself. */
function completeRow({ record, standard, required }, row, observed, evidence) {
  const ids = new Set(row.series.map(({ id }) => id));
  const own = observed.filter(({ source }) => ids.has(source.series));
  const { application } = required[row.required];
  row.observations = own.map(({ observation }) => observation);
  row.worst = own.reduce((worst, one) => worse(worst, one.class), null);
  if (own.length === 0 && row.series.length > 0 && row.series.every(saysWatched)) row.worst = "a";

  const climateBinds = standard.climate.some(({ appliesTo }) => appliesTo.includes(application));
  const shown = evidence
    .filter(({ kind, required: needed }) => needed && kind !== "tip" && (kind !== "climate" || climateBinds))
    .every(({ state }) => state === "shown" || state === "not-needed");
  const sound = row.series.every(
    (series) =>
      series.interval_s != null &&
      (!standard.evidence.monitoring || isWatched(series)) &&
      tipIsKnown(record, standard, series),
  );
  const base = row.complete && shown && sound ? "pass" : "undetermined";
  row.verdict = strongest([base, ...own.map(({ verdict }) => verdict)]);
}

/** A point is as good as its required series, and as what was seen at it in any series. */
function points(required, rows, observed) {
  const names = [...new Set(required.map(({ point }) => point))];
  return names.map((name) => {
    const own = rows.filter((row) => required[row.required].point === name);
    const seen = observed.filter(({ point }) => point === name);
    return {
      name,
      verdict: strongest([...own, ...seen].map(({ verdict }) => verdict)),
      worst: own.reduce((worst, row) => worse(worst, row.worst), null),
      required: own.length,
      complete: own.filter(({ complete }) => complete).length,
    };
  });
}

/** A function of which nothing was seen is as good as coverage and evidence allow. */
function functions(record, observed, base) {
  return list(record.facts.functions).map(({ id }) => {
    const own = observed.filter(({ source }) => source.function == null || source.function === id);
    return {
      name: id,
      verdict: strongest([base, ...own.map(({ verdict }) => verdict)]),
      worst: own.reduce((worst, one) => worse(worst, one.class), null),
    };
  });
}

/** A required series in words: `P1 contact +8 kV`. */
export function label({ point, application, polarity, voltage_kv, mode }) {
  const sign = polarity === "positive" ? "+" : "\u2212";
  return `${point} ${application} ${sign}${voltage_kv} kV${mode === null ? "" : ` in mode ${mode}`}`;
}
