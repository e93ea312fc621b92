"""Holds a summary against record and assessment as JSON: another reading of what belongs where.

usage: compare.py SUMMARY.xml RECORD.json ASSESSMENT.json     exit 0 when they agree, else says where not
"""
import hashlib
import json
import re
import sys
from decimal import Decimal, localcontext

from lxml import etree

NS = "{urn:fulgurite:summary:1}"


def cleaned(value):
    """A JSON value with U+FFFD for every character that XML 1.0 can't hold."""
    if isinstance(value, str):
        return re.sub("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]", "\ufffd", value)
    if isinstance(value, list):
        return [cleaned(one) for one in value]
    if isinstance(value, dict):
        return {cleaned(key): cleaned(one) for key, one in value.items()}
    return value


def same(what, found, wanted):
    if found != wanted:
        sys.exit(f"{what}: the summary has {found!r}, record and assessment have {wanted!r}")


def word(value):
    """A JSON value as an attribute's text."""
    if value is None:
        return None
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value)


def held(value, kind):
    """Whether XML Schema's types hold a value; what they don't is left out."""
    if kind == "decimal":
        return value is not None and sum(c.isdigit() for c in plain(value)) <= 18
    if kind == "date":
        return value is not None and not value.startswith("0000")
    if kind == "time":
        if value is None or value.startswith("0000"):
            return False
        offset = re.search(r"[+-](\d\d):(\d\d)(:\d\d)?$", value[11:])
        return not offset or (not offset[3] and int(offset[1]) * 60 + int(offset[2]) <= 14 * 60)
    return value is not None


def plain(value):
    return format(Decimal(value), "f")


def attributes(what, element, source, names, kinds={}):
    """Attributes against keys: name to key; a key that is absent is an attribute that is absent."""
    for name, key in names.items():
        value = source.get(key)
        kind = kinds.get(name)
        found = element.get(name)
        if not held(value, kind):
            same(f"{what}/@{name}", found, None)
        elif kind == "decimal":
            same(f"{what}/@{name}", found is not None and Decimal(found), Decimal(value))
        else:
            same(f"{what}/@{name}", found, word(value))


def texts(what, element, source, names):
    """Child elements with text against keys."""
    for name, key in names.items():
        child = element.find(NS + name)
        found = None if child is None else child.text or ""
        same(f"{what}/{name}", found, source.get(key))


def stated(what, element, source, names):
    for name, key in names.items():
        child = element.find(NS + name)
        value = source.get(key)
        if isinstance(value, dict) and "not_applicable" in value:
            wanted = {"not-applicable": value["not_applicable"]}
        elif value is None:
            wanted = None
        else:
            wanted = {"value": word(value)}
        same(f"{what}/{name}", None if child is None else dict(child.attrib), wanted)


def dashed(*keys):
    return {key.replace("_", "-"): key for key in keys}


def each(root, name, source):
    """Pairs of elements of a name and entries of a list."""
    found = root.findall(NS + name)
    same(f"number of {name}", len(found), len(source))
    return zip(found, source)


def origin(record, element, text):
    source, rows, column = (text.split(":") + ["", ""])[:3]
    first, _, last = rows.partition("-")
    index = int(source)
    known = record["sources"][index] if index < len(record["sources"]) else {"name": "?"}
    wanted = {"file": known["name"]}
    if rows and "part" in known and "account" in known:
        # Rows of a part, such as a sheet, are named by the file and the part.
        wanted = {"file": known["name"].removesuffix(":" + known["part"]) + f":{known['part']}!"}
    wanted |= {key: value for key, value in [("row", first), ("last-row", last), ("column", column)] if value}
    same("origin", dict(element.attrib), wanted)


def origins(record, element, listed):
    for found, text in each(element, "origin", listed):
        origin(record, found, text)


def reason(record, element, wanted):
    attributes("reason", element, wanted, dashed("rule", "effect"))
    texts("reason", element, wanted, {"text": "text"})
    origins(record, element, wanted["origins"])
    for one, behind in each(element, "because", wanted.get("because", [])):
        reason(record, one, behind)


