"""Memory and time of `fulgurite` on waveforms of 10^5, 10^6 and 10^7 samples, plain and packed, beside numpy and pandas.

usage: python long.py PROGRAM [FOLDER]   (Linux; numpy and pandas in this Python)

The records are made in FOLDER (default: a temporary one) and not kept in the repository. Memory is the most that the
process held (VmHWM of proc(5), looked at every 2 ms); `bytes a sample` is what 10^7 samples take beyond 10^5.
"""

import gzip
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy

SIZES = (100_000, 1_000_000, 10_000_000)
JOB = '[[verifications]]\nid = "V"\nfiles = "t.csv*"\ncharge_kv = 4\npolarity = "positive"\n'
READ = "import sys, numpy; numpy.loadtxt(sys.argv[1], delimiter=',', skiprows=1)"
PANDAS = "import sys, pandas; pandas.read_csv(sys.argv[1])"


def make(folder, samples):
    """A double exponential of 10 A with noise of 0.02 A, 5 us long."""
    folder.mkdir(parents=True)
    (folder / "job.toml").write_text(JOB)
    step, noise = 5000 / samples, numpy.random.default_rng(7)
    with open(folder / "t.csv", "w") as out:
        out.write("time_ns,current_A\n")
        for start in range(0, samples, 100_000):
            t = numpy.arange(start, start + 100_000) * step - 20
            at = numpy.maximum(t, 0)
            i = 11.69 * (numpy.exp(-0.02 * at) - numpy.exp(-0.5 * at)) + noise.normal(0, 0.02, t.size)
            out.write("".join("%.4f,%.6f\n" % row for row in zip(t, i)))
    packed = folder.with_name(folder.name + "-packed")
    packed.mkdir()
    (packed / "job.toml").write_text(JOB)
    with open(folder / "t.csv", "rb") as plain, gzip.open(packed / "t.csv.gz", "wb", 6) as out:
        shutil.copyfileobj(plain, out, 1 << 20)


def run(*command):
    """Seconds and most memory in bytes of one process."""
    begun, held = time.perf_counter(), 0
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    while child.poll() is None:
        status = Path(f"/proc/{child.pid}/status").read_text().partition("VmHWM:")[2]
        held = int(status.split()[0]) * 1024 if status else held
        time.sleep(0.002)
    if child.returncode not in (0, 1):
        sys.exit(f"{command} ended with {child.returncode}")
    return time.perf_counter() - begun, held


def main():
    program = sys.argv[1]
    top = Path(sys.argv[2] if len(sys.argv) > 2 else tempfile.mkdtemp(prefix="fulgurite-long-"))
    for samples in SIZES:
        if not (top / f"{samples}").exists():
            make(top / f"{samples}", samples)
    out = str(top / "out")
    convert = lambda form: lambda job: [program, "convert", str(job), "--to", form, "--out", out, "--replace", "-q"]
    ways = [
        ("assess", "", lambda job: [program, "assess", str(job)]),
        ("assess, gzip", "-packed", lambda job: [program, "assess", str(job)]),
        ("convert to xml", "", convert("xml")),
        ("convert to json", "", convert("json")),
        ("convert to pdf", "", convert("pdf")),
        ("convert to pack", "", convert("pack")),
        ("numpy.loadtxt", "", lambda job: [sys.executable, "-c", READ, str(job / "t.csv")]),
        ("pandas.read_csv", "", lambda job: [sys.executable, "-c", PANDAS, str(job / "t.csv")]),
    ]
    for name, packed, command in ways:
        held = []
        line = f"{name:16}"
        for samples in SIZES:
            shutil.rmtree(out, ignore_errors=True)
            seconds, memory = run(*command(top / f"{samples}{packed}"))
            held.append(memory)
            line += f" | {samples:>9,}: {seconds:6.2f} s {memory / 1e6:6.0f} MB"
        each = (held[-1] - held[0]) / (SIZES[-1] - SIZES[0])
        print(f"{line} | {each:5.1f} bytes a sample", flush=True)
    shutil.rmtree(out, ignore_errors=True)


main()
