// The journal on the device: IndexedDB, each entry on disk before it is painted as taken.
//
// The origin of pages opened from disk is shared by all of them, so the database carries the form's identity. One
// window writes: it holds a lock that the browser gives back when the page dies, however it dies. Should two write all
// the same, the second `add` under a number fails, and nothing is overwritten.

const ENTRIES = "entries", PHOTOS = "photos", TRIAL = "trial";

/// Why the device can't be trusted with the record, in words for the person at the bench.
export class StorageProblem extends Error {
  constructor(message, full = false) {
    super(message);
    this.full = full;
  }
}

function open(name) {
  return new Promise((resolve, reject) => {
    let request;
    try {
      request = indexedDB.open(name, 1);
    } catch (error) {
      reject(new StorageProblem(`this browser keeps nothing for this page (${error.name})`));
      return;
    }
    request.onupgradeneeded = () => {
      request.result.createObjectStore(ENTRIES);
      request.result.createObjectStore(PHOTOS);
      request.result.createObjectStore(TRIAL);
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(new StorageProblem(`this browser keeps nothing for this page (${request.error?.name})`));
    request.onblocked = () => reject(new StorageProblem("another page holds the storage"));
  });
}

// One transaction; resolves when it is complete, which with strict durability means on disk.
function transaction(db, mode, stores, work) {
  return new Promise((resolve, reject) => {
    const options = mode === "readwrite" ? { durability: "strict" } : undefined;
    const tx = db.transaction(stores, mode, options);
    let result;
    let request;
    try {
      request = work(tx);
    } catch (error) {
      reject(problem(error.name));
      return;
    }
    if (request) request.onsuccess = () => { result = request.result; };
    tx.oncomplete = () => resolve({ result, durability: tx.durability });
    tx.onabort = tx.onerror = () => {
      reject(problem(tx.error?.name || request?.error?.name || "unknown"));
    };
  });
}

function problem(name) {
  if (name === "QuotaExceededError") return new StorageProblem("the storage of this device is full", true);
  if (name === "ConstraintError") return new StorageProblem("another window of this form has written since");
  return new StorageProblem(`the device did not store it (${name})`);
}

/// The store of one form on this device.
export class DeviceStore {
  constructor(id) {
    this.name = `bench-form-${id}`;
    this.what = "this device";
  }

  /// Opens it and tests it: writes with strict durability, closes, opens again, reads, removes. Throws when the device
  /// can't be trusted; resolves to what is known about it.
  async open() {
    if (typeof indexedDB === "undefined" || !indexedDB) throw new StorageProblem("this browser has no storage for pages");
    const text = `trial ${Math.random()}`;
    let db = await open(this.name);
    const written = await transaction(db, "readwrite", [TRIAL], (tx) => tx.objectStore(TRIAL).put(text, 1));
    if (written.durability !== "strict") {
      db.close();
      throw new StorageProblem("this browser can't promise that a stored entry is on disk");
    }
    db.close();
    db = await open(this.name);
    const read = await transaction(db, "readonly", [TRIAL], (tx) => tx.objectStore(TRIAL).get(1));
    if (read.result !== text) {
      db.close();
      throw new StorageProblem("what was stored did not come back");
    }
    await transaction(db, "readwrite", [TRIAL], (tx) => tx.objectStore(TRIAL).delete(1));
    this.db = db;
    // Ask that the browser does not clear it when space runs short; some browsers decline.
    const persisted = await navigator.storage?.persist?.().catch(() => false);
    return { persisted: Boolean(persisted), free: await this.free() };
  }

  /// Bytes left, where the browser says so.
  async free() {
    const estimate = await navigator.storage?.estimate?.().catch(() => null);
    return estimate && estimate.quota ? estimate.quota - estimate.usage : null;
  }

  /// Becomes the one window that writes; false while another one does. `steal` takes it from the other.
  async claim(steal = false) {
    if (!navigator.locks) return true; // the numbers of the entries still let no two windows overwrite each other
    return new Promise((resolve) => {
      const options = steal ? { steal: true } : { ifAvailable: true };
      navigator.locks.request(this.name, options, (lock) => {
        resolve(Boolean(lock));
        return lock ? new Promise(() => {}) : undefined; // held until the page goes
      }).catch(() => { this.lost?.(); });
    });
  }

  /// All entries in order.
  async entries() {
    return (await transaction(this.db, "readonly", [ENTRIES], (tx) => tx.objectStore(ENTRIES).getAll())).result;
  }

  /// Adds entries; all of them or none.
  async append(entries) {
    await transaction(this.db, "readwrite", [ENTRIES], (tx) => {
      const store = tx.objectStore(ENTRIES);
      for (const entry of entries) store.add(entry, entry.n);
    });
  }

  /// Adds a photo and the entry that speaks of it, both or neither.
  async appendWithPhoto(entry, base64) {
    await transaction(this.db, "readwrite", [ENTRIES, PHOTOS], (tx) => {
      tx.objectStore(PHOTOS).put(base64, entry.file);
      tx.objectStore(ENTRIES).add(entry, entry.n);
    });
  }

  /// Photos by file name, as base64 text.
  async photos() {
    const keys = (await transaction(this.db, "readonly", [PHOTOS], (tx) => tx.objectStore(PHOTOS).getAllKeys())).result;
    const values = (await transaction(this.db, "readonly", [PHOTOS], (tx) => tx.objectStore(PHOTOS).getAll())).result;
    return Object.fromEntries(keys.map((key, index) => [key, values[index]]));
  }

  async putPhotos(photos) {
    await transaction(this.db, "readwrite", [PHOTOS], (tx) => {
      for (const [name, text] of Object.entries(photos)) tx.objectStore(PHOTOS).put(text, name);
    });
  }
}
