// Readings against limits, and calibrations against days. Guidance at the bench; the program judges from the record.

/// A number as people type it, with a point or a comma; null where it is none.
export function number(text) {
  const tidy = String(text ?? "").trim().replace(",", ".");
  return /^[+-]?\d+(\.\d+)?$/.test(tidy) ? Number(tidy) : null;
}

/// A number as the record wants it: plain digits with a point. Null where it is no number.
export function plain(text) {
  const tidy = String(text ?? "").trim().replace(",", ".").replace(/^\+/, "");
  return number(tidy) === null ? null : tidy;
}

/// "inside", "outside", or "open" where there is no limit or no number.
export function against(text, least, most) {
  const value = number(text);
  if (value === null || (least == null && most == null)) return "open";
  if (least != null && value < Number(least)) return "outside";
  if (most != null && value > Number(most)) return "outside";
  return "inside";
}

/// The limits in words: `846 to 1034 kohm`.
export function limitWords(least, most, unit) {
  const u = unit ? ` ${unit}` : "";
  if (least != null && most != null) return `${least} to ${most}${u}`;
  if (least != null) return `at least ${least}${u}`;
  if (most != null) return `at most ${most}${u}`;
  return "";
}

/// What a status means to the person who reads the limit; nothing for one that was seen in the text.
export function statusWords(status) {
  return { memory: "from memory", practice: "common practice, no source", "second-hand": "second-hand",
    unknown: "source unknown" }[status] || "";
}

/// A piece of equipment's calibration on a day: `{ state, words }`, state one of good, soon, bad, open.
export function calibration(piece, day) {
  if (piece.in_tolerance === false) return { state: "bad", words: "calibration found it out of tolerance" };
  if (!piece.calibration_due) return { state: "open", words: "end of calibration not stated" };
  if (piece.calibrated_on && day < piece.calibrated_on) {
    return { state: "bad", words: `calibrated ${piece.calibrated_on}, after today` };
  }
  const left = Math.round((Date.parse(piece.calibration_due) - Date.parse(day)) / 86400000);
  if (left < 0) return { state: "bad", words: `calibration ended ${piece.calibration_due}, ${-left} days ago` };
  if (!piece.calibrated_on) return { state: "open", words: `valid to ${piece.calibration_due}; calibration day not stated` };
  if (left <= 30) return { state: "soon", words: `calibration ends ${piece.calibration_due}, in ${left} days` };
  return { state: "good", words: `calibrated ${piece.calibrated_on}, valid to ${piece.calibration_due}` };
}
