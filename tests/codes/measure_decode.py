"""Measure the code reader on drawn photos: tilts, large frames, time beside the bare engine, wrong texts.

    python tests/codes/measure_decode.py [--each 10] [--seed 1000] [tilts large time checks] [--only ITF]

Everything is drawn from the seed; another seed gives photos that nobody has looked at. The yardstick is the bare
engine (zxing-cpp's own default call) on the same photos. Times are CPU time, so that a busy machine does not count.
"""

from __future__ import annotations

import argparse
import datetime as dt
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import cv2
import numpy as np
import zxingcpp
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from codes.scenes import BarcodeFormat, label_scene

from screener.codes.decode import read_codes

TODAY = dt.date(2026, 3, 2)
TILTS_DEG = (0, 10, 15, 30, 45)
LINEAR = ("EAN-13", "UPC-A", "EAN-8", "Code 128", "Code 39", "Code 93", "ITF", "Codabar")


@dataclass
class Tally:
    """What reading a set of photos gave."""

    asked: int = 0
    right: int = 0
    bare: int = 0
    """Read by the bare engine."""
    wrong: int = 0
    wrong_confirmed: int = 0
    wrong_bare: int = 0
    seconds: float = 0.0

    def add(self, picture: NDArray[np.uint8], text: str) -> None:
        """Read one photo that shows exactly this text."""
        self.asked += 1
        start = time.process_time()
        codes = read_codes(picture, today=TODAY)
        self.seconds += time.process_time() - start
        bare = {barcode.text for barcode in zxingcpp.read_barcodes(picture, text_mode=zxingcpp.TextMode.Plain)}
        self.right += any(same(code.text, text) for code in codes)
        self.bare += any(same(read, text) for read in bare)
        odd = [code for code in codes if not same(code.text, text) and code.check_digit != "bad"]
        for code in odd:
            sys.stdout.write(
                f"    wrong: {code.symbology} {code.text!r} for {text!r}, confirmed by {code.confirmed_by}\n"
            )
        self.wrong += bool(odd)
        self.wrong_confirmed += any(code.confirmed_by for code in odd)
        self.wrong_bare += any(not same(read, text) for read in bare)


def say(line: str) -> None:
    """Print a line at once, so that a long run shows how far it is."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def same(read: str, text: str) -> bool:
    """Compare texts; a UPC-A may be given as the EAN-13 that it is."""
    return read == text or (len(read) == 13 and read == "0" + text) or (len(text) == 13 and text == "0" + read)


def content(name: str, rng: np.random.Generator) -> tuple[zxingcpp.BarcodeFormat, str, str]:
    """Return the writer's format, what to give it, and the text that a reader must return."""
    digits = "".join(str(d) for d in rng.integers(0, 10, 11))
    number = int(rng.integers(100, 9999))
    if name in ("EAN-13", "UPC-A", "EAN-8"):
        body = {"EAN-13": "9" + digits, "UPC-A": "8" + digits[:10], "EAN-8": "9" + digits[:6]}[name]
        kind = {"EAN-13": BarcodeFormat.EAN13, "UPC-A": BarcodeFormat.UPCA, "EAN-8": BarcodeFormat.EAN8}[name]
        total = sum(int(d) * (3 if place % 2 == 0 else 1) for place, d in enumerate(reversed(body)))
        return kind, body, body + str(-total % 10)
    kind, text = {
        "Code 128": (BarcodeFormat.Code128, f"62{number:04d}-2RS"),
        "Code 39": (BarcodeFormat.Code39, f"1T{number}A{digits[:3]}"),
        "Code 93": (BarcodeFormat.Code93, f"LOT{number}{digits[:3]}"),
        "ITF": (BarcodeFormat.ITF, digits[:10]),
        "Codabar": (BarcodeFormat.Codabar, f"A{digits[:8]}B"),
    }[name]
    return kind, text, text


def tilted(each: int, seed: int, names: tuple[str, ...] = LINEAR) -> None:
    """Print how many linear codes are read at each tilt, of as many as are read upright."""
    columns = "".join(f"{tilt:>16}" for tilt in TILTS_DEG)
    say(f"tilts: read / bare engine, of {each} each\n{'degrees':10}{columns}")
    sums = {tilt: Tally() for tilt in TILTS_DEG}
    for name in names:
        row = ""
        for tilt in TILTS_DEG:
            tally = Tally()
            for n in range(each):
                rng = np.random.default_rng((seed, n, LINEAR.index(name)))
                kind, given, text = content(name, rng)
                sign = 1 if n % 2 else -1
                tally.add(label_scene(given, kind, seed + n, tilt_deg=sign * tilt), text)
            row += f"{tally.right:>9} /{tally.bare:3}   "
            for field in tally.__dataclass_fields__:
                setattr(sums[tilt], field, getattr(sums[tilt], field) + getattr(tally, field))
        say(f"{name:10}{row}")
    for tilt, tally in sums.items():
        share = 100 * tally.right / max(1, sums[0].right)
        say(
            f"{tilt:3} deg: {tally.right} of {tally.asked} ({share:.0f} % of upright), bare {tally.bare}; wrong "
            f"{tally.wrong} (bare {tally.wrong_bare}), wrong and confirmed {tally.wrong_confirmed}; "
            f"{1000 * tally.seconds / tally.asked:.0f} ms of CPU a photo"
        )


