// Before the first shot: who, the room, the equipment, the item, the set-up, the spark.

import { el, field, answers, typed } from "./dom.js";
import { dayOf, clockOf } from "./moment.js";
import { against, calibration, limitWords, plain, statusWords } from "./limits.js";
import { checkList, checkAbout, sparkCheck } from "./checks.js";

/// The screen. `app` gives ground, day, `state(about, values, keys)`, and `go(screen)`.
export function before(app) {
  const { ground, day } = app;
  const today = dayOf(app.now());
  return [
    cautions(ground),
    part("Who tests", person(app)),
    part("Room", climateForm(app, today, "before")),
    part("Equipment", equipment(app, today)),
    part("Item", item(app)),
    part("Set-up checks", el("p", { class: "hint" }, ground.before_checks),
      checkList(ground).map((check) => checkForm(app, today, check))),
    part("Spark check", checkForm(app, today, sparkCheck(ground, "before"))),
    el("div", { class: "pair end" }, el("button", { type: "button", class: "go", "data-key": "to-shots", onclick: () => app.go("shots") }, "To the shots")),
    day.entries < 2 ? loadAndSave(app) : null,
  ];
}

/// The cautions that belong on anything that guides work at high voltage.
export function cautions(ground) {
  return el("aside", { class: "cautions", "aria-label": "Cautions" }, el("h2", {}, "High voltage"),
    el("ul", {}, ground.cautions.map((text) => el("li", {}, text))));
}

export function part(title, ...content) {
  const id = `part-${title.toLowerCase().replace(/[^a-z]+/g, "-")}`;
  return el("section", { class: "part", "aria-labelledby": id }, el("h2", { id }, title), ...content);
}

function person(app) {
  const stated = app.day.said.person?.values.name;
  const names = (app.ground.facts.people || []).filter((p) => p.part === "tested").map((p) => p.name);
  return [
    stated ? taken(`Tested by ${stated}`, app.day.said.person) : null,
    names.length ? answers("person", "One of", names.map((n) => [n, n]), stated, (name) => app.state("person", { name })) : null,
    el("form", { class: "row", onsubmit: (e) => { e.preventDefault(); const name = typed("person-name"); if (name) app.state("person", { name }, ["person-name"]); } },
      field("person-name", "Another name"), el("button", { type: "submit", class: "take" }, "Take down")),
  ];
}

/// A line that shows what is stored, and when it was.
export function taken(words, said, state = "good") {
  const last = said?.entries?.at(-1);
  const earlier = (said?.entries?.length || 0) - 1;
  return el("p", { class: `taken ${state}` }, el("span", { class: "tick", "aria-hidden": "true" }, state === "bad" ? "!" : "✓"),
    ` ${words}`, last ? el("span", { class: "when" }, ` taken ${clockOf(last.at)}${earlier > 0 ? ", changed since" : ""}`) : null);
}

/// Fields for one reading of the room's climate, and the readings so far.
export function climateForm(app, today, when) {
  const { ground, day } = app;
  const air = ground.limits.climate.find((l) => ground.plan.some((p) => l.applies_to.includes(p.application)));
  const kinds = [["temperature_c", "Temperature", "°C"], ["humidity_percent", "Relative humidity", "%"], ["pressure_hpa", "Air pressure", "hPa"]];
  const made = Object.entries(day.said).filter(([about]) => about.startsWith(`climate/${today}/`));
  const readings = made.map(([, said]) => {
    const outside = kinds.some(([key]) => air?.[key] && against(said.values[key], air[key].least, air[key].most) === "outside");
    const words = kinds.filter(([key]) => said.values[key]).map(([key, , unit]) => `${said.values[key]} ${unit}`).join(", ");
    return taken(outside ? `${words}: outside the limits for ${air.applies_to.join(", ")} discharge` : words, said, outside ? "bad" : "good");
  });
  const instruments = (ground.facts.equipment || []).filter((e) => e.role === "climate");
  const keys = kinds.map(([key]) => `${when}-${key}`);
  const take = (event) => {
    event.preventDefault();
    const values = {};
    for (const [key, name] of kinds) {
      const text = typed(`${when}-${key}`);
      if (!text) continue;
      const value = plain(text);
      if (value === null) return app.complain(`${name}: “${text}” is not a number`);
      values[key] = value;
    }
    if (!Object.keys(values).length) return app.complain("Write at least one reading.");
    const instrument = typed(`${when}-instrument`);
    if (instrument) values.instrument = instrument;
    return app.state(`climate/${today}/${made.length + 1}`, values, [...keys, `${when}-instrument`]);
  };
  return [
    ...readings,
    el("form", { class: "row", onsubmit: take },
      kinds.map(([key, name, unit]) => field(`${when}-${key}`, `${name} (${unit})`, { inputmode: "decimal" },
        air?.[key] ? `${limitWords(air[key].least, air[key].most, unit)} for ${air.applies_to.join(", ")} discharge${note(air[key].status)}` : "")),
      field(`${when}-instrument`, "Instrument", { value: instruments[0]?.id || "" }),
      el("button", { type: "submit", class: "take" }, "Take down")),
  ];
}

