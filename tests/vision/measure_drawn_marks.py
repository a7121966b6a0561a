"""Measure how marks on drawn faces are read: ``python tests/vision/measure_drawn_marks.py [--faces 100] [--hard]
[--varied] [--photos 3]``.

Not a test: it takes about half a second a face and uses whatever fonts the machine has. Easy faces are legible
(capitals 14-32 px, contrast 0.45-1, blur up to 1.1 px); hard ones have contrast 0.2-0.6, blur 0.8-2 px and more
noise. With ``--varied`` marks are also stamped or dotted, carry a country's name as well, and closures lie deeper than
the rings. The rings handed over are off by about 0.5 %. With ``--photos`` each face is drawn several times under other
light, tilt and blur, and what is counted is what the photos give together, beside what the best of them gives. With
``--traced DIR`` the photos of tests/training/held_out_marks.py are read instead, ``--without-signs`` leaves the trained
reader out.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
import time
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from vision.drawn_marks import DrawnFace, DrawnMark, draw

from screener.receiving.observe_part import LEAST_DESIGNATION_P, LEAST_MARGIN
from screener.vision.marks import MarksSeen, read_marks, sign_reader
from screener.vision.marks.designation import key_of
from screener.vision.model import DesignationRead, Ellipse
from screener.vision.several import Ballot, elect_designation
from screener.vision.text_engine import TextEngine

NUMBERS = re.findall(
    r"\S+",
    """608 623 625 626 688 695 6000 6001 6002 6003 6004 6005 6006 6200 6201 6202 6203 6204 6205 6206 6300 6301 6302 6303
    6304 6305 6306 6406 6800 6802 6804 6900 6902 6904 6905 16002 16004 61801 61902 62201 62202 63002""",
)
CLOSURES = ("", "", "", "ZZ", " ZZ", "-2Z", "-2RS", "2RS", " 2RS", "-2RS1", "-2RSR", "-2RSH", "DDU", "LLU", "VV", "2RZ")
CLEARANCES = ("", "", "", "/C3", " C3", "C3", "/C4", "/C2")
MAKERS = ("TILBRIX", "ZEFONA", "HAVRIM", "BELTUNO", "NURIDAL")
COUNTRIES = ("ITALY", "JAPAN", "GERMANY", "FRANCE", "POLAND")
LEGIBLE_PX, LEGIBLE_SHARE = 14.0, 0.45
"""Lower or fainter marks are not counted as legible; glare, dirt and blur are not looked at."""
SANS = ("DejaVuSans", "Liberation", "NotoSansMono", "NimbusSans", "NimbusMono", "URWGothic")


def fonts() -> list[str]:
    """Plain fonts of this machine, and Pillow's own."""
    files = [*Path("/usr/share/fonts").rglob("*.ttf"), *Path("/usr/share/fonts").rglob("*.otf")]
    plain = [f for f in files if f.name.startswith(SANS) and not {"Italic", "Oblique"} & set(f.stem.split("-"))]
    return ["", *sorted(str(f) for f in plain if "Italic" not in f.name and "Oblique" not in f.name)]


def any_face(seed: int, *, hard: bool, typefaces: list[str]) -> tuple[str, DrawnFace]:
    """Return a designation and a face that carries it."""
    rng = np.random.default_rng(seed)
    designation = f"{rng.choice(NUMBERS)}{rng.choice(CLOSURES)}{rng.choice(CLEARANCES)}"
    lot = f"{rng.integers(10, 60)}{rng.choice(list('ABCDEFGHK'))}{rng.integers(0, 1000):03d}"
    words = [str(rng.choice(MAKERS)), designation, lot][: rng.integers(2, 4)]
    start = rng.uniform(0, 360)
    marks = tuple(DrawnMark(word, (start + 360 * i / len(words)) % 360) for i, word in enumerate(words))
    bore, height = rng.uniform(0.3, 0.6), rng.uniform(0.048, 0.08)
    closure = str(rng.choice(["open", "shield", "rubber_seal"]))
    on_closure = closure != "open" and rng.random() < 0.3
    inner = bore + 0.35 * (0.84 - bore)
    return designation, DrawnFace(
        marks,
        radius_px=min(460.0, rng.uniform(14, 32) / height),
        bore_share=bore,
        text_radius=max(inner + 0.08, min(0.77, 0.5 * (inner + 0.83))) if on_closure else 0.912,
        text_height=height,
        pitch=rng.uniform(0.85, 1.5),
        inward=bool(rng.random() < 0.5),
        dark=bool(rng.random() < 0.5),
        strength=rng.uniform(0.2, 0.6) if hard else rng.uniform(0.45, 1.0),
        tilt_deg=rng.uniform(0, 32),
        tilt_towards_deg=rng.uniform(0, 360),
        blur_px=rng.uniform(0.8, 2.0) if hard else float(rng.choice([0, 0, 0.6, 0.9, 1.1])),
        noise=rng.uniform(2, 8) if hard else rng.uniform(0.5, 5),
        jpeg=int(rng.uniform(65, 95)),
        closure=closure,
        glare=rng.uniform(0, 0.6),
        font=str(rng.choice(typefaces)),
        seed=seed,
    )


