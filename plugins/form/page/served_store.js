// The journal on the bench computer that serves the form, for tablets that can't store durably.
//
// The computer answers an entry only after it is on its disk. Entries carry their number: one out of turn is refused,
// so two tablets can't both write.

import { StorageProblem } from "./store.js";

/// The store behind `form --serve`; `base` is the address of the page with its token.
export class ServedStore {
  constructor(base, id) {
    this.base = base;
    this.id = id;
    this.what = "the bench computer";
    this.window = `${Date.now()}-${Math.random()}`;
  }

  async ask(path, body) {
    let answer;
    try {
      answer = await fetch(this.base + path, body === undefined ? {} : { method: "POST", body: JSON.stringify(body) });
    } catch {
      throw new StorageProblem("the bench computer does not answer");
    }
    if (answer.status === 409) throw new StorageProblem("another window of this form has written since");
    if (answer.status === 507) throw new StorageProblem("the storage of the bench computer is full", true);
    if (!answer.ok) throw new StorageProblem(`the bench computer did not store it (${answer.status})`);
    return answer.json();
  }

  async open() {
    await this.ask("journal/trial", { trial: this.window });
    return { persisted: true, free: null };
  }

  async free() { return null; }

  async claim(steal = false) {
    const { yours } = await this.ask("journal/claim", { window: this.window, steal });
    return yours;
  }

  async entries() { return (await this.ask("journal")).entries; }

  async append(entries) { await this.ask("journal/append", { window: this.window, entries, photos: {} }); }

  async appendWithPhoto(entry, base64) {
    await this.ask("journal/append", { window: this.window, entries: [entry], photos: { [entry.file]: base64 } });
  }

  async photos() { return (await this.ask("journal")).photos; }

  async putPhotos(photos) { await this.ask("journal/append", { window: this.window, entries: [], photos }); }
}