def identity(root, facts):
    report = root.find(NS + "report")
    source = facts.get("report", {})
    attributes("report", report, source, dashed("number", "revision", "state", "issued_on"), {"issued-on": "date"})
    texts("report", report, source, dashed("title", "amends", "amendment_reason"))
    texts("laboratory", root.find(NS + "laboratory"), facts.get("laboratory", {}),
          dashed("name", "address", "place_of_work", "accreditation"))
    texts("client", root.find(NS + "client"), facts.get("client", {}), dashed("name", "contact"))
    for element, source in each(root, "reference", facts.get("references", [])):
        attributes("reference", element, source, dashed("kind", "value", "revision", "belongs_to"))
    for element, source in each(root, "supplied", facts.get("supplied", [])):
        attributes("supplied", element, source, dashed("fact", "by"))
        texts("supplied", element, source, {"remark": "remark"})
    for element, source in each(root, "accreditation-scope", facts.get("accreditation_scope", [])):
        attributes("scope", element, source, dashed("method", "inside"))
    rule = root.find(NS + "decision-rule")
    source = facts.get("decision_rule", {})
    same("decision-rule", rule is not None, bool(source))
    if source:
        texts("decision-rule", rule, source, {"rule": "rule"})
        attributes("decision-rule", rule, source, dashed("agreed_with", "agreed_on"), {"agreed-on": "date"})


def item_and_bench(root, facts):
    item, source = root.find(NS + "item"), facts.get("item", {})
    numbers = dict.fromkeys(["length-mm", "width-mm", "height-mm"], "decimal")
    attributes("item", item, source, {"type": "type_designation", **dashed(
        "serial", "hardware_version", "firmware_version", "arrangement", "length_mm", "width_mm", "height_mm")}, numbers)
    texts("item", item, source, dashed("name", "maker", "supply", "earthing", "configuration", "conditions_of_use"))
    stated("item", item, source, {"earthed": "earthed"})
    for element, source in each(root, "item-state", facts.get("states", [])):
        attributes("item-state", element, source, dashed("id", "since", "by"), {"since": "time"})
        texts("item-state", element, source, dashed("description", "reason"))
    for element, source in each(root, "person", facts.get("people", [])):
        attributes("person", element, source, dashed("name", "part", "position", "on"), {"on": "date"})
    for element, source in each(root, "equipment", facts.get("equipment", [])):
        attributes("equipment", element, source, dashed(
            "id", "role", "serial", "firmware_version", "calibrated_on", "calibration_due", "certificate", "accredited",
            "in_tolerance"), {"calibrated-on": "date", "calibration-due": "date"})
    for element, source in each(root, "climate", facts.get("climate", [])):
        attributes("climate", element, source, dashed(
            "at", "temperature_c", "humidity_percent", "pressure_hpa", "instrument"),
            {"at": "time", "temperature-c": "decimal", "humidity-percent": "decimal", "pressure-hpa": "decimal"})
    for element, source in each(root, "setup-check", facts.get("setup_checks", [])):
        attributes("setup-check", element, source, dashed("kind", "reading", "least", "most", "unit", "in_order", "at",
                   "by"), {"reading": "decimal", "least": "decimal", "most": "decimal", "at": "time"})
    for element, source in each(root, "point", facts.get("points", [])):
        attributes("point", element, source, {"id": "id"})
        same("point/@applications", (element.get("applications") or "").split(), source.get("applications", []))
        texts("point", element, source, dashed("description", "reason", "excluded"))
    for element, source in each(root, "demand", facts.get("demands", [])):
        attributes("demand", element, source, dashed("function", "mode", "application", "from_kv", "to_kv"),
                   {"from-kv": "decimal", "to-kv": "decimal"})
        same("accepted", [one.text for one in element.findall(NS + "accepted")], source.get("accepted", []))


