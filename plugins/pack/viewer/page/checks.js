// What was checked, with every file that is not in order, and what was not.
import { el, word } from "./elements.js";

export function checkList({ checks, signatures }) {
  const lines = [...checks, ...signatures.map(({ path, state, text }) => ({ name: `Signature ${path}`, state, text, problems: [] }))];
  return el(
    "ul",
    { class: "plain" },
    lines.map(({ name, state, text, problems }) =>
      el("li", null, word(state), ` ${name}`, text ? el("span", { class: "soft" }, `: ${text}`) : null, problemList(problems)),
    ),
  );
}

function problemList(problems) {
  if (problems.length === 0) return null;
  return el("ul", { class: "problems" }, problems.map(({ path, what }) => el("li", null, el("strong", null, path), ` ${what}`)));
}

/** Said whatever the result. */
export function notChecked({ signatures, again, unread }) {
  const lines = [
    "Whether the record tells the truth about what happened at the bench.",
    "Whether the rows of the original files were read rightly into the record, and whether the papers say what record and assessment say: the program's own verify does that.",
    "The figures of recorded waveforms, and whether they lie within their limits: that is taken from the pack. Statistics and measurement uncertainty: the verdict never rests on them.",
    "Whether the standard's data in the pack are right. Each value there carries its source and status; some are from memory or second hand.",
    "The words of the reasons: which rule led where is compared, not how it is worded.",
    "Time stamps, and signatures by keys other than Ed25519.",
  ];
  for (const path of unread) lines.unshift(`${path}: it is too long for this page, so neither its length nor its checksums were looked at.`);
  if (signatures.length === 0) lines.push("Who made the pack: it carries no signature.");
  if (again.state === "not-derived") lines.push("Whether the verdict follows from the record: see above.");
  return el("ul", null, lines.map((line) => el("li", null, line)));
}

export function differenceList({ again }) {
  if (again.state !== "differs") return null;
  return el(
    "ul",
    { class: "plain" },
    again.differences.map(({ where, pack, derived }) =>
      el("li", null, el("strong", null, where), el("br"), "pack: ", el("code", null, pack), el("br"), "derived: ", el("code", null, derived)),
    ),
  );
}
