// Writes the journal: numbers the entries, gives them their time, stores them, and only then lets the page show them.

import { fold } from "./fold.js";
import { stamp, clockWatch, secondsBetween } from "./moment.js";

/// The journal of a form over a store. `changed` is called after each entry that is stored.
export class Journal {
  constructor(ground, store, changed, clock = { wall: () => Date.now(), steady: () => performance.now() }) {
    this.ground = ground;
    this.store = store;
    this.changed = changed;
    this.clock = clock;
    this.watch = clockWatch(clock.wall, clock.steady);
    this.entries = [];
    this.session = Math.random().toString(36).slice(2, 10);
    this.writing = Promise.resolve();
    this.mayWrite = false;
    this.day = fold(ground, []);
  }

  /// The time now, as it is written.
  now() {
    return stamp(new Date(this.clock.wall()));
  }

  /// Reads what is stored and writes that the form was opened, and after what: a start, a reload, a crash.
  async start(more = {}) {
    // The last word of a window that is just going may still be on its way, and take the number of this entry.
    for (let turn = 1; ; turn += 1) {
      this.entries = await this.store.entries();
      this.mayWrite = true;
      const last = this.entries.at(-1);
      const why = !last ? "first" : last.kind === "left" ? "again" : "after-interruption";
      const gap = last ? { gap_s: Math.round(secondsBetween(last.at, this.now())) } : {};
      try {
        return void await this.add({ kind: "opened", why, ...gap, ...more });
      } catch (error) {
        this.mayWrite = false;
        if (turn === 3 || error.full || !this.store.served) throw error;
      }
    }
  }

  /// Only shows what another window writes.
  async watchOnly() {
    this.entries = await this.store.entries();
    this.mayWrite = false;
    this.refold();
  }

  refold() {
    this.day = fold(this.ground, this.entries);
    this.changed(this.day);
  }

  /// Adds an entry at the time `at` (now, or the moment of the touch). Resolves to the entry once it is stored; entries
  /// are stored one after the other, in the order of the touches.
  add(what, { at = this.now(), photo = null } = {}) {
    const run = this.writing.then(() => this.write(what, at, photo));
    this.writing = run.catch(() => {});
    return run;
  }

  async write(what, at, photo) {
    if (!this.mayWrite) throw new Error("this window only watches");
    const batch = [];
    const next = () => this.entries.length + batch.length + 1;
    const jump = this.watch.jump();
    const who = this.day.said.person?.values.name;
    const frame = (kind) => {
      const n = next();
      // The key stays with an entry wherever it is copied to; its number is its place in one journal.
      return { n, key: `${this.session}-${n}`, at, kind, ...(who ? { by: who } : {}) };
    };
    if (jump) batch.push({ ...frame("clock"), moved_s: Math.round(jump) });
    const entry = { ...frame(what.kind), ...what };
    batch.push(entry);
    if (photo) {
      if (batch.length > 1) await this.store.append(batch.slice(0, -1));
      await this.store.appendWithPhoto(entry, photo);
    } else {
      await this.store.append(batch);
    }
    this.entries.push(...batch);
    this.refold();
    return entry;
  }

  /// Takes over entries of a saved file.
  async load(entries, photos) {
    await this.store.putPhotos(photos);
    await this.store.append(entries);
    this.entries.push(...entries);
    this.refold();
  }
}
