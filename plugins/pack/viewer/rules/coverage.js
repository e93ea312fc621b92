// What was applied in one state of the item, against what is required.
import { compare, equal } from "./decimal.js";

/** One row for each required series, and the series that count towards none, each with the reason. */
export function coverageOf(required, series, standard) {
  const rows = required.map((_, index) => ({ required: index, counted: 0, sparks: null, series: [] }));
  const uncounted = [];
  for (const one of series) {
    const place = placeIn(required, one, standard);
    if (typeof place === "string") {
      uncounted.push({ series: one.id, why: place });
      continue;
    }
    rows[place].counted += countOf(one, standard);
    rows[place].series.push(one);
  }
  for (const row of rows) {
    const { application } = required[row.required];
    row.state = stateOf(row, required, rows);
    row.complete = row.state === "complete" || row.state === "exceeded";
    const sparksSaid = row.series.length > 0 && row.series.every((one) => one.sparks != null);
    if (application === "air" && sparksSaid) row.sparks = row.series.reduce((sum, one) => sum + one.sparks, 0);
  }
  return { rows, uncounted };
}

/** Series that share a number of discharges are complete when they have it together, and none of them is missing. */
function stateOf({ counted, required: index }, required, rows) {
  const { count, shared } = required[index];
  if (counted === 0) return "missing";
  if (counted > count) return "exceeded";
  if (counted === count) return "complete";
  const together = shared ? rows.filter((row) => shared.members.includes(required[row.required])) : [];
  return shared && sumOf(together) >= shared.count ? "complete" : "short";
}

export const sumOf = (rows) => rows.reduce((sum, { counted }) => sum + counted, 0);

/** An air approach without a spark counts where the standard's data say so. */
function countOf(series, standard) {
  const sparksOnly = series.application === "air" && !standard.rules.air_approach_without_spark_counts;
  return sparksOnly ? (series.sparks ?? 0) : series.count;
}

/** Index of the required series that a series counts towards, or why it counts towards none. */
function placeIn(required, series, standard) {
  if (series.kind === "exploratory") return "exploratory";
  if (series.kind === "threshold") return "threshold search";
  if (standard.rules.single_discharges && series.single === false) return "bursts, not single discharges";
  const alike = (one) =>
    one.point === series.point &&
    one.application === series.application &&
    one.polarity === series.polarity &&
    equal(one.voltage_kv, series.voltage_kv);
  if (!required.some(alike)) return "not planned";
  const place = required.findIndex((one) => alike(one) && (one.mode === null || one.mode === (series.mode ?? null)));
  if (place < 0) return series.mode == null ? "the mode is not stated" : `mode ${series.mode} is not planned`;
  const least = required[place].interval_s;
  if (series.interval_s != null && compare(series.interval_s, least) < 0) {
    return `interval ${series.interval_s} s, at least ${least} s is required`;
  }
  return place;
}
