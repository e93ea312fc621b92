"""Writes the series of a record as a table in another order of columns."""
import csv, json, os, sys

COLUMNS = ["serial", "kv", "polarity", "point", "application", "count", "observed", "verdict"]


def say(kind, **keys):
    print(json.dumps({"type": kind, **keys}), flush=True)


def plain(text):
    """A spreadsheet takes a text that begins so for a formula."""
    return "'" + text if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def write(ask):
    with open(ask["record"], encoding="utf-8") as file:
        record = json.load(file)
    with open(ask["assessment"], encoding="utf-8") as file:
        assessment = json.load(file)
    seen = {}
    for observation in record.get("observations", []):
        seen.setdefault(observation.get("series"), []).append(observation.get("seen", ""))
    name = ask["stem"] + ".series.csv"
    with open(os.path.join(ask["out"], name), "w", encoding="utf-8", newline="") as file:
        table = csv.writer(file)
        table.writerow(COLUMNS)
        for series in record.get("series", []):
            row = [record.get("facts", {}).get("item", {}).get("serial", ""),
                   series["voltage_kv"], series["polarity"], series["point"], series["application"],
                   str(series["count"]), "; ".join(seen.get(series["id"], [])), assessment["verdict"]]
            table.writerow([plain(cell) for cell in row])
    if not record.get("series"):
        say("finding", request=ask["request"], severity="note", code="no-series",
            message="the record holds no series: the table has its head alone")
    say("done", request=ask["request"], artifacts=[{"path": name, "media_type": "text/csv"}])


sys.stdin.readline()  # the host's hello
say("hello", protocol=1, name="column-order", version="1.0")
for ask in map(json.loads, sys.stdin):
    write(ask)
