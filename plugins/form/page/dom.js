// Builds elements, and puts a screen in place without losing what the keyboard stands on.

/// An element: `el("button", { class: "act", onclick: f, "aria-pressed": true }, "text", child)`.
export function el(tag, props = {}, ...children) {
  const node = document.createElement(tag);
  for (const [key, value] of Object.entries(props)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
    else if (key === "value") node.value = value;
    else node.setAttribute(key, value === true && !key.startsWith("aria-") ? "" : String(value));
  }
  node.append(...children.flat(9).filter((child) => child !== null && child !== undefined && child !== false));
  return node;
}

/// Replaces what is in `place`; focus stays on the element with the same `data-key`, and typed text that nobody has
/// taken down yet stays in its field.
export function put(place, ...children) {
  const held = document.activeElement?.closest?.("[data-key]")?.dataset.key;
  const drafts = new Map();
  for (const field of place.querySelectorAll("input[data-key], select[data-key], textarea[data-key]")) {
    if (field.dataset.dirty) drafts.set(field.dataset.key, field.value);
  }
  place.replaceChildren(...children.flat(9).filter(Boolean));
  for (const [key, text] of drafts) {
    const field = place.querySelector(`[data-key="${CSS.escape(key)}"]`);
    if (field) {
      field.value = text;
      field.dataset.dirty = "1";
    }
  }
  if (held) place.querySelector(`[data-key="${CSS.escape(held)}"]`)?.focus({ preventScroll: true });
}

/// A labelled field. `hint` stands below it and is read with it.
export function field(key, label, props = {}, hint = "") {
  const id = `f-${key}`;
  const hintId = hint ? `${id}-hint` : undefined;
  const input = el(props.tag || "input", { id, "data-key": key, type: props.tag ? undefined : "text", autocomplete: "off",
    "aria-describedby": hintId, oninput: (e) => { e.target.dataset.dirty = "1"; }, ...props, tag: undefined });
  return el("div", { class: "field" }, el("label", { for: id }, label), input, hint ? el("p", { id: hintId, class: "hint" }, hint) : null);
}

/// The typed text of a field by its key.
export function typed(key) {
  return document.querySelector(`[data-key="${CSS.escape(key)}"]`)?.value.trim() ?? "";
}

/// Forgets what was typed there, once it is taken down.
export function settle(...keys) {
  for (const key of keys) {
    const field = document.querySelector(`[data-key="${CSS.escape(key)}"]`);
    if (field) delete field.dataset.dirty;
  }
}

/// A row of answers of which one holds: each is one touch.
export function answers(key, question, options, chosen, choose) {
  return el("div", { class: "ask", role: "group", "aria-label": question }, el("p", { class: "question" }, question),
    el("div", { class: "answers" }, options.map(([value, words]) =>
      el("button", { type: "button", "data-key": `${key}-${value}`, "aria-pressed": String(chosen === value),
        onclick: () => choose(value) }, words))));
}

/// Says something to whoever listens with a screen reader.
export function say(words) {
  const place = document.getElementById("spoken");
  if (place && place.textContent !== words) place.textContent = words;
}
