// A series that the plan does not have: what is applied, and why.

import { el } from "./dom.js";
import { number, plain } from "./limits.js";

const KINDS = [["contact", "contact"], ["air", "air"], ["hcp", "plane, horizontal"], ["vcp", "plane, vertical"]];

/// Asks for the series, beginning from the one that it is most like; resolves to `{ point, application, polarity, voltage_kv, mode, count, interval_s, tip, why }` or null.
export function askOutside(ground, like) {
  return new Promise((resolve) => {
    let answer = null;
    const field = (id, words, props, size) => el("div", { class: size }, el("label", { for: id }, words), el("input", { id, autocomplete: "off", ...props }));
    const choice = (id, words, options, chosen, size) => el("div", { class: size }, el("label", { for: id }, words),
      el("select", { id }, options.map(([value, shown]) => el("option", { value, selected: value === (chosen ?? "") }, shown))));
    const value = (id) => box.querySelector(`#${id}`)?.value.trim() ?? "";
    const wrong = el("p", { class: "care whole", role: "alert", hidden: true });
    const points = (ground.facts.points || []).map((p) => [p.id, p.description ? `${p.id} ${p.description}` : p.id]);
    const modes = (ground.facts.modes || []).map((m) => [m.id, m.id]);
    const take = (event) => {
      event.preventDefault();
      const voltage = plain(value("out-voltage")), interval = plain(value("out-interval")), count = value("out-count");
      const bad = !(number(voltage) > 0) ? "The voltage is a number above zero; its sign is the polarity." : !/^[1-9]\d{0,4}$/.test(count) ? "How many discharges?"
        : !(number(interval) > 0) ? "How many seconds apart?" : !value("out-why") ? "Why is it applied? The report says it." : null;
      if (bad) {
        wrong.hidden = false;
        wrong.textContent = bad;
        return;
      }
      const application = value("out-kind");
      const tip = ground.plan.find((p) => p.application === application)?.tip ?? (application === "air" ? "round" : "sharp");
      answer = { point: value("out-point"), application, polarity: value("out-polarity"), voltage_kv: voltage, mode: value("out-mode") || null,
        count: Number(count), interval_s: interval, tip, why: value("out-why") };
      box.close();
    };
    const box = el("dialog", { class: "wide", "aria-labelledby": "out-title", onclose: () => { box.remove(); resolve(answer); } },
      el("h2", { id: "out-title" }, "A series outside the plan"),
      el("form", { class: "two", onsubmit: take },
        points.length ? choice("out-point", "Point", points, like?.point, "whole") : field("out-point", "Point", { required: true }),
        choice("out-kind", "Kind of discharge", KINDS, like?.application), choice("out-polarity", "Polarity", [["positive", "positive"], ["negative", "negative"]], like?.polarity),
        field("out-voltage", "Voltage (kV)", { inputmode: "decimal" }),
        field("out-count", "Discharges or approaches", { inputmode: "numeric", value: like?.count ?? "10" }),
        field("out-interval", "Seconds apart, at least", { inputmode: "decimal", value: like?.interval_s ?? "1" }),
        modes.length ? choice("out-mode", "Mode of the item", [...modes, ["", "not stated"]], like?.mode) : null,
        field("out-why", "Why", { type: "text" }, "whole"), wrong,
        el("div", { class: "pair whole" }, el("button", { type: "submit", class: "go" }, "Take down"), el("button", { type: "button", onclick: () => box.close() }, "Back"))));
    document.body.append(box);
    box.showModal();
  });
}
