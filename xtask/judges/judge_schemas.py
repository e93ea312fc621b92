#!/usr/bin/env python3
"""Asks judges of schemas about many files: xmllint and xmlschema about XML, jsonschema about JSON and JSON lines,
SQLite about SQL.

usage: judge_schemas.py LIST    exit 0: every judge says what the list expects, 1: some don't, 2: usage

A line of LIST: `yes` or `no`, the schema, the file, with tabs between.
"""
import json
import sqlite3
import subprocess
import sys

import jsonschema
import xmlschema

KNOWN = {}


def by_xmllint(schema, path):
    command = ["xmllint", "--noout", "--nonet", "--schema", schema, path]
    done = subprocess.run(command, capture_output=True, timeout=300)
    return done.returncode == 0, done.stderr.decode("utf-8", "replace").strip()


def by_xmlschema(schema, path):
    if schema not in KNOWN:
        KNOWN[schema] = xmlschema.XMLSchema10(schema, allow="sandbox", defuse="always")
    errors = list(KNOWN[schema].iter_errors(path))
    return not errors, str(errors[0].reason) if errors else ""


def by_jsonschema(schema, path):
    if schema not in KNOWN:
        with open(schema, encoding="utf-8") as file:
            rules = json.load(file)
        assert rules["$schema"] == "https://json-schema.org/draft/2020-12/schema"
        jsonschema.Draft202012Validator.check_schema(rules)
        KNOWN[schema] = jsonschema.Draft202012Validator(rules)
    with open(path, encoding="utf-8") as file:
        values = [json.loads(line) for line in file] if path.endswith(".jsonl") else [json.load(file)]
    reasons = [e.message for value in values for e in KNOWN[schema].iter_errors(value)]
    return not reasons and bool(values), reasons[0] if reasons else ""


def by_sqlite(schema, path):
    base = sqlite3.connect(":memory:")
    base.execute("PRAGMA foreign_keys = ON")
    with open(schema, encoding="utf-8") as rules, open(path, encoding="utf-8") as statements:
        base.executescript(rules.read())
        try:
            base.executescript(statements.read())
        except sqlite3.Error as error:
            return False, str(error)
    return True, ""


JUDGES = {"xsd": (by_xmllint, by_xmlschema), "json": (by_jsonschema,), "sql": (by_sqlite,)}


def main(arguments):
    if len(arguments) != 1:
        print(__doc__)
        return 2
    wrong = asked = refused = 0
    with open(arguments[0], encoding="utf-8") as file:
        lines = [line.rstrip("\n").split("\t") for line in file]
    for expected, schema, path in lines:
        for judge in JUDGES[schema.rsplit(".", 1)[1]]:
            try:
                yes, reason = judge(schema, path)
            except (OSError, ValueError, xmlschema.XMLSchemaException) as error:
                yes, reason = False, repr(error)
            asked += 1
            refused += not yes
            if yes != (expected == "yes"):
                wrong += 1
                print("%s of %s, expected %s: %s" % (judge.__name__, path, expected, reason[:300]))
    print("%d answers over %d files, %d of them no, %d not as expected" % (asked, len(lines), refused, wrong))
    return int(bool(wrong) or not asked)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