def varied(face: DrawnFace, seed: int) -> tuple[str, DrawnFace]:
    """Return what the face's mark is now called, and the face struck another way, with more words and a sunk closure.

    Drawn from its own seed, so that the plain faces stay the same from one measurement to the next.
    """
    rng = np.random.default_rng(seed + 31)
    process = str(rng.choice(["etched", "stamped", "dotted"]))
    on_closure = face.text_radius < 0.85
    marks = face.marks
    if rng.random() < 0.5:
        gap = 360.0 / (len(marks) + 1)
        words = [*(mark.text for mark in marks), str(rng.choice(COUNTRIES))]
        marks = tuple(DrawnMark(word, (marks[0].at_deg + gap * i) % 360) for i, word in enumerate(words))
    recess = float(rng.uniform(0.02, 0.07)) if face.closure != "open" else 0.0
    kind = f"{process}, {'closure' if on_closure else 'ring'}"
    return kind, replace(face, marks=marks, process=process, recess=recess)


def by_kind(kinds: list[str], rows: list[tuple[bool, DesignationRead | None]]) -> str:
    """Return a line for each kind of mark: how many, how many exact, how many wrong and sure."""
    lines = []
    for kind in sorted(set(kinds)):
        own = [row for name, row in zip(kinds, rows, strict=True) if name == kind]
        sure = sum(1 for good, read in own if not good and read is not None and read.p > 0.9)
        lines.append(f"  {kind:20} exact {sum(good for good, _ in own):3d} of {len(own):3d}, wrong and sure {sure}")
    return "\n".join(lines)


def other_looks(face: DrawnFace, seed: int, photos: int) -> list[DrawnFace]:
    """Return the face as so many photos show it: another lamp, another tilt, another blur."""
    rng = np.random.default_rng(seed + 7)
    others = (
        replace(
            face,
            seed=seed + 1_000_000 * again,
            tilt_deg=rng.uniform(0, 32),
            tilt_towards_deg=rng.uniform(0, 360),
            strength=float(np.clip(face.strength * rng.uniform(0.7, 1.4), 0.08, 1.0)),
            blur_px=face.blur_px * rng.uniform(0.7, 1.3),
            glare=rng.uniform(0, 0.6),
        )
        for again in range(1, photos)
    )
    return [face, *others]


def together(seen: list[MarksSeen]) -> DesignationRead | None:
    """Return what several photos give together, held to the limits that receiving has."""
    elected = elect_designation([Ballot({vote.text: vote.p for vote in each.votes}) for each in seen])
    if elected is None or elected.p < LEAST_DESIGNATION_P or elected.margin < LEAST_MARGIN:
        return None
    return DesignationRead(elected.value, elected.p)


def surest(seen: list[MarksSeen]) -> DesignationRead | None:
    """Return the surest single reading that is fit for use."""
    reads = [each.designation for each in seen if each.designation and each.designation.p >= LEAST_DESIGNATION_P]
    return max(reads, key=lambda read: read.p, default=None)


def jolted(ellipse: Ellipse, rng: np.random.Generator, by: float = 0.005) -> Ellipse:
    """Return the ellipse with an error of this relative size."""
    a, b = sorted((ellipse.a * (1 + rng.normal(0, by)), ellipse.b * (1 + rng.normal(0, by))), reverse=True)
    dx, dy = rng.normal(0, 0.7 * by * ellipse.a, 2)
    return Ellipse(ellipse.cx + dx, ellipse.cy + dy, a, b, ellipse.angle_deg)


