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
      contact_kv: several(level.contact_kv),
      air_kv: several(level.air_kv),
      indirect_kv: several(level.indirect_kv),
    })),
    counts: file.counts ?? [],
    general: { discharges: file.rules.discharges, counts_per: file.rules.counts_per, interval_s: file.rules.interval_s },
    totals: (file.totals ?? []).map((total) => ({ of: total.of, least: total.least, appliesTo: total.applies_to.value })),
    networks: (file.networks ?? []).map(({ pf, ohm }) => ({ pf, ohm })),
    setupLimits: (file.setup_limits ?? []).map((limit) => ({
      kind: limit.kind,
      unit: limit.unit,
      least: limit.least?.value ?? null,
      most: limit.most?.value ?? null,
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

/** One voltage or a list of them, as a list; null where there is none. */
function several(given) {
  return given ? [given.value].flat() : null;
}

/** Number, what it belongs to, and least interval for a kind of discharge, each as given; own rules before the general ones. */
export function countingOf(standard, application) {
  const own = standard.counts.find((rule) => rule.applies_to.value.includes(application)) ?? {};
  return { ...standard.general, ...Object.fromEntries(Object.entries(own).filter(([key]) => key in standard.general)) };
}

function part(file, name) {
  if (typeof file[name] !== "object") throw new Error(`the standard's file has no [${name}]`);
  return file[name];
}

/** `{ key: { value, clause, ... } }` as `{ key: value }`. */
function values(section) {
  return Object.fromEntries(Object.entries(section).map(([key, given]) => [key, given.value]));
}
