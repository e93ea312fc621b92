// A standard's data, read from its TOML file: values only. Clause, source and status stay in the file for the reader.
import smolToml from "../vendor/smol-toml/smol-toml.cjs";

/** Reads a standard's file; throws where it is not TOML or lacks what the rules need. */
export function readStandard(text) {
  const file = smolToml.parse(text);
  const rules = values(part(file, "rules"));
  const evidence = values(part(file, "evidence"));
  return {
    id: file.id,
    name: `${file.designation} ${file.edition}`,
    outcomes: (file.outcomes ?? []).map(({ name, classes, needs }) => ({ name: name.trim(), classes, needs })),
    levels: (file.levels ?? []).map((level) => ({
      name: level.name.trim(),
      contact_kv: level.contact_kv?.value ?? null,
      air_kv: level.air_kv?.value ?? null,
    })),
    climate: (file.climate ?? []).map((limit) => ({
      appliesTo: limit.applies_to.value,
      temperature_c: limit.temperature_c,
      humidity_percent: limit.humidity_percent,
      pressure_hpa: limit.pressure_hpa,
    })),
    rules,
    evidence,
  };
}

function part(file, name) {
  if (typeof file[name] !== "object") throw new Error(`the standard's file has no [${name}]`);
  return file[name];
}

/** `{ key: { value, clause, ... } }` as `{ key: value }`. */
function values(section) {
  return Object.fromEntries(Object.entries(section).map(([key, given]) => [key, given.value]));
}
