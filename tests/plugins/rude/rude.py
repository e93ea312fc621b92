"""A reader that breaks the protocol in the way that its argument names."""
import json, os, subprocess, sys, time

MODE = sys.argv[1]
SLEEP = [sys.executable, "-c", "import time; time.sleep(600)"]


def say(kind, **keys):
    print(json.dumps({"type": kind, **keys}), flush=True)


def series(row, voltage, **keys):
    return {"point": "P1", "application": "contact", "polarity": "positive", "voltage_kv": voltage, "count": 1,
            "origin": f"0:{row}", **keys}


def left_behind(**keys):
    quiet = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    subprocess.Popen(SLEEP, **quiet, **keys)


def read(request, path):
    with open(path, encoding="utf-8") as log:
        rows = log.read().splitlines()
    account = {"total": len(rows), "used": len(rows) - 1, "preamble": 1}
    found = [series(row, voltage) for row, voltage in enumerate(rows[1:], 2)]
    if MODE == "hang":
        left_behind()
        time.sleep(600)
    if MODE == "flood":
        while True:
            say("record", request=request, record={"series": found})
    if MODE == "flood-of-stderr":
        for _ in range(20000):
            print("nothing of this matters " * 10, file=sys.stderr)
    if MODE == "long-line":
        print('{"type":"understood","request":%d,"what":"%s"}' % (request, "x" * (2 << 20)), flush=True)
    if MODE == "crash":
        sys.stderr.write("the log was not what I thought\n")
        sys.exit(7)
    if MODE == "half-line":
        sys.stdout.write('{"type":"record","request":1,"rec')
        sys.stdout.flush()
        sys.exit(0)
    if MODE == "no-done":
        say("record", request=request, record={"series": found})
        sys.exit(0)
    if MODE == "talks":
        print("read", len(rows), "rows", flush=True)
    if MODE == "other-request":
        request += 1
    if MODE == "wrong-number":
        found[1]["voltage_kv"] = "eight"
    if MODE == "unknown-key":
        found[1]["mood"] = "calm"
    if MODE == "key-twice":
        print('{"type":"account","request":%d,"total":3,"total":4,"used":2}' % request, flush=True)
    if MODE == "place-not-there":
        found[1]["origin"] = "0:900:1"
    if MODE == "lost-row":
        found.pop()
    if MODE == "lying-count":
        account["total"] += 10
        account["used"] += 10
    if MODE == "lying-shots":
        found[1].update(count=10, shots=[{"row": 3}])
    if MODE == "facts-twice":
        for name in ("first", "second"):
            say("record", request=request, record={"facts": {"item": {"name": name}}})
    if MODE == "file-outside":
        say("record", request=request, file="../../../../etc/passwd")
    if MODE == "file-is-a-link":
        os.symlink("/etc/passwd", "link.json")
        say("record", request=request, file="link.json")
    if MODE == "grandchild":
        left_behind()
        left_behind(start_new_session=True)
    say("progress", request=request, done=1, of=1)
    say("record", request=request, record={"series": found})
    say("account", request=request, **account)
    say("done", request=request)


if MODE == "silent":
    time.sleep(600)
if MODE == "banner":
    print("Rude reader, version 1", flush=True)
sys.stdin.readline()
if MODE == "ends-at-once":
    sys.exit(0)
say("hello", protocol=2 if MODE == "other-protocol" else 1, name="polite" if MODE == "other-name" else "rude",
    version="1")
for ask in map(json.loads, sys.stdin):
    read(ask["request"], ask["input"])
