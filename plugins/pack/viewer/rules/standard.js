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
      contact_kv: several(level.contact_kv?.value),
      air_kv: several(level.air_kv?.value),
      indirect_kv: several(level.indirect_kv?.value),
    })),
    // Counts that differ by kind of discharge, and constraints over the whole job.
    counts: (file.counts ?? []).map((count) => ({ appliesTo: count.applies_to.value, ...values(count) })),
    totals: (file.totals ?? []).map(({ applies_to, of, least }) => ({ appliesTo: applies_to.value, of, least: least.value })),
    networks: (file.networks ?? []).map(({ pf, ohm }) => ({ pf, ohm })),
    setupLimits: (file.setup_limits ?? []).map((limit) => ({
      kind: limit.kind,
      unit: limit.unit,
      least: limit.least?.value,
      most: limit.most?.value,
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

/** One voltage or a list of them as a list; null where there is none. */
const several = (value) => (value == null ? null : [value].flat());

/** The numbers that hold for a kind of discharge: how many, for each what, and how far apart. */
export function counting(standard, application) {
  const own = standard.counts.find(({ appliesTo }) => appliesTo.includes(application)) ?? {};
  const { discharges, counts_per, interval_s } = { ...standard.rules, ...own };
  return { discharges, counts_per, interval_s };
}

/** `{ key: { value, clause, ... } }` as `{ key: value }`. */
function values(section) {
  return Object.fromEntries(Object.entries(section).map(([key, given]) => [key, given.value]));
}
