// Puts the page together: opens the store, tests it, and paints.

import { put, el, say } from "./dom.js";
import { DeviceStore } from "./store.js";
import { ServerStore } from "./server_store.js";
import { Journal } from "./journal.js";
import { App, ROOM } from "./app.js";
import { paintHead } from "./head.js";
import { before, cautions } from "./screen_before.js";
import { shots } from "./screen_shots.js";
import { eventScreen } from "./screen_event.js";
import { table } from "./screen_table.js";
import { after } from "./screen_after.js";
import { listen } from "./keys.js";
import { help } from "./help.js";

function read(id) {
  return JSON.parse(document.getElementById(id).textContent);
}

async function begin() {
  const ground = read("ground");
  const store = document.querySelector("meta[name=served]") ? new ServerStore() : new DeviceStore(ground.id);
  let app = null;
  const journal = new Journal(ground, store, () => app?.paint());
  const main = document.getElementById("main");
  const paint = () => {
    paintHead(app);
    const screen = app.screen;
    main.className = screen.split(":")[0];
    const draw = { before, shots, table, after };
    put(main, app.refused ? refused(app) : screen.startsWith("event:") ? eventScreen(app, screen.slice(6)) : draw[screen](app));
  };
  app = new App({ ground, pictures: read("pictures"), journal, paint });
  app.help = () => help(app);
  app.look = () => {
    const dark = getComputedStyle(document.documentElement).colorScheme === "dark";
    document.documentElement.dataset.look = dark ? "bright" : "dark";
  };
  window.bench = app; // for whoever looks into the page, and for the tests
  try {
    const known = await store.open();
    app.tight = known.free !== null && known.free < ROOM;
    store.lost = () => watchOnly(app, "Another window counts now.");
    store.waiting = (on) => { if (app.waiting !== on) { app.waiting = on; app.paint(); } };
    if (await store.claim()) await journal.start({ storage: known.words ?? (known.persisted ? "kept until removed" : "may be cleared by the browser when space runs short") });
    else await watchOnly(app);
  } catch (error) {
    // No shot is counted on a device that can't keep it.
    app.refused = error.message;
    say(`This device can't keep the record: ${error.message}`);
  }
  app.takeOver = async () => {
    await store.claim(true);
    app.watching = false;
    await journal.start({ taken_over: true });
  };
  if (app.day.lastDone || journal.day.events.length) app.screen = "shots";
  paint();
  // Adding a series works on the table too. Where something happened, the key that means "done" leads back to the
  // shots, so that a foot alone gets there; it counts nothing there.
  listen(window, { now: () => journal.now(), taught: () => app.pedal, active: (what) => app.mayCount && (app.screen === "shots" || (what === "outside" && app.screen === "table") || (what === "done" && app.screen.startsWith("event:"))),
    act: (what, at) => ({ done: () => (app.screen === "shots" ? app.done(at) : app.backToShots()), happened: () => app.happened(at), shot: () => app.shot(true), "shot-without-spark": () => app.shot(false), undo: () => app.undo(), outside: () => app.addOutside() })[what]() });
  window.addEventListener("pagehide", () => {
    if (app.mayCount) journal.add({ kind: "left" }).catch(() => {});
    store.release?.();
  });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) paint(); });
  setInterval(async () => {
    const free = await store.free();
    const tight = free !== null && free < ROOM;
    if (tight !== app.tight) { app.tight = tight; paint(); }
  }, 30000);
}

async function watchOnly(app) {
  app.watching = true;
  await app.journal.watchOnly();
  app.paint();
}

function refused(app) {
  return [cautions(app.ground), el("section", { class: "part" }, el("h2", {}, "This device can't keep the record"),
    el("p", { class: "taken bad" }, `! ${app.refused}.`),
    el("p", {}, "So nothing is counted here: a touch that gets lost is worse than none. What to do:"),
    el("ul", {}, el("li", {}, "open the file in another browser or on another device, outside a private window;"),
      el("li", {}, "or write on paper, and copy the rows in the table of this form later, on a device that keeps them.")))];
}

begin();
