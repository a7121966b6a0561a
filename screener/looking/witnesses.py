"""Codes confirmed, or called into doubt, by the digits printed near them.

A right check digit is no witness, and two engines can make one mistake; the digits under the bars are read by other
eyes. Only the line that stands at the code counts: another number elsewhere on the label is another number.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from screener.codes.witness import printed_digits_agree, with_witness

if TYPE_CHECKING:
    from collections.abc import Iterable

    from screener.codes.model import CodeRead
    from screener.vision.model import LabelSeen, Point

RETAIL = frozenset({"EAN-13", "EAN-8", "UPC-A", "UPC-E", "ITF-14", "ITF"})
NEAR = 0.6
"""How far from the code its digits may stand, as a share of the code's longer side."""
DIFFERS = "The digits printed under the code read otherwise: scan again, compare by eye."


def with_printed_digits(codes: Iterable[CodeRead], label: LabelSeen | None) -> tuple[CodeRead, ...]:
    """Return the codes with the witness of the printed digits where those were read."""
    return tuple(_witnessed(code, label) for code in codes)


def _witnessed(code: CodeRead, label: LabelSeen | None) -> CodeRead:
    if label is None or code.symbology not in RETAIL or not code.corners_px:
        return code
    verdicts = [
        v for line in label.lines if _near(line.region_px, code) and (v := _verdict(code, line.text)) is not None
    ]
    if True in verdicts:
        return with_witness(code, "printed digits")
    if verdicts and not code.confirmed_by:
        return replace(code, remarks=(*code.remarks, DIFFERS))
    return code


def _verdict(code: CodeRead, printed: str) -> bool | None:
    # A line with letters is no line of digits: "Lot 4006381333931" is another number.
    return None if re.search(r"[A-Za-z]{2}", printed) else printed_digits_agree(code, printed)


def _near(region: tuple[Point, ...], code: CodeRead) -> bool:
    if not region:
        return False
    xs, ys = [x for x, _ in code.corners_px], [y for _, y in code.corners_px]
    reach = NEAR * max(max(xs) - min(xs), max(ys) - min(ys))
    x, y = sum(p[0] for p in region) / len(region), sum(p[1] for p in region) / len(region)
    return min(xs) - reach <= x <= max(xs) + reach and min(ys) - reach <= y <= max(ys) + reach
