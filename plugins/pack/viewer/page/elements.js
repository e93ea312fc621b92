// Builds elements. Text goes in as text, never as markup: what a pack says can't become part of the page.

/** `el("p", { class: "soft" }, "text", child)`; attributes that are null or false are left out. */
export function el(name, attributes, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes ?? {})) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value != null && value !== false) element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...children.flat().filter((child) => child != null && child !== false));
  return element;
}

let headings = 0;

/** A section named by its heading. */
export function section(title, ...children) {
  headings += 1;
  const id = `heading-${headings}`;
  return el("section", { "aria-labelledby": id }, el("h2", { id }, title), ...children);
}

const WORDS = {
  ok: ["good", "\u2713 in order"],
  failed: ["bad", "\u2717 not in order"],
  "not-checked": ["open", "\u2013 not checked"],
  pass: ["good", "\u2713 pass"],
  fail: ["bad", "\u2717 fail"],
  undetermined: ["open", "? undetermined"],
  shown: ["good", "\u2713 shown"],
  violated: ["bad", "\u2717 violated"],
  "not-stated": ["open", "? not stated"],
  "not-needed": ["", "not needed"],
  complete: ["", "complete"],
  exceeded: ["", "exceeded"],
  short: ["open", "short"],
  missing: ["open", "missing"],
};

/** A state as a word with its sign; colour only repeats what the word says. */
export function word(state) {
  const [tone, text] = WORDS[state] ?? ["", state ?? "no effect"];
  return el("span", { class: `word ${tone}` }, text);
}

export const toneOf = (state) => WORDS[state]?.[0] ?? "";

/** Rows shown at first; a plan can have thousands. */
const AT_FIRST = 40;

/** A table that scrolls by itself where the window is narrow. A column that starts with `#` holds numbers. */
export function table(caption, columns, rows) {
  const isNumber = columns.map((column) => column.startsWith("#"));
  const cell = (value, at) => el("td", { class: isNumber[at] ? "number" : typeof value === "string" && value.length > 40 ? "long" : null }, value ?? "");
  const line = (row) => el("tr", null, row.map(cell));
  const head = columns.map((column, at) => el("th", { scope: "col", class: isNumber[at] ? "number" : null }, column.replace("#", "")));
  const body = el("tbody", null, rows.slice(0, AT_FIRST).map(line));
  const whole = el("table", null, el("caption", null, caption), el("thead", null, el("tr", null, head)), body);
  const frame = el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": caption }, whole);
  if (rows.length <= AT_FIRST) return frame;
  const more = el("button", { type: "button" }, `Show all ${rows.length} rows`);
  more.addEventListener("click", () => {
    body.append(...rows.slice(AT_FIRST).map(line));
    more.remove();
    frame.focus();
  });
  return el("div", null, frame, more);
}

export const code = (text) => el("span", { class: "code" }, text);

/** Terms and what is known of them; what nobody stated is left out. */
export function terms(pairs) {
  return el("dl", null, pairs.filter(([, value]) => value != null && value !== "").flatMap(([term, value]) => [el("dt", null, term), el("dd", null, value)]));
}
