"""Time and memory of `screener look` on a 12-megapixel photo beside one bare barcode read and one bare OCR pass.

    python tests/time_look.py PHOTO... [--repeats 3]

Each photo is enlarged to 4000 x 3000 first. Every measurement runs in a fresh process: the work is done once to warm
up (models loaded, caches filled) and then timed. The ratio is that of the medians, from one run on one machine.
"""

from __future__ import annotations

import argparse
import json
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from PIL import Image

SIZE = (4000, 3000)


def bare_codes(path: Path) -> None:
    import zxingcpp

    zxingcpp.read_barcodes(Image.open(path).convert("L"))


def bare_text(path: Path, engine: list[object] = []) -> None:  # noqa: B006 - keeps the engine between calls
    import cv2
    from rapidocr import RapidOCR

    if not engine:
        engine.append(RapidOCR())
    engine[0](cv2.imread(str(path)))


def whole_look(path: Path) -> None:
    from screener.looking.look import look

    look(path)


WORK = {"bare codes": bare_codes, "bare text": bare_text, "look": whole_look}


def measured(name: str, path: Path, repeats: int) -> dict[str, float]:
    work, seconds, cpu = WORK[name], [], []
    work(path)
    for _ in range(repeats):
        wall, used = time.perf_counter(), time.process_time()
        work(path)
        seconds.append(time.perf_counter() - wall)
        cpu.append(time.process_time() - used)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"seconds": statistics.median(seconds), "cpu_seconds": statistics.median(cpu), "peak_mb": peak}


def in_a_process_of_its_own(name: str, path: Path, repeats: int) -> dict[str, float]:
    done = subprocess.run(
        [sys.executable, __file__, "--child", name, "--repeats", str(repeats), str(path)],
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout.splitlines()[-1])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("photos", nargs="+", type=Path)
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--child")
    given = parser.parse_args()
    if given.child:
        print(json.dumps(measured(given.child, given.photos[0], given.repeats)))  # noqa: T201
        return
    with tempfile.TemporaryDirectory() as folder:
        for photo in given.photos:
            large = Path(folder) / f"{photo.stem}.jpg"
            Image.open(photo).convert("RGB").resize(SIZE, Image.Resampling.LANCZOS).save(large, quality=90)
            rows = {name: in_a_process_of_its_own(name, large, given.repeats) for name in WORK}
            report(photo, rows)


def report(photo: Path, rows: dict[str, dict[str, float]]) -> None:
    for name, row in rows.items():
        figures = f"{row['seconds']:6.2f} s  cpu {row['cpu_seconds']:6.2f} s  peak {row['peak_mb']:5.0f} MB"
        print(f"{photo.name:20} {name:11} {figures}")  # noqa: T201
    for unit in ("seconds", "cpu_seconds"):
        bare = rows["bare codes"][unit] + rows["bare text"][unit]
        print(f"{photo.name:20} ratio of {unit}: {rows['look'][unit] / bare:.2f}")  # noqa: T201


if __name__ == "__main__":
    main()
