// Keys of the bench: none of them writes a character, so none gets in the way of typing. A foot switch is a keyboard
// with one key; whichever it sends can be taught.

/// The keys as they come. `PageDown` and `PageUp` are what most foot switches and presentation remotes send.
export const KEYS = {
  PageDown: "done",
  PageUp: "happened",
  ArrowRight: "shot",
  ArrowLeft: "shot-without-spark",
  Backspace: "undo",
  Insert: "outside",
};

/// Held longer than this, a taught key means "something happened": one pedal is enough for both.
export const HOLD_MS = 800;

/// Words for the help.
export const KEY_WORDS = [
  ["Page Down", "series done, nothing more seen; from what happened: back to the shots, details later"],
  ["Page Up", "something happened now"],
  ["Right arrow", "one discharge (air: with a spark)"],
  ["Left arrow", "air: one approach without a spark"],
  ["Backspace", "take back the last touch"],
  ["Insert", "add a series that the plan does not have"],
];

/// Whether a key press belongs to a field or an open box, and not to the bench.
export function isTyping(target) {
  if (document.querySelector("dialog[open]")) return true;
  const tag = target?.tagName;
  return tag === "INPUT" || tag === "TEXTAREA" || tag === "SELECT" || target?.isContentEditable === true;
}

/// Listens; `act(what, at)` is called with the word and the moment of the press, where `active(what)`. `taught()` gives the
/// taught key's code.
export function listen(target, { now, act, taught, active }) {
  let down = null;
  target.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || isTyping(event.target)) return;
    if (event.code === taught()) {
      if (!active("done")) return;
      event.preventDefault();
      if (event.repeat || down) return;
      const at = now();
      down = { at, timer: setTimeout(() => { down = { at, used: true }; act("happened", at); }, HOLD_MS) };
      return;
    }
    const what = KEYS[event.key];
    if (!what || !active(what)) return;
    event.preventDefault();
    if (!event.repeat) act(what, now());
  });
  target.addEventListener("keyup", (event) => {
    if (event.code !== taught() || !down) return;
    clearTimeout(down.timer);
    if (!down.used) act("done", down.at);
    down = null;
  });
}
