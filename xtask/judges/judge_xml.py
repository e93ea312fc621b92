#!/usr/bin/env python3
"""Asks xmllint, lxml and xmlschema whether an XML file is valid by a schema.

usage: judge_xml.py SCHEMA.xsd FILE.xml...      exit 0: all three say yes to all, 1: some say no, 2: usage

None of them may read anything beside the two files.
"""
import subprocess
import sys

import xmlschema
from lxml import etree


def by_xmllint(schema, path):
    command = ["xmllint", "--noout", "--nonet", "--schema", schema, path]
    done = subprocess.run(command, capture_output=True, timeout=300)
    return done.returncode == 0, done.stderr.decode("utf-8", "replace").strip()


def by_lxml(schema, path):
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    rules = etree.XMLSchema(etree.parse(schema, parser))
    valid = rules.validate(etree.parse(path, parser))
    return valid, str(rules.error_log.last_error or "")


def by_xmlschema(schema, path):
    errors = list(xmlschema.XMLSchema(schema, allow="sandbox", defuse="always").iter_errors(path))
    return not errors, str(errors[0]) if errors else ""


def main(arguments):
    if len(arguments) < 2:
        print(__doc__)
        return 2
    schema, *paths = arguments
    refused = False
    for path in paths:
        for judge in (by_xmllint, by_lxml, by_xmlschema):
            try:
                yes, reason = judge(schema, path)
            except Exception as error:  # a judge that stumbles over the file says no to it
                yes, reason = False, repr(error)
            print("%-4s %s" % ("yes" if yes else "NO", judge.__name__), "" if yes else reason[:600])
            refused |= not yes
    return int(refused)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
