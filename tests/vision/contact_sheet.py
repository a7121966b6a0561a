"""Contact sheet of what `look` misses: ``python tests/vision/contact_sheet.py FOLDER --out misses.html``.

FOLDER holds NAME.jpg with NAME.json beside it (labels as samples/drawing writes them). One card a miss: the crop,
what is true, what was read, and what of the label would explain it. Not a test; the page holds its own pictures.
"""

from __future__ import annotations

import argparse
import base64
import html
import json
import math
import re
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2

from screener.looking.look import look, use_one_thread
from screener.looking.reading import PhotoReading
from screener.vision.model import Ellipse, PartSeen
from screener.vision.photo import open_photo

SIDE_PX = 360
"""Pictures on the sheet are no larger."""
NEAR = 0.02
"""An outer edge within this share of its radius is right."""
SURE = 0.9
"""A wrong answer with more is confidently wrong."""
STYLE = """body{font:14px sans-serif;margin:1em}main{display:flex;flex-wrap:wrap;gap:1em}
article{width:370px;border:1px solid #888;padding:6px}img{max-width:360px}h2{font-size:1em;margin:.3em 0}
.sure{border:3px solid #000}p{margin:.2em 0}"""


@dataclass(frozen=True)
class Miss:
    """One thing that was not read as it is."""

    photo: Path
    what: str
    true: str
    read: str
    cause: str
    sure: bool
    picture: bytes


def misses(photo: Path, label: dict[str, Any]) -> Iterator[Miss]:
    """Compare one photo's reading with its label."""
    reading = look(photo, frozenset({"parts"}))
    truth = label["ellipses_px"]["od_full"]
    part = min(reading.parts, key=lambda p: off(p.outer_ellipse_px, truth), default=None)
    cause, picture = causes(label, reading), crop(photo, truth)
    for what, true, read, p in compared(label, part):
        if true != read:
            wrong = p > SURE and read not in ("", "not_seen", "not read")
            yield Miss(photo, what, true, f"{read} (p {p:.2f})" if p else read, cause, wrong, picture)


def compared(label: dict[str, Any], part: PartSeen | None) -> Iterator[tuple[str, str, str, float]]:
    """What is compared: its name, what is true, what was read, how surely."""
    if part is None:
        yield "located", "a part", "none", 0.0
        return
    error = off(part.outer_ellipse_px, label["ellipses_px"]["od_full"])
    yield "located", "within 2 %", "within 2 %" if error < NEAR else f"{100 * error:.1f} % off", 0.0
    yield "kind", label["kind"], part.kind, part.kind_p or 0.0
    if label["kind"] == "bearing" and part.closure:
        yield "closure", label["closure"], part.closure.value, part.closure.p
    if label["kind"] == "shaft_seal" and part.lip_face:
        yield "lip face", label["lip_face"], part.lip_face.value, part.lip_face.p
    mark = label.get("marking") or {}
    if label["kind"] == "bearing" and mark.get("present"):
        read = part.designation
        yield "designation", key(mark["designation"]), key(read.text) if read else "not read", read.p if read else 0.0


def key(text: str) -> str:
    """Letters and digits only."""
    return re.sub(r"[^A-Z0-9]", "", text.upper())


def off(found: Ellipse, true: dict[str, float]) -> float:
    """Largest of centre offset and axis errors, as a share of the true semi-major axis."""
    shift = math.hypot(found.cx - true["cx"], found.cy - true["cy"])
    return max(shift, abs(found.a - true["a"]), abs(found.b - true["b"])) / true["a"]


def causes(label: dict[str, Any], reading: PhotoReading) -> str:
    """What of the label, or of what the photo itself says, would explain a miss."""
    mark = label.get("marking") or {}
    said = [
        (label.get("text_height_px", 99) < 14, f"letters {label.get('text_height_px', 0):.0f} px"),
        (label.get("blur_px", 0) >= 1.2, f"blur {label.get('blur_px', 0):.1f} px"),
        (label.get("motion_px", 0) >= 5, f"motion {label.get('motion_px', 0):.0f} px"),
        (bool(mark.get("defect")), f"mark {mark.get('defect')}"),
        (bool(mark.get("present")) and mark.get("strength", 1) < 0.45, f"contrast {mark.get('strength', 1):.2f}"),
        (label.get("tilt_deg", 0) > 30, f"tilt {label.get('tilt_deg', 0):.0f}°"),
        (mark.get("place") == "closure", "mark on the closure"),
    ]
    words = [text for holds, text in said if holds] + [problem.code for problem in reading.problems]
    return ", ".join(words) or "nothing in the label explains it"


def crop(photo: Path, ellipse: dict[str, float]) -> bytes:
    """The part with some bench around it, as a small JPEG."""
    rgb = open_photo(photo).rgb
    reach = 1.15 * ellipse["a"]
    left, top = max(0, int(ellipse["cx"] - reach)), max(0, int(ellipse["cy"] - reach))
    cut = rgb[top : int(ellipse["cy"] + reach), left : int(ellipse["cx"] + reach)]
    shrink = min(1.0, SIDE_PX / max(cut.shape[:2]))
    small = cv2.resize(cut, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    return bytes(cv2.imencode(".jpg", cv2.cvtColor(small, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, 85])[1])


def page(found: list[Miss], photos: int) -> str:
    """The sheet as one HTML page."""
    counts = ", ".join(f"{what} {n}" for what, n in Counter(miss.what for miss in found).items())
    cards = "".join(map(card, sorted(found, key=lambda miss: (not miss.sure, miss.what, miss.photo.name))))
    return (
        f"<!doctype html><html lang=en><meta charset=utf-8><title>Misses</title><style>{STYLE}</style>"
        f"<h1>{len(found)} misses on {photos} photos</h1><p>{counts or 'none'}. A thick frame: surely wrong.</p>"
        f"<main>{cards}</main></html>"
    )


def card(miss: Miss) -> str:
    """One miss."""
    picture = base64.b64encode(miss.picture).decode()
    rows = "".join(
        f"<p>{name}: {html.escape(text)}</p>"
        for name, text in (("true", miss.true), ("read", miss.read), ("likely cause", miss.cause))
    )
    return (
        f"<article{' class=sure' if miss.sure else ''}><h2>{html.escape(miss.photo.name)}: {miss.what}</h2>"
        f'<img alt="the part in {html.escape(miss.photo.name)}" src="data:image/jpeg;base64,{picture}">{rows}</article>'
    )


def main() -> None:
    """Look at every labelled photo of a folder and write the sheet."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("folder", type=Path)
    ask.add_argument("--out", type=Path, default=Path("misses.html"))
    ask.add_argument("--limit", type=int)
    given = ask.parse_args()
    use_one_thread()
    labels = [path for path in sorted(given.folder.glob("*.json")) if path.with_suffix(".jpg").exists()][: given.limit]
    found: list[Miss] = []
    for path in labels:
        label = json.loads(path.read_text())
        if label.get("fully_in_view", True):
            found += misses(path.with_suffix(".jpg"), label)
    given.out.write_text(page(found, len(labels)), encoding="utf-8")
    sys.stdout.write(f"{len(found)} misses on {len(labels)} photos: {given.out}\n")


if __name__ == "__main__":
    main()
