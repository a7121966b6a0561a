"""How much faster two cores read a backlog: ``python tests/receiving/measure_backlog.py FOLDER [--cores 1 2]``.

Each number of workers reads the folder into a fresh record, one after the other. Printed: seconds, photos a second, the
largest memory of a process, and how many times as fast as the first. Say it only of a machine that does nothing else.
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
    with tempfile.TemporaryDirectory() as place:
        record = str(Path(place) / "record.sqlite")
        call = [sys.executable, "-c", "from screener.cli.main import run; run()", "backlog", str(folder), "--json"]
        call += ["--workers", str(workers), "--record", record]
        done = subprocess.run(call, check=True, capture_output=True, text=True)
    answer = json.loads(done.stdout)
    return {"workers": workers, "read": answer["read"], "seconds": answer["seconds"]}


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--cores", type=int, nargs="+", default=[1, 2])
    given = parser.parse_args()
    first = None
    for workers in given.cores:
        took = read(given.folder, workers)
        first = first or took["seconds"]
        took["photos_a_second"] = round(took["read"] / took["seconds"], 3)
        took["times_as_fast"] = round(first / took["seconds"], 2)
        took["largest_process_mb"] = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        took["load"] = os.getloadavg()[0]
        sys.stdout.write(json.dumps(took) + "\n")


if __name__ == "__main__":
    main()
