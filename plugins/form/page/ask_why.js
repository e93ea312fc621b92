// Asks for a reason, in a box with the usual reasons as single touches and a field for any other.

import { el } from "./dom.js";

/// Resolves to the reason, or to null when the person goes back.
export function askWhy(title, reasons, { go = "Take down", input = "In other words" } = {}) {
  return new Promise((resolve) => {
    let answer = null;
    const text = el("input", { type: "text", id: "why-text", autocomplete: "off" });
    const close = (reason) => { answer = reason; box.close(); };
    const own = (event) => {
      event.preventDefault();
      if (text.value.trim()) close(text.value.trim());
      else text.focus();
    };
    const box = el("dialog", { "aria-labelledby": "why-title", onclose: () => { box.remove(); resolve(answer); } },
      el("h2", { id: "why-title" }, title),
      el("div", { class: "answers tall" }, reasons.map((reason) => el("button", { type: "button", onclick: () => close(reason) }, reason))),
      el("form", { onsubmit: own },
        el("label", { for: "why-text" }, input), text,
        el("div", { class: "pair" }, el("button", { type: "submit", class: "go" }, go),
          el("button", { type: "button", onclick: () => close(null) }, "Back"))));
    document.body.append(box);
    box.showModal();
  });
}
