"""A reader of waveforms: `volts every STEP ns`, then a sample a line, made amperes by the request's chain_a_per_v."""
import json, sys
from decimal import Decimal


def say(kind, **keys):
    print(json.dumps({"type": kind, **keys}), flush=True)


def read(request, path, name, a_per_v):
    with open(path, encoding="utf-8") as log:
        rows = log.read().splitlines()
    step = rows[0].split()[2]
    used = len(rows) - 1
    if a_per_v is None:
        say("finding", request=request, severity="error", code="no-scale", message="no measuring chain is stated", row=1)
        used = 0
    else:
        samples = " ".join(format(Decimal(volts) * Decimal(a_per_v), "f") for volts in rows[1:])
        trace = {"name": name, "segment": 1, "time": {"start_ns": "0", "step_ns": step}, "current_a": samples,
                 "over_range": False, "a_per_v": a_per_v, "origin": f"0:2-{len(rows)}"}
        say("record", request=request, record={"traces": [trace]})
    say("account", request=request, total=len(rows), used=used, preamble=len(rows) - used)
    say("done", request=request)


sys.stdin.readline()
say("hello", protocol=1, name="volts", version="1")
for ask in map(json.loads, sys.stdin):
    read(ask["request"], ask["input"], ask["name"], ask.get("chain_a_per_v"))