def results(root, record, assessment):
    names = dashed("id", "point", "application", "polarity", "voltage_kv", "count", "sparks", "interval_s", "single",
                   "state", "mode", "tip", "started", "ended", "tested_by", "external_reference")
    kinds = {"voltage-kv": "decimal", "interval-s": "decimal", "started": "time", "ended": "time"}
    for element, source in each(root, "series", record["series"]):
        attributes("series", element, source, {**names, "run": "kind"}, kinds)
        stated("series", element, source, {"monitoring": "monitoring"})
        texts("series", element, source, {"remark": "remark"})
        origin(record, element.find(NS + "origin"), source["origin"])
    plan = root.find(NS + "plan")
    for number, (element, source) in enumerate(each(plan, "required", assessment["plan"]), 1):
        same("number", element.get("number"), str(number))
        attributes("required", element, source, dashed("point", "application", "polarity", "voltage_kv", "mode", "count",
                   "interval_s"), {"voltage-kv": "decimal", "interval-s": "decimal"})
    for element, source in each(plan, "problem", assessment["plan_problems"]):
        reason(record, element, source)
    same("verdict", root.find(NS + "verdict").text, assessment["verdict"])
    for element, source in each(root, "state-verdict", assessment["states"]):
        attributes("state", element, source, dashed("state", "verdict", "failure_observed"))
        for one, wanted in each(element, "reason", source["reasons"]):
            reason(record, one, wanted)
        same("settle", [one.text for one in element.findall(NS + "would-settle")], [s["what"] for s in source["settle"]])
        for one, wanted in each(element, "coverage", source["coverage"]):
            same("required", int(one.get("required")), wanted["required"] + 1)
            attributes("coverage", one, wanted, {"state": "state", "counted": "counted", "sparks": "sparks",
                       "worst-class": "worst", "verdict": "verdict"})
            same("by-series", [s.get("id") for s in one.findall(NS + "by-series")], wanted["series"])
            same("with-observation", [s.get("id") for s in one.findall(NS + "with-observation")], wanted["observations"])
        for one, wanted in each(element, "not-counted", source["uncounted"]):
            same("not-counted", (one.get("series"), one.text), (wanted["series"], wanted["why"]))
        for one, wanted in each(element, "evidence", source["evidence"]):
            attributes("evidence", one, wanted, dashed("kind", "required", "state", "clause", "status"))
            texts("evidence", one, wanted, dashed("text", "remedy"))
            origins(record, one, wanted["origins"])
        for name in ("point", "function"):
            for one, wanted in each(element, name + "-verdict", source[name + "s"]):
                attributes(name, one, wanted, {**dashed("name", "verdict", "required", "complete"), "worst-class": "worst"})
    judged = {one["observation"]: one for one in assessment["observations"]}
    for element, source in each(root, "observation", record["observations"]):
        attributes("observation", element, source, dashed("id", "series", "shot", "function", "written_class", "lasted_s"),
                   {"lasted-s": "decimal"})
        texts("observation", element, source, dashed("seen", "remark"))
        stated("observation", element, source, dashed("state_changed", "data_lost", "restored", "before_next",
               "coincident", "affected"))
        outcome = judged.get(source["id"], {})
        attributes("observation", element, outcome, dashed("class", "class_from_facts", "state", "verdict", "rule"))
        texts("observation", element, outcome, {"text": "text"})
        origins(record, element, [source["origin"], *([source["completed_at"]] if "completed_at" in source else [])])
    chains(root, record)
    for element, source in each(root, "waveform", assessment["waveforms"]):
        attributes("waveform", element, source, dashed("verification", "name", "segment", "within"))
        scale("waveform", element, applied(record, source))
        for one, wanted in each(element, "figure", source["figures"]):
            attributes("figure", one, wanted, dashed("name", "unit", "nominal", "least", "most", "within", "status", "clause"),
                       {"nominal": "decimal", "least": "decimal", "most": "decimal"})
            found = one.get("value")
            same("value", found and float(found), wanted["value"] and float(wanted["value"]))


PASSES = ["transfer_v_per_a", "attenuation_db", "attenuation_ratio"]


def stated_once(whole, path):
    """What an element of a chain or its equipment states, with the path of it."""
    found = [key for key in PASSES if key in whole]
    return {"key": found[0], "value": whole[found[0]], "path": f"{path}/{found[0]}"} if len(found) == 1 else None


