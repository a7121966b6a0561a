"""What each stage of ring finding adds, on a folder of labelled photos, and what harms it.

    python tests/vision/ablate_rings.py FOLDER [--half a|b] [--model OTHER.onnx] [--harm]

FOLDER holds NAME.jpg with NAME.json beside it, as samples/drawing/random_scenes.py writes them. Photos are split into
halves by a hash of their name: what is changed after looking at one half is scored on the other at the end only. With
``--harm`` the whole chain is measured on photos made smaller, blurred, noisy, coded hard, turned and gamma-bent.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import math
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from unittest import mock

import cv2
import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from screener.vision.card import find_card
from screener.vision.measure import Measures, measure
from screener.vision.model import Ellipse
from screener.vision.photo import Photo, open_photo
from screener.vision.rings import close_up
from screener.vision.rings.find import RingPair, find_parts
from screener.vision.rings.sharpen import sharpened

Pixels = NDArray[np.uint8]
STAGES = ("seen edges", "+ chamfer", "+ first network", "+ close up")
TURN_DEG = 37.0


@dataclass
class Score:
    """Errors of one row of the table, relative."""

    located: list[bool]
    ratio: list[float]
    ratio_held: list[bool]
    od: list[float]
    od_held: list[bool]

    def __str__(self) -> str:
        def middle(errors: list[float]) -> str:
            if not errors:
                return "     -       - "
            return f"{100 * np.median(errors):5.2f} % {100 * np.quantile(errors, 0.95):5.2f} %"

        def share(hits: list[bool]) -> str:
            return f"{sum(hits):3d}/{len(hits):<3d}"

        near = [e < 0.01 for e in self.od]
        return (
            f"{share(self.located)}  {middle(self.ratio)}  {share(self.ratio_held)}  {middle(self.od)}  {share(near)}"
            f"  {share(self.od_held)}"
        )


def half_of(name: str) -> str:
    """Fixed half of a photo."""
    return "ab"[hashlib.sha256(name.encode()).digest()[0] & 1]


def error(found: Ellipse, true: Ellipse) -> float:
    """Largest of centre, major and minor axis error over the true major semi-axis."""
    off = (math.hypot(found.cx - true.cx, found.cy - true.cy), abs(found.a - true.a), abs(found.b - true.b))
    return max(off) / true.a


def staged(image: Pixels, pair: RingPair, stage: str) -> RingPair:
    """The pair as it is after a stage."""
    if stage == "seen edges" and pair.bore_edge is not None:
        return replace(pair, outer=pair.outer_edge, bore=pair.bore_edge)
    if stage == "+ first network":
        with mock.patch.object(close_up, "close_up", return_value=None):
            return sharpened(image, pair)
    return sharpened(image, pair) if stage == "+ close up" else pair


def add(score: Score, label: dict[str, Any], true: Ellipse, pair: RingPair | None, measured: Measures | None) -> None:
    """Count one photo."""
    score.located.append(pair is not None and error(pair.outer.ellipse, true) < 0.02)
    if pair is None or measured is None or label["kind"] != "bearing":
        return
    ratio, real = measured.bore_to_od, label["bore_mm"] / label["od_mm"]
    if ratio is not None:
        score.ratio.append(abs(ratio.value / real - 1))
        score.ratio_held.append(abs(ratio.value - real) <= 1.96 * ratio.u)
    if measured.od_mm is not None:
        score.od.append(abs(measured.od_mm.value / label["od_mm"] - 1))
        score.od_held.append(abs(measured.od_mm.value - label["od_mm"]) <= 1.96 * measured.od_mm.u)


def nearest(pairs: tuple[RingPair, ...], true: Ellipse) -> RingPair | None:
    """The part that the label is of, if it was found at all."""
    whole = [p for p in pairs if p.bore is not None]
    return min(whole, key=lambda p: error(p.outer.ellipse, true), default=None)


def turned(image: Pixels, true: Ellipse) -> tuple[Pixels, Ellipse]:
    """Photo and ellipse turned about the middle, on a larger canvas."""
    height, width = image.shape[:2]
    side = math.ceil(math.hypot(width, height))
    way = cv2.getRotationMatrix2D(((width - 1) / 2, (height - 1) / 2), TURN_DEG, 1.0)
    way[:, 2] += [(side - width) / 2, (side - height) / 2]
    cx, cy = way @ [true.cx, true.cy, 1.0]
    picture = cv2.warpAffine(image, way, (side, side), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT)
    return np.asarray(picture, np.uint8), Ellipse(cx, cy, true.a, true.b, (true.angle_deg - TURN_DEG) % 180)


def harmed(image: Pixels, true: Ellipse, rng: np.random.Generator) -> dict[str, tuple[Pixels, Ellipse]]:
    """The same photo under worse conditions."""
    small = np.asarray(cv2.resize(image, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), np.uint8)
    _, coded = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, 40])
    noisy = np.clip(image + rng.normal(0, 12, image.shape), 0, 255).astype(np.uint8)
    bent = {f"gamma {g}": (255 * (image / 255.0) ** g + 0.5).astype(np.uint8) for g in (0.6, 1.6)}
    halved = Ellipse(true.cx / 2 - 0.25, true.cy / 2 - 0.25, true.a / 2, true.b / 2, true.angle_deg)
    same = {
        "as it is": image,
        "blur 2 px": np.asarray(cv2.GaussianBlur(image, (0, 0), 2.0), np.uint8),
        "noise 12": noisy,
        "JPEG 40": np.asarray(cv2.imdecode(coded, cv2.IMREAD_COLOR), np.uint8),
        **bent,
    }
    return {"half size": (small, halved), "turned 37": turned(image, true)} | {n: (p, true) for n, p in same.items()}


def ablated(photo: Photo, label: dict[str, Any], true: Ellipse, table: dict[str, Score]) -> None:
    """Add one photo to the table of stages."""
    pair, card = nearest(find_parts(photo.rgb), true), find_card(photo)
    for stage in STAGES:
        after = staged(photo.rgb, pair, stage) if pair is not None else None
        measured = measure(after, card, kind=label["kind"]) if after is not None else None
        add(table.setdefault(stage, Score([], [], [], [], [])), label, true, after, measured)


def shaken(photo: Photo, label: dict[str, Any], true: Ellipse, table: dict[str, Score]) -> None:
    """Add one photo to the table of harms (no card: the ratio is what is asked)."""
    for name, (picture, there) in harmed(photo.rgb, true, np.random.default_rng(3)).items():
        pair = nearest(find_parts(picture), there)
        after = sharpened(picture, pair) if pair is not None else None
        measured = measure(after) if after is not None else None
        add(table.setdefault(name, Score([], [], [], [], [])), label, there, after, measured)


def main() -> None:
    """Run from the command line."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("folder", type=Path)
    ask.add_argument("--half", choices=["a", "b"])
    ask.add_argument("--model", type=Path)
    ask.add_argument("--harm", action="store_true")
    given = ask.parse_args()
    if given.model is not None:
        close_up.MODEL = given.model
    table: dict[str, Score] = {}
    for path in sorted(given.folder.glob("*.json")):
        label = json.loads(path.read_text(encoding="utf-8"))
        if not label.get("fully_in_view", True) or given.half not in {None, half_of(path.stem)}:
            continue
        circle = label["ellipses_px"]["od_full"]
        true = Ellipse(*(circle[key] for key in ("cx", "cy", "a", "b", "angle_deg")))
        (shaken if given.harm else ablated)(open_photo(path.with_suffix(".jpg")), label, true, table)
    lines = [f"{'':14s} in 2 %   ratio med   95th   held     OD med    95th    in 1 %   held"]
    lines += [f"{name:14s} {score}" for name, score in table.items()]
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