def large(each: int, seed: int) -> None:
    """Print reads and the median CPU time on frames of 12 megapixels."""
    times, bare_times, tally = [], [], Tally()
    names = ("EAN-13", "Code 128", "Code 39", "Data Matrix", "QR Code")
    for n in range(each):
        rng = np.random.default_rng((seed, n))
        name = names[n % len(names)]
        if name in LINEAR:
            kind, given, text = content(name, rng)
        else:
            given = text = f"1P62{n:02d}-2RS"
            kind = BarcodeFormat.DataMatrix if name == "Data Matrix" else BarcodeFormat.QRCode
        scale = int(rng.integers(3, 9)) * (2 if name not in LINEAR else 1)
        picture = label_scene(given, kind, seed + n, size=(3000, 4000), scale=scale, tilt_deg=float(rng.uniform(-8, 8)))
        before = tally.seconds
        tally.add(picture, text)
        times.append(1000 * (tally.seconds - before))
        bare_times.append(1000 * cpu(lambda picture=picture: zxingcpp.read_barcodes(picture)))
    say(
        f"12 megapixels: {tally.right} of {tally.asked} read (bare {tally.bare}), median "
        f"{statistics.median(times):.0f} ms of CPU, "
        f"90 % below {sorted(times)[int(0.9 * len(times))]:.0f} (bare {statistics.median(bare_times):.0f}); "
        f"wrong {tally.wrong}, wrong and confirmed {tally.wrong_confirmed}"
    )


def beside_the_engine(each: int, seed: int) -> None:
    """Print our time in relation to the bare engine's on photos that it reads at once."""
    ours, bare = [], []
    for n in range(each):
        rng = np.random.default_rng((seed, n))
        kind, given, _ = content(LINEAR[n % len(LINEAR)], rng)
        picture = label_scene(given, kind, seed + n)
        if zxingcpp.read_barcodes(picture):
            bare.append(min(cpu(lambda picture=picture: zxingcpp.read_barcodes(picture)) for _ in range(3)))
            ours.append(min(cpu(lambda picture=picture: read_codes(picture, today=TODAY)) for _ in range(3)))
    say(
        f"read at once: {len(ours)} photos, ours {1000 * sum(ours) / len(ours):.1f} ms, bare engine "
        f"{1000 * sum(bare) / len(bare):.1f} ms, ratio {sum(ours) / sum(bare):.2f}"
    )


def wrong_check_digits(each: int, seed: int) -> None:
    """Print how many symbols printed with a wrong check digit are told as such, at several tilts."""
    for tilt in (0, 5, 12, 30):
        told = read_as_right = 0
        for n in range(each):
            rng = np.random.default_rng((seed, n))
            number = bad_number(rng)
            picture = label_scene(number, None, seed + n, tilt_deg=tilt)
            codes = read_codes(picture, today=TODAY)
            told += any(code.text == number and code.check_digit == "bad" for code in codes)
            read_as_right += any(code.check_digit == "ok" for code in codes)
        say(f"wrong check digit, {tilt:2} deg: told {told} of {each}, another number read {read_as_right}")


def bad_number(rng: np.random.Generator) -> str:
    """Return thirteen digits whose last is not their check digit."""
    _, _, text = content("EAN-13", rng)
    return text[:-1] + str((int(text[-1]) + int(rng.integers(1, 10))) % 10)


def cpu(work: Callable[[], object]) -> float:
    """Return the CPU seconds of one call."""
    start = time.process_time()
    work()
    return time.process_time() - start


def _asked(parts: list[str]) -> Iterator[str]:
    known = ("tilts", "large", "time", "checks")
    return (part for part in known if not parts or part in parts)


def main() -> None:
    """Print the tables asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parts", nargs="*")
    parser.add_argument("--each", type=int, default=10)
    parser.add_argument("--seed", type=int, default=1000)
    parser.add_argument("--only", choices=LINEAR, help="one symbology in the table of tilts")
    asked = parser.parse_args()
    tilted_names = (asked.only,) if asked.only else LINEAR
    cv2.setNumThreads(1)
    tables = {
        "tilts": partial(tilted, names=tilted_names),
        "large": large,
        "time": beside_the_engine,
        "checks": wrong_check_digits,
    }
    for part in _asked(asked.parts):
        tables[part](asked.each, asked.seed)


if __name__ == "__main__":
    main()
