// Decimal numbers compared exactly: whole numbers of any length and a count of decimal places, no rounding anywhere.

const FORM = /^([+-]?)(\d*)(?:\.(\d*))?(?:[eE]([+-]?\d+))?$/;

/** Reads the digits of a text or number; throws where they are no decimal number. */
function parts(value) {
  const found = FORM.exec(String(value).trim());
  if (!found || (found[2] === "" && !found[3])) throw new Error(`${value} is not a decimal number`);
  const places = (found[3] ?? "").length - Number(found[4] ?? 0);
  if (Math.abs(places) > 400) throw new Error(`${value} has too many places`);
  const digits = BigInt(found[2] + (found[3] ?? ""));
  return { digits: found[1] === "-" ? -digits : digits, places };
}

/** Negative, zero or positive as `a` is less than, equal to or greater than `b`. */
export function compare(a, b) {
  const left = parts(a);
  const right = parts(b);
  const places = Math.max(left.places, right.places);
  const difference = scaled(left, places) - scaled(right, places);
  return difference < 0n ? -1 : difference > 0n ? 1 : 0;
}

function scaled({ digits, places }, wanted) {
  return digits * 10n ** BigInt(wanted - places);
}

/** One form for all ways to write a number: `8.00` and `8` are the same text. */
export function plain(value) {
  let { digits, places } = parts(value);
  while (places > 0 && digits % 10n === 0n) {
    digits /= 10n;
    places -= 1;
  }
  return places <= 0 ? String(digits * 10n ** BigInt(-places)) : `${digits}e-${places}`;
}

export const equal = (a, b) => compare(a, b) === 0;

/** Whether a value lies between two ends; an end that is absent is open, a value equal to an end is inside. */
export function within(value, least, most) {
  return (least == null || compare(value, least) >= 0) && (most == null || compare(value, most) <= 0);
}

/** The numbers rising, equal ones once. */
export function rising(list) {
  return [...list].sort(compare).filter((value, at, all) => at === 0 || !equal(value, all[at - 1]));
}
