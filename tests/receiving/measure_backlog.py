"""How much faster two cores read a backlog: ``python tests/receiving/measure_backlog.py FOLDER [--cores 1 2]``.

Each number of workers reads the folder into a fresh record, one after the other. Printed: seconds, photos a second, the
processor seconds of a photo, the largest memory of a process, and how many times as fast as the first. Seconds mean
something only on a machine that does nothing else; processor seconds hardly change with what else runs, and the number
of workers times the first figure over this one is what the cores allow.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path


def read(folder: Path, workers: int) -> dict[str, float]:
    before = processor_seconds()
    with tempfile.TemporaryDirectory() as place:
        record = str(Path(place) / "record.sqlite")
        call = [sys.executable, "-c", "from screener.cli.main import run; run()", "backlog", str(folder), "--json"]
        call += ["--workers", str(workers), "--record", record]
        done = subprocess.run(call, check=True, capture_output=True, text=True)
    answer = json.loads(done.stdout)
    used = (processor_seconds() - before) / answer["read"]
    return {"workers": workers, "read": answer["read"], "seconds": answer["seconds"], "cpu_s_a_photo": round(used, 3)}


def processor_seconds() -> float:
    """User and system seconds of all processes that were started here and have ended."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return children.ru_utime + children.ru_stime


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--cores", type=int, nargs="+", default=[1, 2])
    given = parser.parse_args()
    first = None
    for workers in given.cores:
        took = read(given.folder, workers)
        first = first or took
        took["photos_a_second"] = round(took["read"] / took["seconds"], 3)
        took["times_as_fast"] = round(first["seconds"] / took["seconds"], 2)
        took["cores_allow"] = round(workers / first["workers"] * first["cpu_s_a_photo"] / took["cpu_s_a_photo"], 2)
        took["largest_process_mb"] = round(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)
        took["load"] = round(os.getloadavg()[0], 2)
        sys.stdout.write(json.dumps(took) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
