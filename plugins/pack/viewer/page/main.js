// Takes a zip that was chosen or dropped, has it examined, and shows what came out.
import { examine } from "../pack/pack.js";
import { Refusal } from "../pack/refusal.js";
import { assessmentSections } from "./assessment_view.js";
import { checkList, differenceList, notChecked } from "./checks.js";
import { documentTable } from "./documents.js";
import { el, section } from "./elements.js";
import { headline, outsideProof } from "./headline.js";

const [input, drop, status, bar, result] = ["file", "drop", "status", "progress", "result"].map((id) => document.getElementById(id));
let latest = 0;

async function take(file) {
  latest += 1;
  const mine = latest;
  result.replaceChildren();
  status.textContent = `Checking ${file.name} \u2026`;
  bar.hidden = false;
  bar.removeAttribute("value");
  const progress = (done, all) => {
    if (mine !== latest) return;
    bar.max = Math.max(all, 1);
    bar.value = done;
  };
  try {
    const pack = await examine(file, progress);
    if (mine === latest) show(pack, file);
  } catch (error) {
    if (mine === latest) showRefusal(file, error);
  }
  if (mine === latest) bar.hidden = true;
}

function show(pack, file) {
  result.replaceChildren(
    headline(pack, file.name),
    section("Proof from outside", ...outsideProof(pack)),
    section("What was checked", checkList(pack), differenceSection(pack)),
    section("What was not checked", notChecked(pack)),
    ...conclusions(pack),
    section("Documents", el("p", { class: "soft" }, "Pages of the pack open with their scripts switched off."), documentTable(pack, file)),
  );
  status.textContent = `${file.name}: checked.`;
  document.getElementById("headline").focus();
}

/** A pack can hold anything under the names of record and assessment; what has another form is said to have it. */
function conclusions(pack) {
  try {
    return assessmentSections(pack).filter(Boolean);
  } catch {
    return [section("Verdict and results", el("p", null, "Record or assessment are not of the form that a pack has; they can't be shown."))];
  }
}

function differenceSection(pack) {
  const found = differenceList(pack);
  return found ? el("div", null, el("h3", null, "Where the verdict does not follow from the record"), found) : null;
}

function showRefusal(file, error) {
  const reason = error instanceof Refusal ? error.message : `This page broke on it (${error.name}: ${error.message}); that says nothing about the pack.`;
  result.replaceChildren(
    el(
      "section",
      { class: "headline bad", "aria-labelledby": "headline" },
      el("h2", { id: "headline", tabindex: "-1" }, "This file was not taken for a pack"),
      el("p", null, `${file.name}: ${reason}`),
      el("p", null, "Nothing of it was opened. Ask whoever sent it for the pack again, or check what you have with READ-ME-FIRST.txt from inside it."),
    ),
  );
  status.textContent = `${file.name}: refused.`;
  document.getElementById("headline").focus();
}

input.addEventListener("change", () => {
  if (input.files.length) take(input.files[0]);
});
for (const kind of ["dragenter", "dragover"]) {
  document.addEventListener(kind, (event) => {
    event.preventDefault();
    drop.classList.add("over");
  });
}
document.addEventListener("dragleave", () => drop.classList.remove("over"));
document.addEventListener("drop", (event) => {
  event.preventDefault();
  drop.classList.remove("over");
  const file = event.dataTransfer.files[0];
  if (file) take(file);
});
