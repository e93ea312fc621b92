"""Validates JSON files under a JSON Schema with the package jsonschema, after checking the schema itself.

usage: validate.py SCHEMA.json FILE.json...     exit 0 when all are valid, else says which and why
"""
import json
import sys

from jsonschema import Draft202012Validator

with open(sys.argv[1], encoding="utf-8") as file:
    schema = json.load(file)
Draft202012Validator.check_schema(schema)
validator = Draft202012Validator(schema)
bad = 0
for name in sys.argv[2:]:
    with open(name, encoding="utf-8") as file:
        value = json.load(file)
    for error in validator.iter_errors(value):
        bad += 1
        print(f"{name}: {error.json_path}: {error.message[:300]}")
sys.exit(bad > 0)
