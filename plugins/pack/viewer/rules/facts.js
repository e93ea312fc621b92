// What a fact in record.json can be: stated, declared not applicable, or absent. Absent stays absent.

export const isStated = (fact) => fact != null && !isNotApplicable(fact);

export const isNotApplicable = (fact) => fact != null && typeof fact === "object" && "not_applicable" in fact;

/** The list under a key; the record leaves empty lists out. */
export const list = (value) => value ?? [];

/** Day of a written time, on the clock of the place where it was written. */
export const dayOf = (moment) => moment.trim().slice(0, 10);

/** Time of day and date on that clock, without the offset, so that two of them compare as texts. */
export function localTime(moment) {
  const [, day, minutes, seconds, fraction] =
    /^(\S{10})[T ](\d\d:\d\d)(?::(\d\d)(?:\.(\d+))?)?/.exec(moment.trim()) ?? [null, dayOf(moment), "00:00"];
  return `${day}T${minutes}:${seconds ?? "00"}.${(fraction ?? "").padEnd(9, "0")}`;
}

/** File, first row and column of an origin such as `2:14:3`. */
export function readOrigin(text) {
  const [source, rows, column] = text.split(":");
  const first = rows ? rows.split("-")[0] : null;
  return { source: Number(source), row: first === null ? null : Number(first), column: column ? Number(column) : null };
}

/** An origin in words a reader knows: `logs/contact.csv:14:3`. */
export function placeOf(record, origin) {
  if (origin == null) return "";
  const { source, row, column } = readOrigin(origin);
  const file = list(record.sources)[source]?.name ?? "?";
  return [file, row, column].filter((part) => part !== null).join(":");
}

/** What was asked for without a further word: `a` before `b`, nothing before anything. */
export function worse(a, b) {
  return (b ?? "") > (a ?? "") ? b : (a ?? null);
}
