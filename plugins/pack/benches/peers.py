"""Packs a folder with Python's zipfile, and again with the checksums that a bag needs. usage: peers.py FOLDER OUT RUNS"""
import hashlib
import os
import sys
import time
import zipfile

folder, out, runs = sys.argv[1], sys.argv[2], int(sys.argv[3])
names = sorted(os.listdir(folder))


def pack(checksums):
    start = time.perf_counter()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as packed:
        for name in names:
            path = os.path.join(folder, name)
            if checksums:
                for algorithm in ("sha256", "sha512"):
                    with open(path, "rb") as file:
                        hashlib.file_digest(file, algorithm)
            packed.write(path, name)
    return time.perf_counter() - start


# Answers one line to each line that it is sent, so that both sides take turns.
for line in sys.stdin:
    print(pack(line.strip() == "checksums"), os.path.getsize(out), flush=True)
