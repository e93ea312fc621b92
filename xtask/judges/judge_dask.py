#!/usr/bin/env python3
"""Spreads a list of jobs over a local Dask cluster of two workers, kills one on the way, and compares with a local run.

usage: judge_dask.py PROGRAM FOLDER [PARTS]    exit 0: same lines, same files; 1: not; 2: usage

FOLDER holds jobs below `archive`; two folders of outputs are made beside it. Each part of the list is one task that
runs the program as a filter; the cluster runs the parts of the killed worker again on the other one.
"""
import hashlib
import json
import os
import pathlib
import signal
import subprocess
import sys
import time


def filtered(program, folder, out, paths):
    """A part of the list through the program: a line out for each line in."""
    command = [program, "filter", "--threads", "1", "--to", "csv,xml", "--out", out]
    done = subprocess.run(command, cwd=folder, input="".join(p + "\n" for p in paths), capture_output=True, text=True)
    if done.returncode != 0:
        raise RuntimeError("exit %d: %s" % (done.returncode, done.stderr[-500:]))
    return done.stdout.splitlines()


def files(top):
    found = (p for p in sorted(pathlib.Path(top).rglob("*")) if p.is_file())
    return {str(p.relative_to(top)): hashlib.sha256(p.read_bytes()).hexdigest() for p in found}


def answers(lines, out):
    """Lines as values, with the folder of outputs taken off: it is the only thing that differs."""
    values = [json.loads(line) for line in lines]
    for value in values:
        for output in value["outputs"]:
            output["path"] = os.path.relpath(output["path"], out)
    return values


def spread(program, folder, paths, parts):
    from dask.distributed import Client, LocalCluster, as_completed

    size = -(-len(paths) // parts)
    pieces = [paths[at : at + size] for at in range(0, len(paths), size)]
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster, Client(cluster) as client:
        tasks = [client.submit(filtered, program, folder, "spread", piece, pure=False, retries=5) for piece in pieces]
        killed, done = None, 0
        for _ in as_completed(tasks):
            done += 1
            if killed is None and done * 3 >= len(pieces):
                # A worker that is at work on a part; its program is killed with it, as on a machine that goes down.
                pids = client.run(os.getpid)
                busy = {worker: keys for worker, keys in client.processing().items() if keys}
                worker = sorted(busy or pids)[0]
                killed = pids[worker]
                children = subprocess.run(["pgrep", "-P", str(killed)], capture_output=True, text=True).stdout.split()
                for pid in [killed, *map(int, children)]:
                    try:
                        os.kill(pid, signal.SIGKILL)
                    except ProcessLookupError:
                        pass
        lines = [line for piece in client.gather(tasks) for line in piece]
    return lines, len(pieces), killed


def main(arguments):
    if len(arguments) not in (2, 3):
        print(__doc__)
        return 2
    program, folder = os.path.abspath(arguments[0]), os.path.abspath(arguments[1])
    parts = int(arguments[2]) if len(arguments) == 3 else 12
    paths = sorted(str(p.parent.relative_to(folder)) for p in pathlib.Path(folder, "archive").rglob("job.toml"))
    began = time.monotonic()
    local = filtered(program, folder, "local", paths)
    alone = time.monotonic() - began
    began = time.monotonic()
    lines, pieces, killed = spread(program, folder, paths, parts)
    took = time.monotonic() - began
    same_lines = answers(lines, "spread") == answers(local, "local")
    same_files = files(os.path.join(folder, "spread")) == files(os.path.join(folder, "local"))
    count = len(files(os.path.join(folder, "local")))
    print("%d jobs in %d parts, worker %s killed: %.1f s, local run with one thread %.1f s" % (len(paths), pieces, killed, took, alone))
    print("%-3s the same %d lines in the same order" % ("yes" if same_lines else "NO", len(local)))
    print("%-3s the same %d files" % ("yes" if same_files else "NO", count))
    return int(not (same_lines and same_files and killed and count))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
