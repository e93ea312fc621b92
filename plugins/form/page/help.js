// Keys, foot switch, and how a key is taught.

import { el } from "./dom.js";
import { KEY_WORDS } from "./keys.js";

/// Opens the box. `app.pedal` is the taught key.
export function help(app) {
  const told = el("p", { role: "status" }, app.pedal ? `Taught key: ${app.pedal}` : "No key is taught.");
  const teach = (event) => {
    event.target.blur();
    told.textContent = "Press the foot switch now.";
    const hear = (press) => {
      press.preventDefault();
      press.stopPropagation();
      window.removeEventListener("keydown", hear, true);
      if (press.code === "Escape") { told.textContent = "No key is taught."; return; }
      app.pedal = press.code;
      told.textContent = `Taught key: ${press.code}. Short: series done. Held for a second: something happened.`;
    };
    window.addEventListener("keydown", hear, true);
  };
  const box = el("dialog", { "aria-labelledby": "help-title", onclose: () => box.remove() },
    el("h2", { id: "help-title" }, "Keys and foot switch"),
    el("table", { class: "keys" }, el("tbody", {}, KEY_WORDS.map(([key, words]) => el("tr", {}, el("th", { scope: "row" }, key), el("td", {}, words))))),
    el("p", {}, "They work on the screen with the shots. A foot switch that sends another key can be taught; one pedal does both: a short press is “done”, a long one “something happened”, and its time is that of the press."),
    told,
    el("div", { class: "pair" }, el("button", { type: "button", onclick: teach }, "Teach a key"), el("button", { type: "button", class: "go", onclick: () => box.close() }, "Back")));
  document.body.append(box);
  box.showModal();
}