function note(status) {
  const words = statusWords(status);
  return words ? ` (${words})` : "";
}

function equipment(app, today) {
  const { facts } = app.ground;
  const said = app.day.said.generator;
  const chosen = said?.values.equipment || facts.generator?.equipment;
  const list = (facts.equipment || []).map((piece) => {
    const found = calibration(piece, today);
    const words = [piece.id, piece.name, piece.serial ? `serial ${piece.serial}` : ""].filter(Boolean).join(", ");
    const warn = found.state === "bad" ? "Warning: " : found.state === "soon" ? "Soon: " : "";
    return el("li", { class: `cal ${found.state}` }, el("strong", {}, words), el("br"),
      `${warn}${found.words}${piece.accredited === false ? "; not accredited" : ""}${piece.id === chosen ? " (generator of this test)" : ""}`);
  });
  const g = { ...facts.generator, ...said?.values };
  const generators = (facts.equipment || []).filter((e) => e.role === "generator");
  const asPlanned = () => {
    const values = { contact_tip: "sharp", air_tip: "round" };
    for (const key of ["equipment", "network_pf", "network_ohm", "contact_tip", "air_tip", "return_cable"]) if (g[key] != null) values[key] = String(g[key]);
    app.state("generator", values);
  };
  const take = (event) => {
    event.preventDefault();
    const values = {};
    for (const key of ["network_pf", "network_ohm"]) {
      const text = typed(`g-${key}`);
      if (text && plain(text) === null) return app.complain(`“${text}” is not a number`);
      if (text) values[key] = plain(text);
    }
    if (typed("g-return_cable")) values.return_cable = typed("g-return_cable");
    return app.state("generator", values, ["g-network_pf", "g-network_ohm", "g-return_cable"]);
  };
  return [
    el("ul", { class: "plainlist" }, list.length ? list : el("li", {}, "The job lists no equipment.")),
    generators.length > 1 || !chosen ? answers("gen", "Generator of this test", generators.map((e) => [e.id, e.id]), chosen, (id) => app.state("generator", { equipment: id })) : null,
    said ? taken(`Fitted: ${fitted(g)}`, said) : el("p", {}, `As the job has it: ${fitted(g)}`),
    el("div", { class: "pair" }, el("button", { type: "button", "data-key": "g-as", onclick: asPlanned }, "I looked: fitted just so")),
    el("details", {}, el("summary", {}, "Something else is fitted"),
      el("form", { class: "row", onsubmit: take },
        field("g-network_pf", "Network capacitance (pF)", { inputmode: "decimal", value: g.network_pf ?? "" }),
        field("g-network_ohm", "Network resistance (Ω)", { inputmode: "decimal", value: g.network_ohm ?? "" }),
        field("g-return_cable", "Return cable: course and connection", { value: g.return_cable ?? "" }),
        el("button", { type: "submit", class: "take" }, "Take down")),
      answers("ct", "Tip for contact discharge", [["sharp", "sharp"], ["round", "round"]], g.contact_tip, (v) => app.state("generator", { contact_tip: v })),
      answers("at", "Tip for air discharge", [["round", "round"], ["sharp", "sharp"]], g.air_tip, (v) => app.state("generator", { air_tip: v }))),
  ];
}

