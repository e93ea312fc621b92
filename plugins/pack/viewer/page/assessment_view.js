// What the pack says was concluded: reasons, results, evidence, observations, state by state.
import { list, placeOf } from "../rules/facts.js";
import { el, section, table, word } from "./elements.js";

export function assessmentSections({ assessment, record }) {
  if (!assessment || !record) return [];
  return [
    ...assessment.states.map((state, at) => stateSection(state, assessment, at === 0)),
    observationSection(assessment, record),
    judgementSection(record),
    findingSection(assessment, record),
  ];
}

const stateName = (state) => (state.state === null ? "" : ` in state ${state.state}`);

function stateSection(state, assessment, isHeadline) {
  const title = `${isHeadline ? "Verdict and results" : "Beside it: results"}${stateName(state)}`;
  const due = state.coverage.map((row) => [assessment.plan[row.required], row]);
  const own = isHeadline ? (...parts) => section(title, ...parts) : (...parts) => section(title, el("details", null, el("summary", null, "Show this state"), ...parts.flat().filter(Boolean)));
  return own(
    el("p", null, word(state.verdict), state.failure_observed ? " A failure was observed, at a severity that is not known." : ""),
    el("h3", null, "Reasons"),
    el(
      "ul",
      { class: "plain" },
      state.reasons.map(({ effect, text, rule }) => el("li", null, word(effect), ` ${text} `, el("span", { class: "soft code" }, rule))),
    ),
    state.settle.length
      ? [
          el("h3", null, "What would settle it"),
          el("ul", null, state.settle.map(({ what, minutes }) => el("li", null, what, minutes === null ? "" : ` (${minutes} min at the bench)`))),
        ]
      : null,
    el("h3", null, "Required series"),
    table(
      `Discharges applied against those required${stateName(state)}`,
      ["Series", "#Required", "#Applied", "#Sparks", "Coverage", "Worst class", "Verdict"],
      due.map(([required, row]) => [row.label, String(required.count), String(row.counted), row.sparks === null ? "" : String(row.sparks), word(row.state), row.worst ?? "not known", word(row.verdict)]),
    ),
    state.uncounted.length
      ? table(`Series that count towards nothing${stateName(state)}`, ["Series", "Why"], state.uncounted.map(({ series, why }) => [series, why]))
      : null,
    el("h3", null, "Evidence"),
    table(
      `What a valid result needs${stateName(state)}`,
      ["What", "State", "Required", "In words"],
      state.evidence.map((item) => [item.kind, word(item.state), item.required ? "yes" : "no", item.text]),
    ),
    state.points.length ? table(`By point${stateName(state)}`, ["Point", "#Series", "#Complete", "Worst class", "Verdict"], state.points.map(partRow)) : null,
    state.functions.length
      ? table(`By function${stateName(state)}`, ["Function", "Worst class", "Verdict"], state.functions.map((one) => [one.name, one.worst ?? "none seen", word(one.verdict)]))
      : null,
  );
}

const partRow = (one) => [one.name, String(one.required), String(one.complete), one.worst ?? "not known", word(one.verdict)];

function observationSection(assessment, record) {
  const facts = new Map(list(record.observations).map((one) => [one.id, one]));
  if (assessment.observations.length === 0) return section("Observations", el("p", null, "The record holds no observation."));
  const rows = assessment.observations.map((one) => {
    const seen = facts.get(one.observation) ?? {};
    return [placeOf(record, seen.origin), seen.seen ?? "not described", seen.function ?? "not named", one.class ?? "not determinable", one.accepted.join(", "), one.verdict === null ? "no effect" : word(one.verdict)];
  });
  return section(
    "Observations",
    table("What the item did, its class, and the outcomes that were accepted", ["Where", "Seen", "Function", "Class", "Accepted", "Effect"], rows),
  );
}

/** A person's judgement stands beside the computed verdict, never in its place. */
function judgementSection(record) {
  const { judgements, opinions, rulings } = record.facts ?? {};
  const lines = [
    ...list(judgements).map((one) => `${one.by} on ${one.concerns}: ${one.verdict ?? "no verdict"}, since ${one.why}`),
    ...list(rulings).map((one) => `${one.by} on ${one.file}:${one.row}: ${one.ruling}`),
    ...list(opinions).map((one) => `${one.by} (opinion): ${one.text}`),
  ];
  if (lines.length === 0) return null;
  return section("Judgements of persons", el("p", { class: "soft" }, "Shown beside the computed verdict; they don't change it."), el("ul", null, lines.map((line) => el("li", null, line))));
}

function findingSection(assessment, record) {
  const findings = [...list(record.findings), ...list(assessment.findings)];
  const unread = list(record.unread);
  if (findings.length + unread.length === 0) return section("Findings", el("p", null, "None."));
  const place = (one) => (one ? [one.file, one.row, one.column].filter((part) => part != null).join(":") : "");
  return section(
    "Findings",
    findings.length
      ? table("What the readers and the check of the record noted", ["Weight", "Where", "What", "What to do"], findings.map((one) => [one.severity, place(one.place), one.message, list(one.help).join("; ")]))
      : null,
    unread.length
      ? table("Rows that could not be read", ["Where", "Row as it stands", "Why"], unread.map((one) => [`${list(record.sources)[one.source]?.name ?? "?"}:${one.row}`, one.text, one.why]))
      : null,
  );
}
