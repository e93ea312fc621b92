"""Reads a log whose rows are: point, mode, voltage in kV with its sign, number of discharges.

Standard output is for lines of the protocol alone; print to sys.stderr for people.
Quantities are decimal text, as the log has them; rows are physical lines and count from 1.
"""
import json
import re
import sys

NAME, VERSION = "FORMAT_NAME", "0.1"  # as in plugin.toml
MODES = ("contact", "air", "hcp", "vcp")


def say(kind, **keys):
    print(json.dumps({"type": kind, **keys}), flush=True)


def read(request, path):
    series = []
    # Every row is used, set aside, preamble (before the table), footer (after it) or blank.
    account = {"total": 0, "used": 0, "set_aside": 0, "preamble": 0, "footer": 0, "blank": 0}
    with open(path, encoding="utf-8", errors="replace") as log:
        for row, line in enumerate(log, 1):
            account["total"] += 1
            words = line.split()
            if not words:
                account["blank"] += 1
            elif line.startswith("#"):
                account["preamble"] += 1
            elif (len(words) == 4 and re.fullmatch(r"[A-Za-z0-9_-]+", words[0]) and words[1] in MODES
                  and re.fullmatch(r"[+-][0-9]+(\.[0-9]+)?", words[2]) and re.fullmatch(r"[0-9]{1,6}", words[3])):
                account["used"] += 1
                series.append({
                    "point": words[0],
                    "application": words[1],
                    "polarity": "positive" if words[2][0] == "+" else "negative",
                    "voltage_kv": words[2][1:],
                    "count": int(words[3]),
                    "origin": f"0:{row}",  # your input, and the row; `0:7:3` names a column, `0:7-9` several rows
                })
            else:
                account["set_aside"] += 1
                say("set_aside", request=request, row=row, code="not-understood",
                    message="the row is not: point, mode, voltage with its sign, count")
    say("record", request=request, record={"series": series})
    say("account", request=request, **account)
    say("done", request=request)


sys.stdin.readline()  # the host's hello; your answer says which protocol you speak
say("hello", protocol=1, name=NAME, version=VERSION)
for line in sys.stdin:
    ask = json.loads(line)
    read(ask["request"], ask["input"])