function fitted(g) {
  return [g.equipment, g.network_pf != null && g.network_ohm != null ? `${g.network_pf} pF and ${g.network_ohm} Ω` : "network not stated",
    g.contact_tip ? `${g.contact_tip} tip for contact` : "contact tip not stated", g.air_tip ? `${g.air_tip} tip for air` : "air tip not stated",
    g.return_cable ? `return cable: ${g.return_cable}` : "return cable not stated"].filter(Boolean).join("; ");
}

function item(app) {
  const { ground, day } = app;
  const it = ground.facts.item || {};
  const earthed = day.said.earthed?.values.earthed ?? (typeof it.earthed === "boolean" ? it.earthed : undefined);
  const removal = day.said.charge?.values.method ?? ground.facts.charge_removal?.method;
  const name = [it.name, it.type_designation, it.serial ? `serial ${it.serial}` : "", it.firmware_version ? `firmware ${it.firmware_version}` : ""].filter(Boolean).join(", ");
  return [
    el("p", {}, name || "The job does not describe the item."),
    el("p", {}, `State on the bench: ${day.state ?? "not named"}`),
    day.said.earthed ? taken(earthed ? "Earthed" : "Not earthed", day.said.earthed) : null,
    answers("earthed", "Is the item earthed in the test?", [[true, "earthed"], [false, "not earthed"]], earthed, (v) => app.state("earthed", { earthed: v })),
    earthed === false ? [
      removal ? taken(`Charge is removed: ${removal}`, day.said.charge) : el("p", { class: "taken bad" }, "! How is charge taken off the item before each discharge?"),
      answers("charge", "Charge removal", [["bleeder cable with two resistors left on", "bleeder cable left on"], ["bleeder cable with two resistors applied before each discharge", "bleeder cable applied"], ["earthed brush with resistors", "earthed brush"], ["ionizer, off during air discharge", "ionizer"], ["waiting time", "waiting time"]],
        removal, (v) => app.state("charge", { method: v }))] : null,
  ];
}

/// One check: a reading against its limits, or a look that is in order or not.
export function checkForm(app, today, check) {
  const about = checkAbout(today, check.key);
  const said = app.day.said[about];
  const v = said?.values || {};
  const state = v.reading != null ? against(v.reading, check.least, check.most) : "open";
  const bad = v.in_order === false || state === "outside";
  const what = { kind: check.kind, what: check.what };
  const limits = { ...what, unit: check.unit, ...(check.least != null ? { least: check.least } : {}), ...(check.most != null ? { most: check.most } : {}) };
  const take = (event) => {
    event.preventDefault();
    const text = typed(about);
    const reading = plain(text);
    if (reading === null) return app.complain(`“${text}” is not a number`);
    return app.state(about, { ...limits, reading }, [about]);
  };
  const hint = check.unit ? `${limitWords(check.least, check.most, check.unit)}${note(check.status)}${check.nominal != null ? `; nominal ${check.nominal}` : ""}` : "";
  const words = v.reading != null ? `${check.what}: ${v.reading} ${check.unit}${state === "outside" ? ", outside the limits" : ""}` : `${check.what}: ${v.in_order === false ? "not in order" : "in order"}`;
  return el("div", { class: "check" },
    said ? taken(words, said, bad ? "bad" : "good") : null,
    check.unit
      ? el("form", { class: "row", onsubmit: take }, field(about, `${capital(check.what)} (${check.unit})`, { inputmode: "decimal" }, hint), el("button", { type: "submit", class: "take" }, "Take down"))
      : answers(about, capital(check.what), [[true, "in order"], [false, "not in order"]], v.in_order, (in_order) => app.state(about, { ...what, in_order })));
}

function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/// Going on from a file that was saved elsewhere.
export function loadAndSave(app) {
  return part("Go on from a saved file",
    el("p", { class: "hint" }, "Only into a form that holds nothing yet, or the beginning of the same record."),
    el("label", { class: "filebutton" }, "Choose a saved form", el("input", { type: "file", accept: ".json,application/json", "data-key": "load", onchange: (e) => app.load(e.target.files[0]) })));
}
