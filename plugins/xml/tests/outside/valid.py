"""Asks two outside validators, lxml and xmlschema, about XML files under a schema.

usage: valid.py SCHEMA.xsd FILE.xml...     a line per file: `FILE lxml=True xmlschema=True`, with reasons below
"""
import os
import sys

import xmlschema
from lxml import etree

schema = sys.argv[1]
first = etree.XMLSchema(etree.parse(schema))
second = xmlschema.XMLSchema(schema, allow="sandbox", defuse="always")
for name in sys.argv[2:]:
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    reasons = []
    try:
        document = etree.parse(name, parser)
        one = first.validate(document)
        reasons += [str(error) for error in first.error_log]
    except etree.LxmlError as error:
        one = False
        reasons.append(str(error))
    try:
        errors = list(second.iter_errors(os.path.abspath(name)))
        two = not errors
        reasons += [str(error.reason) for error in errors]
    except Exception as error:  # not well-formed, and whatever else it may raise
        two = False
        reasons.append(repr(error))
    print(f"{name} lxml={one} xmlschema={two}")
    for reason in reasons[:5]:
        print("   ", reason[:300])
