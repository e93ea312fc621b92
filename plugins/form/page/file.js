// The saved form: one JSON file, an entry of the journal a line, so that a place in it is a row.

/// The version of the form's file.
export const FORM = 1;

/// The text of the file. `photos` maps a file name to base64 text.
export function fileText(ground, journal, photos) {
  const line = (value) => JSON.stringify(value);
  const rows = journal.map((entry) => "  " + line(entry)).join(",\n");
  const pictures = Object.keys(photos).sort().map((name) => `  ${line(name)}: ${line(photos[name])}`).join(",\n");
  return "{\n" +
    `"form": ${FORM},\n` +
    `"id": ${line(ground.id)},\n` +
    `"program": ${line(ground.program)},\n` +
    `"standard": ${line(ground.standard)},\n` +
    `"plan": [\n${ground.plan.map((p) => "  " + line(p)).join(",\n")}\n],\n` +
    `"facts": ${line(ground.facts)},\n` +
    `"journal": [\n${rows}\n],\n` +
    `"photos": {\n${pictures}\n}\n}\n`;
}

/// What a saved file says: `{ journal, photos }`, or `{ problem }` in words for the person at the bench.
export function readFile(ground, text) {
  let file;
  try {
    file = JSON.parse(text);
  } catch {
    return { problem: "This is not a saved form: the file is not JSON, or it was cut off." };
  }
  if (!file || typeof file !== "object" || !Array.isArray(file.journal)) return { problem: "This file is not a saved form." };
  if (file.form !== FORM) return { problem: `The file is of version ${file.form}; this form reads version ${FORM}.` };
  if (file.id !== ground.id) return { problem: "The file was saved from another form (another job, or another plan)." };
  const sound = file.journal.every((entry, index) => entry && entry.n === index + 1 && typeof entry.kind === "string" && typeof entry.at === "string");
  if (!sound) return { problem: "An entry of the file is missing or out of order; nothing was loaded." };
  return { journal: file.journal, photos: file.photos || {} };
}

/// How a loaded journal goes on from the one that is here: the entries to add, or a problem in words.
export function continuation(here, loaded) {
  const common = Math.min(here.length, loaded.length);
  for (let i = 0; i < common; i += 1) {
    if (JSON.stringify(here[i]) !== JSON.stringify(loaded[i])) {
      return { problem: "Another record of this form is already here, and the two differ. Save this one too; the program merges both files." };
    }
  }
  return { add: loaded.slice(here.length) };
}

/// The name under which a form is saved: the item, and when.
export function fileName(ground, at) {
  const item = [ground.facts.item?.type_designation, ground.facts.item?.serial].filter(Boolean).join("-") || "form";
  const safe = item.replace(/[^A-Za-z0-9._-]+/g, "-");
  return `${safe}.${at.slice(0, 19).replace(/[:T]/g, "-")}.form.json`;
}