def summary(rows: list[tuple[bool, DesignationRead | None]], seconds: float) -> str:
    """Return figures and a table of stated against true probability."""
    given = [(good, read.p) for good, read in rows if read is not None]
    right = sum(good for good, _ in given)
    sure = [good for good, p in given if p > 0.9]
    lines = [
        f"{len(rows)} faces, {seconds / len(rows):.2f} CPU s each",
        f"exact {right}, wrong {len(given) - right}, not read {len(rows) - len(given)}",
        f"p > 0.9: {len(sure)}, of these wrong {len(sure) - sum(sure)}",
    ]
    for low, high in ((0.2, 0.5), (0.5, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 1.01)):
        within = [good for good, p in given if low <= p < high]
        lines.append(f"  p {low:.1f}-{min(high, 1):.1f}: {len(within):3d} read, {sum(within):3d} right")
    return "\n".join(lines)


def traced(folder: Path, engine: TextEngine) -> tuple[list[str], list[tuple[bool, DesignationRead | None]], float]:
    """Read labelled traced faces; kinds are by how well anybody could read them."""
    kinds, rows, seconds = [], [], 0.0
    for number, name in enumerate(sorted(folder.glob("*.json"))):
        label = json.loads(name.read_text(encoding="utf-8"))
        gray = cv2.imread(str(name.with_suffix(".png")), cv2.IMREAD_GRAYSCALE)
        rng = np.random.default_rng(number)
        outer, bore = (jolted(Ellipse(**label[which]), rng, 0.003) for which in ("outer", "bore"))
        begin = time.process_time()
        read = read_marks(gray, outer, bore, kind="bearing", engine=engine).designation
        seconds += time.process_time() - begin
        plain = label["share"] >= LEGIBLE_SHARE and label["relief"] == 0
        high = label["capitals_px"] >= LEGIBLE_PX
        kinds.append("legible" if plain and high else "faint or pressed" if high else "low")
        rows.append((_is(read, label["designation"]), read))
    return kinds, rows, seconds


def main() -> None:
    """Draw, read, count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--faces", type=int, default=100)
    parser.add_argument("--first-seed", type=int, default=10_000)
    parser.add_argument("--hard", action="store_true")
    parser.add_argument("--photos", type=int, default=1)
    parser.add_argument("--fainter", type=float, default=1.0, help="factor on the contrast of the letters")
    parser.add_argument("--varied", action="store_true", help="stamped and dotted too, countries, sunk closures")
    parser.add_argument("--traced", type=Path, help="folder of tests/training/held_out_marks.py")
    parser.add_argument("--without-signs", action="store_true", help="leave the trained reader out")
    options = parser.parse_args()
    if options.without_signs:
        sign_reader.MODEL = Path("left-out")
    if options.traced:
        kinds, rows, seconds = traced(options.traced, TextEngine(threads=1))
        sys.stdout.write(summary(rows, seconds) + "\n" + by_kind(kinds, rows) + "\n")
        return
    engine, typefaces, rows, singles, kinds, seconds = TextEngine(threads=1), fonts(), [], [], [], 0.0
    for seed in range(options.first_seed, options.first_seed + options.faces):
        designation, face = any_face(seed, hard=options.hard, typefaces=typefaces)
        face = replace(face, strength=face.strength * options.fainter)
        kind, face = varied(face, seed) if options.varied else ("plain", face)
        kinds.append(kind)
        seen = []
        for look in other_looks(face, seed, options.photos):
            gray, outer, bore = draw(look)
            rng = np.random.default_rng(look.seed)
            begin = time.process_time()
            seen.append(read_marks(gray, jolted(outer, rng), jolted(bore, rng), kind="bearing", engine=engine))
            seconds += time.process_time() - begin
        read = together(seen) if options.photos > 1 else seen[0].designation
        rows.append((_is(read, designation), read))
        singles.append((_is(surest(seen), designation), surest(seen)))
        if not rows[-1][0]:
            sys.stdout.write(f"{seed} {kind} {designation} -> {read} {[m.text for each in seen for m in each.marks]}\n")
    sys.stdout.write(summary(rows, seconds) + "\n" + by_kind(kinds, rows) + "\n")
    if options.photos > 1:
        sys.stdout.write("the surest single photo:\n" + summary(singles, seconds) + "\n")


def _is(read: DesignationRead | None, designation: str) -> bool:
    return read is not None and key_of(read.text) == key_of(designation)


if __name__ == "__main__":
    main()
