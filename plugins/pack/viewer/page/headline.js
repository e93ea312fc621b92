// The first thing a reader sees: may this pack be relied on, and what does it say?
import { fingerprintOf } from "../pack/signature.js";
import { code, el, terms, toneOf, word } from "./elements.js";

export function headline(pack, name) {
  const verdict = pack.assessment?.verdict ?? null;
  const trusted = pack.intact && pack.again.state !== "differs";
  const altered = !pack.intact || pack.again.state === "differs";
  const partly = pack.checks.some(({ state }) => state === "not-checked");
  const foreign = partly ? "A bag of another maker, checked in part" : "A bag of another maker, in order as a bag";
  // What was not looked at speaks neither for nor against the pack.
  const looked = pack.unread.length === 0;
  const none = "The pack states no verdict";
  const stated = !["pass", "fail", "undetermined"].includes(verdict) ? none : looked ? `Verdict: ${verdict}` : `Checked in part; the pack says: ${verdict}`;
  const title = altered ? "This pack was altered or is not whole" : pack.version === null ? foreign : stated;
  const facts = pack.record?.facts ?? {};
  const tone = altered ? "bad" : looked ? toneOf(verdict) : "open";
  return el(
    "section",
    { class: `headline ${tone}`, "aria-labelledby": "headline" },
    el("h2", { id: "headline", tabindex: "-1" }, title),
    facts.invented ? el("p", { class: "notice" }, facts.invented) : null,
    altered && verdict ? el("p", null, `The pack says \u201c${verdict}\u201d. Don't rely on it before what stands below is cleared up.`) : null,
    trusted && verdict ? el("p", null, statement(pack)) : null,
    looked ? null : el("p", null, `Too long for this page, and not checked: ${pack.unread.join(", ")}. The program's own verify, or sha256sum as READ-ME-FIRST.txt says, checks files of any length.`),
    terms([
      ["File", name],
      ["Report", reportName(facts.report)],
      ["Laboratory", facts.laboratory?.name],
      ["Item", [facts.item?.name, facts.item?.type_designation, facts.item?.serial && `serial ${facts.item.serial}`].filter(Boolean).join(", ")],
      ["Method", pack.assessment?.standard?.name ?? facts.method?.standard],
    ]),
    el("ul", { class: "answers" }, answers(pack)),
  );
}

function reportName(report) {
  if (!report?.number) return null;
  const revision = report.revision ? `, revision ${report.revision}` : "";
  return `${report.number}${revision}${report.state === "draft" ? " (draft)" : ""}${report.amends ? `, amends ${report.amends}` : ""}`;
}

function statement({ assessment }) {
  const state = assessment.states[0];
  const which = state?.state ? ` in state ${state.state}` : "";
  const texts = {
    pass: `The requirement is met${which}, for the stated item, modes, points and levels only.`,
    fail: `The requirement is not met${which}.`,
    undetermined: state?.failure_observed
      ? `A failure was observed${which}, and neither conformity nor nonconformity can be stated.`
      : `Neither conformity nor nonconformity can be stated${which}.`,
  };
  const missing = assessment.missing_identity?.length ? ` Not stated: ${assessment.missing_identity.join(", ")}; this is bench data and no test report.` : "";
  return `${texts[assessment.verdict] ?? ""}${missing}`;
}

function answers(pack) {
  const failed = pack.checks.flatMap(({ problems }) => problems);
  const paths = [...new Set(failed.map(({ path }) => path))];
  const named = paths.slice(0, 5).join(", ") + (paths.length > 5 ? ` and ${paths.length - 5} more` : "");
  const whole = pack.unread.length ? ["not-checked", `${pack.unread.length} file(s) are too long for this page; every other one is the one that the checksums were taken of.`] : ["ok", "Every file is the one that the checksums were taken of; none is missing, none was added."];
  const files = failed.length ? ["failed", `${paths.length} file(s) concerned: ${named}.`] : whole;
  return [
    answer("Files", files),
    answer("Zip", [pack.seal.state === "broken" ? "failed" : pack.seal.state === "ok" ? "ok" : "not-checked", pack.seal.text]),
    answer("Verdict", verdictAnswer(pack.again)),
    answer("Signature", signatureAnswer(pack.signatures)),
  ];
}

function answer(what, [state, text]) {
  return el("li", null, el("span", { class: "what" }, what), el("span", null, word(state), " ", text));
}

function verdictAnswer(again) {
  if (again.state === "agrees") return ["ok", "Derived again from record and standard by this page's own rules: the same verdict, coverage, evidence and reasons."];
  if (again.state === "differs") return ["failed", `Derived again, it comes out otherwise in ${again.differences.length} place(s): it does not follow from the record.`];
  return ["not-checked", again.text];
}

function signatureAnswer(signatures) {
  if (signatures.length === 0) return ["not-checked", "The pack is not signed. Checksums prove integrity only, not who made it: whoever alters a file can compute new ones."];
  const worst = ["failed", "not-checked", "ok"].find((state) => signatures.some((one) => one.state === state));
  const list = signatures.map(({ path, text, as }) => `${path}${as ? ` (${as})` : ""} ${text}`).join("; ");
  return [worst, `${list}. A good signature shows which key signed; whose key that is, only the laboratory can tell you.`];
}

/** Compares what the laboratory gave by another way with what the pack shows. */
export function outsideProof(pack) {
  const answerLine = el("p", { role: "status", "aria-live": "polite" });
  const input = el("input", { type: "text", id: "known", autocomplete: "off", spellcheck: "false" });
  input.addEventListener("input", async () => answerLine.replaceChildren(...(await held(input.value.trim(), pack))));
  return [
    terms([
      ["Identity of this pack", pack.identity ? code(pack.identity) : "can't be told: tagmanifest-sha256.txt is missing"],
      ...pack.signatures.filter(({ fingerprint }) => fingerprint).map(({ path, fingerprint }) => [path, code(fingerprint)]),
    ]),
    el("p", null, "Compare the identity, or the fingerprint of the key, with what the laboratory gave you by another way than this pack: on signed paper, on its web site, by telephone."),
    el("p", null, el("label", { for: "known" }, "Identity, fingerprint or public key from the laboratory")),
    input,
    answerLine,
  ];
}

async function held(text, { identity, signatures }) {
  if (text === "") return [];
  const fingerprint = await fingerprintOf(text).catch(() => null);
  const given = (fingerprint ?? text).replace(/\s/g, "");
  if (given.toLowerCase() === identity) return [word("ok"), " This is the pack with that identity, file for file."];
  const signed = signatures.find((one) => one.fingerprint === given);
  if (signed?.state === "ok") return [word("ok"), ` ${signed.path} was made with that key over this pack.`];
  if (signed) return [word(signed.state), ` ${signed.path} names that key and ${signed.text}.`];
  return [word("failed"), " Neither the identity of this pack nor a key that signed it."];
}
