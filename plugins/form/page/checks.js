// The checks of the set-up for a day, as the program lists them for form and sheet alike.

/// The checks before the shots: `{ key, kind, what, unit, least, most, nominal, status }`; one without a unit is a look.
export function checkList(ground) {
  return ground.checks;
}

/// The name under which a check of a day is stated.
export function checkAbout(day, key) {
  return `check/${day}/${key}`;
}

/// The spark check, before the shots or after them.
export function sparkCheck(ground, when) {
  return { key: `spark-${when}`, kind: "spark", what: ground.spark_check };
}
