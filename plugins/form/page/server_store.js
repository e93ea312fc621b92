// The journal with the program that serves the page: each entry on that PC's disk before it is painted as taken.
//
// For tablets that keep nothing themselves. The server decides which window writes; a window says every two seconds
// that it is still there. While the server does not answer, an entry waits and is sent again, with the time of its touch.

import { StorageProblem } from "./store.js";

const AGAIN_MS = 1000;
const ALIVE_MS = 2000;
/// How long a new window waits for one that has just gone without a word.
const CLAIM_MS = 8000;

const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

/// The store of one form with the server. `fetch` and `beacon` are the browser's.
export class ServerStore {
  constructor({ ask = (...all) => fetch(...all), beacon = (...all) => navigator.sendBeacon(...all) } = {}) {
    this.ask = ask;
    this.beacon = beacon;
    this.what = "the PC that serves this form";
    this.served = true;
    this.writer = `${Math.random().toString(36).slice(2)}${Math.random().toString(36).slice(2)}`;
    this.waiting = () => {};
  }

  // One question. Unless it may go without an answer it is asked until there is one.
  async post(path, value, { patient = true } = {}) {
    const body = JSON.stringify(value);
    for (;;) {
      try {
        const answer = await this.ask(path, { method: "POST", headers: { "Content-Type": "application/json" }, body,
          // A page that is being left may still send what is short.
          keepalive: body.length < 50000, signal: AbortSignal.timeout(5000 + body.length / 50) });
        // Short of something that comes back by itself: as good as no answer.
        if (answer.status === 503) throw new Error();
        this.waiting(false);
        return { status: answer.status, value: await answer.json().catch(() => ({})) };
      } catch (error) {
        this.waiting(true);
        if (!patient) throw new StorageProblem("the PC that serves this form does not answer");
        await pause(AGAIN_MS);
      }
    }
  }

  async get(path) {
    try {
      const answer = await this.ask(path, { signal: AbortSignal.timeout(60000) });
      if (!answer.ok) throw new Error();
      return await answer.json();
    } catch {
      throw new StorageProblem("the PC that serves this form does not answer");
    }
  }

  /// Tests that what is sent gets to the disk of that PC and back.
  async open() {
    const text = `trial ${Math.random()}`;
    const { status, value } = await this.post("trial", { text }, { patient: false });
    if (status !== 200) throw problem(status, value);
    if (value.text !== text) throw new StorageProblem("what was stored did not come back");
    return { persisted: true, free: null, words: "on the disk of the PC that serves the form" };
  }

  /// That PC says when it is full; it can't say before.
  async free() { return null; }

  /// Becomes the one window that writes; false while another one does.
  async claim(steal = false) {
    const until = performance.now() + CLAIM_MS;
    for (;;) {
      const { value } = await this.post("claim", { writer: this.writer, steal });
      if (value.granted) break;
      if (performance.now() > until) return false;
      await pause(AGAIN_MS);
    }
    clearInterval(this.alive);
    this.alive = setInterval(async () => {
      const { value } = await this.post("claim", { writer: this.writer }, { patient: false }).catch(() => ({ value: {} }));
      if (value.granted === false) {
        clearInterval(this.alive);
        this.lost?.();
      }
    }, ALIVE_MS);
    return true;
  }

  /// Lets another window write at once.
  release() {
    clearInterval(this.alive);
    this.beacon("release", new Blob([JSON.stringify({ writer: this.writer })], { type: "application/json" }));
  }

  async entries() {
    const { entries, file } = await this.get("journal");
    this.file = file;
    return entries;
  }

  async append(entries, photo = null) {
    const { status, value } = await this.post("entries", { writer: this.writer, entries, photo });
    if (status !== 200) throw problem(status, value);
  }

  async appendWithPhoto(entry, base64) {
    await this.append([entry], { file: entry.file, base64 });
  }

  async photos() { return this.get("photos"); }

  async putPhotos(photos) {
    for (const [file, base64] of Object.entries(photos)) await this.append([], { file, base64 });
  }
}

function problem(status, value) {
  if (status === 507) return new StorageProblem("the disk of the PC that serves this form is full", true);
  if (status === 409) return new StorageProblem("another window of this form has written since");
  if (status === 403) return new StorageProblem("the address of this form has changed: open the one that the PC shows");
  if (value?.problem === "journal-full") return new StorageProblem("the journal of this form on the PC has its largest size");
  if (status === 413) return new StorageProblem("too large to be sent");
  return new StorageProblem(`the PC that serves this form did not store it (${value?.problem ?? status})`);
}
