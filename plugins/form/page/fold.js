// From the journal to the state of the day. Pure: the same journal gives the same day, here and in the program.
//
// The journal is the only truth: entries are added, never changed. Taking something back is an entry of its own, a
// correction is a later statement about the same thing, and the earlier value stays in the file.

// Kinds of entries that can be taken back.
const CAN_BE_TAKEN_BACK = ["shot", "done", "happened", "skip", "next", "state", "photo", "note", "outside"];

/// The day: what was stated, the series with what was applied, events, photos, notes.
export function fold(ground, journal) {
  const undone = new Set(journal.filter((e) => e.kind === "undo").map((e) => e.of));
  const day = {
    said: {},          // about -> { values, entries }
    state: firstState(ground.facts),
    states: (ground.facts.states || []).map((s) => ({ ...s })),
    series: new Map(), // key of state and plan id -> series
    events: [],
    photos: [],
    notes: [],
    plan: [...ground.plan], // and what was added to it
    outside: [],
    signed: null,
    saved: 0,
    lastDone: null,
    lastUndoable: null,
    entries: journal.length,
    undone,
  };
  for (const entry of journal) {
    if (!undone.has(entry.n)) take(ground, day, entry);
  }
  day.current = current(day);
  return day;
}

/// The state of the item that the plan wants judged, else the first; null where the job names none.
export function firstState(facts) {
  return facts.plan?.judged_state ?? facts.states?.[0]?.id ?? null;
}

/// The key of a planned series in a state of the item.
export function seriesKey(state, id) {
  return `${state ?? ""}/${id}`;
}

/// A planned series as it stands in the state of the item that is on the bench.
export function seriesOf(day, id) {
  return day.series.get(seriesKey(day.state, id)) || blank(id, day.state);
}

function blank(id, state) {
  return { id, state, status: "open", shots: [], done: null, skip: null, events: [] };
}

function touched(day, id) {
  const key = seriesKey(day.state, id);
  if (!day.series.has(key)) day.series.set(key, blank(id, day.state));
  return day.series.get(key);
}

function take(ground, day, entry) {
  const undoable = CAN_BE_TAKEN_BACK.includes(entry.kind);
  switch (entry.kind) {
    case "said": {
      const about = (day.said[entry.about] ||= { values: {}, entries: [] });
      Object.assign(about.values, entry.values);
      about.entries.push(entry);
      break;
    }
    case "shot":
      touched(day, entry.series).shots.push(entry);
      break;
    case "done": {
      const series = touched(day, entry.series);
      series.status = "done";
      series.done = entry;
      day.lastDone = entry;
      day.chosen = null;
      break;
    }
    case "skip": {
      const series = touched(day, entry.series);
      series.status = "skipped";
      series.skip = entry;
      day.chosen = null;
      break;
    }
    case "next": {
      const series = touched(day, entry.series);
      if (series.status === "skipped") series.status = "open";
      day.chosen = entry.series;
      break;
    }
    case "happened": {
      const event = { id: entry.event, series: entry.series ?? null, state: day.state, shot: entry.shot ?? null,
        at: entry.at, n: entry.n, told: {}, entries: [] };
      day.events.push(event);
      if (entry.series) touched(day, entry.series).events.push(event);
      break;
    }
    case "told": {
      const event = day.events.find((e) => e.id === entry.event);
      if (event) {
        Object.assign(event.told, entry.values);
        event.entries.push(entry);
        if (entry.values.series !== undefined) move(day, event, entry.values.series);
      }
      break;
    }
    case "state":
      day.state = entry.state;
      day.chosen = null;
      if (!day.states.some((s) => s.id === entry.state)) {
        day.states.push({ id: entry.state, description: entry.description, reason: entry.reason });
      }
      break;
    case "outside":
      day.outside.push(entry);
      day.plan.push({ ...entry.planned, id: entry.series, why: entry.why });
      day.chosen = entry.series;
      break;
    case "photo":
      day.photos.push(entry);
      break;
    case "note":
      day.notes.push(entry);
      break;
    case "signed":
      day.signed = entry;
      break;
    case "saved":
      day.saved = entry.n;
      break;
    default: // opened, left, clock, undo: they tell how the record came about
  }
  if (undoable) day.lastUndoable = entry;
}

/// An event that was noticed late belongs to the series before the one that stood on the page.
function move(day, event, id) {
  for (const series of day.series.values()) series.events = series.events.filter((e) => e !== event);
  event.series = id || null;
  const key = seriesKey(event.state, id);
  if (!id) return;
  if (!day.series.has(key)) day.series.set(key, blank(id, event.state));
  day.series.get(key).events.push(event);
}

/// When a statement was made that holds now: a slip that was put right keeps the time of the reading.
export function saidAt(entries) {
  let at = null;
  for (const entry of entries) if (at === null || !SLIPS.includes(entry.why)) at = entry.at;
  return at;
}

/// Reasons of a correction that say that the reading itself was made before.
export const SLIPS = ["wrong touch", "read or typed wrongly"];

/// The series that comes next: the one chosen, else the first of the plan that is open; null at the end.
function current(day) {
  if (day.chosen && seriesOf(day, day.chosen).status === "open") return day.chosen;
  const open = day.plan.find((p) => seriesOf(day, p.id).status === "open");
  return open ? open.id : null;
}

/// Counts for the head of the page.
export function progress(ground, day) {
  let done = 0, skipped = 0;
  for (const planned of ground.plan) {
    const { status } = seriesOf(day, planned.id);
    if (status === "done") done += 1;
    if (status === "skipped") skipped += 1;
  }
  return { done, skipped, all: ground.plan.length };
}

/// What the hands must change from the series before: only this is worth reading from across the bench.
export function changes(before, now) {
  if (!before) return [];
  const found = [];
  if (before.mode !== now.mode && now.mode) found.push("mode of the item");
  if (before.point !== now.point) found.push("point");
  if (before.application !== now.application) found.push("kind of discharge");
  if (before.tip !== now.tip) found.push("tip");
  if (before.voltage_kv !== now.voltage_kv) found.push("voltage");
  if (before.polarity !== now.polarity) found.push("polarity");
  return found;
}
