#!/usr/bin/env python3
"""Asks Python's json and the package jsonschema whether a JSON file is valid by a JSON Schema.

usage: judge_json.py SCHEMA.json FILE.json...   exit 0: valid, 1: not, 2: usage
"""
import json
import sys

import jsonschema


def refuse_repeated(pairs):
    names = [name for name, _ in pairs]
    if len(names) != len(set(names)):
        raise ValueError("a name stands twice in one object: %s" % sorted(n for n in names if names.count(n) > 1))
    return dict(pairs)


def refuse_constant(word):
    raise ValueError("%s is not JSON" % word)


def read(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file, object_pairs_hook=refuse_repeated, parse_constant=refuse_constant)


def main(arguments):
    if len(arguments) < 2:
        print(__doc__)
        return 2
    schema, *paths = arguments
    rules = read(schema)
    checker = jsonschema.validators.validator_for(rules)
    checker.check_schema(rules)
    refused = False
    for path in paths:
        try:
            reasons = ["/" + "/".join(map(str, e.absolute_path)) + ": " + e.message for e in checker(rules).iter_errors(read(path))]
        except ValueError as error:
            reasons = [str(error)]
        print("yes" if not reasons else "NO", path)
        for reason in reasons[:10]:
            print("  ", reason[:300])
        refused |= bool(reasons)
    return int(refused)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
