"""Reads a results table with Python's csv module and holds it against record and assessment as JSON.

usage: read_table.py TABLE.csv RECORD.json ASSESSMENT.json     exit 0 when they agree, else says where not
"""
import csv
import io
import json
import re
import sys
from decimal import Decimal

TEXT = {"report", "item", "item_type", "serial", "state", "point", "mode", "demand", "not_counted_because",
        "observations", "origin", "external_reference", "series", "invented"}
NUMBERS = {"voltage_kv", "magnitude_kv", "required", "applied", "counted", "sparks"}
FIRST = tuple("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")


def cleaned(value):
    """A JSON value with U+FFFD for every control character but tab and line breaks."""
    if isinstance(value, str):
        return re.sub("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", "\ufffd", value)
    if isinstance(value, list):
        return [cleaned(one) for one in value]
    if isinstance(value, dict):
        return {cleaned(key): cleaned(one) for key, one in value.items()}
    return value


def main(table, record, assessment):
    with open(table, newline="", encoding="utf-8") as file:
        raw = file.read()
        assert not raw.startswith("\ufeff"), "a byte order mark"
        rows = list(csv.DictReader(io.StringIO(raw, newline=""), strict=True))
    with open(record, encoding="utf-8") as file:
        record = cleaned(json.load(file))
    with open(assessment, encoding="utf-8") as file:
        assessment = cleaned(json.load(file))
    for row in rows:
        assert None not in row and None not in row.values(), f"a row of another length: {row}"
        for column, cell in row.items():
            if column in NUMBERS:
                assert cell == "" or Decimal(cell).is_finite(), f"{column}: {cell!r} is no number"
            else:
                assert not cell.startswith(FIRST), f"{column}: {cell!r} begins like a formula"
    # Whoever reads the table takes one mark off each text cell.
    rows = [{c: v.removeprefix("'") if c in TEXT else v for c, v in row.items()} for row in rows]
    facts = record["facts"]
    for row in rows:
        assert row["invented"] == facts.get("invented", ""), row["invented"]
        assert row["report"] == facts.get("report", {}).get("number", "")
        assert row["item"] == facts["item"].get("name", "")
        assert row["serial"] == facts["item"].get("serial", "")
    series = {one["id"]: one for one in record.get("series", [])}
    seen = {one["id"]: one.get("seen", "not described") for one in record.get("observations", [])}
    left = iter(rows)
    for number, state in enumerate(assessment["states"]):
        for coverage in state["coverage"]:
            row = next(left)
            wanted = assessment["plan"][coverage["required"]]
            sign = -1 if wanted["polarity"] == "negative" else 1
            expected = {
                "row": "required",
                "state": state["state"] or "",
                "judged": "no" if number else "yes",
                "state_verdict": state["verdict"],
                "point": wanted["point"],
                "application": wanted["application"],
                "polarity": wanted["polarity"],
                "mode": wanted["mode"] or "",
                "required": str(wanted["count"]),
                "applied": str(sum(series[one]["count"] for one in coverage["series"])),
                "counted": str(coverage["counted"]),
                "sparks": "" if coverage["sparks"] is None else str(coverage["sparks"]),
                "coverage": coverage["state"],
                "worst_class": coverage["worst"] or "",
                "verdict": coverage["verdict"],
                "series": "; ".join(coverage["series"]),
            }
            for column, value in expected.items():
                assert row[column] == value, f"{column}: {row[column]!r}, expected {value!r}"
            assert Decimal(row["voltage_kv"]) == sign * Decimal(wanted["voltage_kv"])
            assert Decimal(row["magnitude_kv"]) == Decimal(wanted["voltage_kv"])
            for one in coverage["observations"]:
                assert seen[one] in row["observations"], row["observations"]
            for one in coverage["series"]:
                source = record["sources"][int(series[one]["origin"].split(":")[0])]["name"]
                assert source in row["origin"], row["origin"]
                assert series[one].get("external_reference", "") in row["external_reference"]
        for uncounted in state["uncounted"]:
            row, one = next(left), series[uncounted["series"]]
            assert row["row"] == "not-counted" and row["not_counted_because"] == uncounted["why"], row
            assert (row["applied"], row["counted"], row["point"]) == (str(one["count"]), "0", one["point"]), row
        loose = [o for o in assessment["observations"] if o["state"] == state["state"]]
        loose = [o for o in loose if not next(s for s in record["observations"]
                                              if s["id"] == o["observation"]).get("series") in series]
        for outcome in loose:
            row = next(left)
            assert row["row"] == "observation" and seen[outcome["observation"]] in row["observations"], row
    for unread in record.get("unread", []):
        row = next(left)
        assert row["row"] == "unread" and row["observations"] == unread["text"], row
    assert next(left, None) is None, "rows that nothing calls for"
    print(f"{len(rows)} rows agree")


main(*sys.argv[1:4])
