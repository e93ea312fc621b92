// The checks of the set-up for a day: those that the standard's data have limits for, and those without a reading.

/// The list for a form: `{ key, kind, what, unit, least, most, nominal, status }`; a check without a unit is a look.
export function checkList(ground) {
  const list = [];
  const item = (key, kind, what, more = {}) => list.push({ ...more, key, kind, what });
  const bleeder = ground.limits.setup.find((l) => l.kind === "bleeder");
  if (bleeder) {
    // Both cables are measured end to end: an open resistor is a fault that nobody sees.
    for (const plane of ["horizontal", "vertical"]) {
      if (plane === "vertical" && !ground.plan.some((p) => p.application === "vcp")) continue;
      item(`bleeder-${plane}`, "bleeder", `bleeder cable of the ${plane} plane, end to end`, bleeder);
    }
  }
  item("strap", "strap", "return cable connected, its course clear of metal and of the item");
  item("voltage", "voltage", "the generator shows the voltage that was set");
  let n = 0;
  for (const limit of ground.limits.setup) {
    if (limit.kind === "bleeder") continue;
    if (limit.kind === "insulation" && ground.facts.item?.arrangement === "floor-standing") continue;
    n += 1;
    item(`${limit.kind}-${n}`, limit.kind, limit.what, limit);
  }
  return list.map(({ key, kind, what, unit, least, most, nominal, status }) =>
    ({ key, kind, what, unit: unit ?? null, least: least ?? null, most: most ?? null, nominal: nominal ?? null,
      status: status ?? null }));
}

/// The name under which a check of a day is stated.
export function checkAbout(day, key) {
  return `check/${day}/${key}`;
}

/// The spark check, before and after the shots.
export const SPARK = { kind: "spark", what: "spark to the plane, none to an insulating part" };
