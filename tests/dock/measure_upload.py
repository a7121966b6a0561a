"""How long a station waits, from the upload of a line's photos to its disposition, against the command line.

    python tests/dock/measure_upload.py [PHOTO...] [--rounds 3]

Both read the same photos afresh: the server is warm, as on a bench; the command line starts, as on a bench. Without
photos those of the first line of the sample delivery are taken. Prints the medians and their ratio.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from dock.conftest import line_when, put_photo
from dock.servers import real_server

NEED = "6205-2RS C3"
SHOWS = ("box", "face1", "face2", "other")
SAMPLE = Path(__file__).parents[2] / "samples" / "photos" / "01"


def by_command_line(photos: list[Path], folder: Path) -> float:
    """Seconds of ``screener verify`` with a new record."""
    words = ["verify", "--need", NEED, "--duty", "wet", "--record", str(folder / "cli.sqlite"), *map(str, photos)]
    begun = time.monotonic()
    command = [sys.executable, "-c", "from screener.cli.main import run; run()", *words]
    subprocess.run(command, check=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return time.monotonic() - begun


def by_server(photos: list[Path], folder: Path) -> float:
    """Seconds from the first byte sent to the answer that knows all photos; a new record, a warm server."""
    with real_server(folder) as server, server.client() as client:
        warm = client.post("/api/v1/parts", json={"need": NEED}).json()["run_id"]
        put_photo(client, warm, "1", photos[0].read_bytes()[:-2] + b"\xff\xd9\0")
        line_when(client, warm, "1", seconds=300)
        run = client.post("/api/v1/parts", json={"need": NEED, "duty": ["wet"]}).json()["run_id"]
        begun = time.monotonic()
        for photo, shows in zip(photos, SHOWS, strict=False):
            assert put_photo(client, run, "1", photo.read_bytes(), shows, photo.name).status_code == 202
        line_when(client, run, "1", seconds=300)
        return time.monotonic() - begun


def main() -> None:
    """Measure both in turn and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("photos", nargs="*", type=Path)
    asked.add_argument("--rounds", type=int, default=3)
    given = asked.parse_args()
    photos = given.photos or sorted(SAMPLE.glob("*.jpg"))
    times: dict[str, list[float]] = {"command line": [], "dock": []}
    for _ in range(given.rounds):
        for name, way in (("command line", by_command_line), ("dock", by_server)):
            with tempfile.TemporaryDirectory() as folder:
                times[name].append(way(photos, Path(folder)))
    medians = {name: statistics.median(each) for name, each in times.items()}
    for name, each in times.items():
        print(f"{name}: median {medians[name]:.1f} s of {[round(second, 1) for second in each]}")  # noqa: T201
    print(f"dock / command line: {medians['dock'] / medians['command line']:.2f}")  # noqa: T201


if __name__ == "__main__":
    main()