def chains(root, record):
    """The measuring chains, and what they come to by Python's decimals: ratios and 10^(dB/20), over the target's V/A."""
    every = [one for one in enumerate(record.get("verifications", [])) if one[1].get("chain")]
    for element, (number, source) in each(root, "measuring-chain", every):
        same("measuring-chain/@verification", element.get("verification"), source["id"])
        equipment = record["facts"].get("equipment", [])
        passes = []
        for place, (one, stated) in enumerate(each(element, "chain-element", source["chain"])):
            attributes("chain-element", one, stated, dashed("equipment"))
            texts("chain-element", one, stated, {"remark": "remark"})
            said = stated_once(stated, f"/verifications/{number}/chain/{place}")
            for index, piece in enumerate(equipment):
                if said is None and piece["id"] == stated.get("equipment"):
                    said = stated_once(piece, f"/equipment/{index}")
                    break
            wanted = {said["key"]: said["value"]} if said else {}
            attributes("chain-element", one, wanted, dashed(*PASSES), {key: "decimal" for key in dashed(*PASSES)})
            known = record.get("origins", {}).get(said["path"]) if said else None
            origins(record, one, [known] if known else [])
            passes.append(said)
        with localcontext() as exact:
            exact.prec = 60
            of = lambda key: [Decimal(one["value"]) for one in passes if one["key"] == key]
            whole = None
            if all(passes) and len(of("transfer_v_per_a")) == 1:
                whole = Decimal(10) ** (sum(of("attenuation_db"), Decimal(0)) / 20) / of("transfer_v_per_a")[0]
                for ratio in of("attenuation_ratio"):
                    whole *= ratio
            # The program holds scales up to a million, with up to 28 digits.
            scale("measuring-chain", element, whole if whole and whole <= 1_000_000 else None)


def applied(record, judged):
    """The conversion of the record behind the figures of a waveform."""
    for verification in record.get("verifications", []):
        if verification["id"] == judged["verification"]:
            for trace in verification["traces"]:
                if (trace["name"], trace["segment"]) == (judged["name"], judged["segment"]):
                    return Decimal(trace["a_per_v"]) if "a_per_v" in trace else None
    return None


def scale(what, element, wanted):
    """A conversion to 15 digits; left out where even those are more than XML Schema's decimals must hold."""
    found = element.get("a-per-v")
    if found is None and wanted is not None:
        with localcontext() as short:
            short.prec = 15
            same(f"{what}/@a-per-v", held(str(+wanted), "decimal"), False)
    elif found is None or wanted is None:
        same(f"{what}/@a-per-v", found, wanted)
    elif abs(Decimal(found) - wanted) > wanted * Decimal("1e-14"):
        same(f"{what}/@a-per-v", found, str(wanted))


def rest(root, record, assessment):
    facts = record["facts"]
    for name, key, names, text in [
        ("ruling", "rulings", dashed("file", "row", "by"), "ruling"),
        ("judgement", "judgements", dashed("concerns", "verdict", "by"), "why"),
        ("partial-plan-justification", "partial_plan_justifications", dashed("state", "by"), "why"),
    ]:
        for element, source in each(root, name, facts.get(key, [])):
            attributes(name, element, source, names)
            same(name, element.text, source[text])
    for element, source in each(root, "opinion", facts.get("opinions", [])):
        texts("opinion", element, source, dashed("text", "basis"))
    for element, source in each(root, "unread-row", record["unread"]):
        attributes("unread-row", element, source, dashed("row", "code"))
        same("as-written", element.find(NS + "as-written").text or "", source["text"])
    for element, source in each(root, "source", record["sources"]):
        attributes("source", element, source, {**dashed("name", "role", "bytes", "read_by"), "sha-256": "sha256"})
    found = record["findings"] + assessment["findings"]
    counts = {name + "s": str(sum(one["severity"] == name for one in found)) for name in ("error", "warning", "note")}
    same("findings", dict(root.find(NS + "findings").attrib), counts)


def main(summary, record_file, assessment_file):
    root = etree.parse(summary, etree.XMLParser(resolve_entities=False)).getroot()
    with open(record_file, "rb") as file:
        data = file.read()
    record = cleaned(json.loads(data))
    with open(assessment_file, encoding="utf-8") as file:
        assessment = cleaned(json.load(file))
    same("record/@sha-256", root.find(NS + "record").get("sha-256"), hashlib.sha256(data).hexdigest())
    same("kind", root.get("kind"), "bench-data" if assessment["missing_identity"] else "test-report")
    texts("summary", root, record["facts"], {"invented": "invented"})
    identity(root, record["facts"])
    item_and_bench(root, record["facts"])
    results(root, record, assessment)
    rest(root, record, assessment)
    print("agrees")


main(*sys.argv[1:4])
