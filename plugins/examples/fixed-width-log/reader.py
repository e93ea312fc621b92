"""Reads a discharge log in columns of fixed width: one row for each discharge."""
import json, re, sys

# Columns as the bench prints them, from 0: point, mode, voltage in kV with its sign, what was seen.
POINT, MODE, VOLTAGE, SEEN = slice(0, 8), slice(8, 16), slice(16, 24), slice(24, None)


def say(kind, **keys):
    print(json.dumps({"type": kind, **keys}), flush=True)


def read(request, path):
    series, seen, account = {}, [], {"total": 0, "used": 0, "set_aside": 0, "preamble": 0, "blank": 0}
    with open(path, encoding="utf-8", errors="replace") as log:
        for row, line in enumerate(log, 1):
            line = line.rstrip("\n")
            account["total"] += 1
            if not line.strip() or row == 1:
                account["blank" if not line.strip() else "preamble"] += 1
                continue
            point, mode, voltage = line[POINT].strip(), line[MODE].strip(), line[VOLTAGE].strip()
            if not point or mode not in ("contact", "air", "hcp", "vcp"):
                problem = ("no-point-or-mode", 1, f"no point and mode in `{line[:16]}`")
            elif not re.fullmatch(r"[+-][0-9]+(\.[0-9]+)?", voltage):
                problem = ("not-a-voltage", 17, f"`{voltage}` is not a voltage with its sign")
            else:
                problem = None
            if problem:
                code, column, message = problem
                account["set_aside"] += 1
                column = min(column, len(line) + 1)
                say("set_aside", request=request, row=row, column=column, code=code, message=message,
                    help=["look at the bench's own protocol, and correct the row"])
                continue
            account["used"] += 1
            polarity = "positive" if voltage[0] == "+" else "negative"
            one = series.setdefault((point, mode, voltage), {
                "point": point, "application": mode, "polarity": polarity, "voltage_kv": voltage[1:],
                "count": 0, "monitoring": "result-each", "shots": [], "origin": f"0:{row}"})
            one["count"] += 1
            one["shots"].append({"row": row})
            if line[SEEN].strip() not in ("", "ok"):
                seen.append({"seen": line[SEEN].strip(), "origin": f"0:{row}:25"})
    say("understood", request=request, what="columns 1-8 point, 9-16 mode, 17-24 kV, 25- seen")
    say("record", request=request, record={"series": list(series.values()), "observations": seen})
    say("account", request=request, **account)
    say("done", request=request)


sys.stdin.readline()  # the host's hello
say("hello", protocol=1, name="fixed-width-log", version="1.0")
for ask in map(json.loads, sys.stdin):
    read(ask["request"], ask["input"])
