"""A writer that breaks the protocol in the way that its argument names."""
import json, os, sys

MODE = sys.argv[1]


def say(kind, **keys):
    print(json.dumps({"type": kind, **keys}), flush=True)


def make(path, text="one line\n"):
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def write(request, out, stem):
    names = [stem + ".txt"]
    make(os.path.join(out, names[0]))
    if MODE == "outside":
        make("beside.txt")
        names.append("../beside.txt")
    if MODE == "absolute":
        names.append("/var/tmp/shots.txt")
    if MODE == "link":
        os.symlink("/etc/hostname", os.path.join(out, "host.txt"))
        names.append("host.txt")
    if MODE == "folder-is-a-link":
        os.symlink("/etc", os.path.join(out, "etc"))
        names.append("etc/hostname")
    if MODE == "hard-link":
        make("beside.txt")
        os.link("beside.txt", os.path.join(out, "second.txt"))
        names.append("second.txt")
    if MODE == "missing":
        names.append("not-there.txt")
    if MODE == "unnamed":
        make(os.path.join(out, "extra.txt"))
    if MODE == "case":
        make(os.path.join(out, "A.txt"))
        make(os.path.join(out, "a.txt"))
        names += ["A.txt", "a.txt"]
    if MODE == "device":
        make(os.path.join(out, "nul.txt"))
        names.append("nul.txt")
    if MODE == "too-much":
        make(os.path.join(out, "big.txt"), "x" * (2 << 20))
        names.append("big.txt")
    if MODE == "nothing":
        os.remove(os.path.join(out, names[0]))
        names = []
    if MODE == "anothers":
        os.rename(os.path.join(out, names[0]), os.path.join(out, stem + ".json"))
        names = [stem + ".json"]
    media_type = "text" if MODE == "media-type" else "text/plain"
    say("done", request=request, artifacts=[{"path": name, "media_type": media_type} for name in names])


sys.stdin.readline()
say("hello", protocol=1, name="rude-writer", version="1")
for ask in map(json.loads, sys.stdin):
    write(ask["request"], ask["out"], ask["stem"])
