"""Has the outside wall a snap-ring groove (suffix N) beside the face that is seen? Told from tilted photos only.

A groove shows as a line around the near side of the wall, a little below the top: darker than the wall, now and then
lighter, and the same all along. What else draws lines there is told apart by its sides: the wall mirrors the bench
above a groove as it does below, whereas a line on the chamfer has the face on one side and the wall on the other; the
edge of a shadow and the foot of the wall have two different sides as well.

An open groove is meant. With its snap ring in place the groove is filled, and the ring's edge is taken for the part's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from screener.vision.model import GrooveSeen
from screener.vision.wall import straightened, wall_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.model import Ellipse
    from screener.vision.photo import Photo

    Floats = NDArray[np.floating]

STEP = 0.004
"""Height of a row of the straightened wall, in outer radii."""
FIRST_DEPTH, LAST_DEPTH = -0.15, 0.36
COLUMNS = 72
FEW = 22
"""Columns in which a groove may fail to show: three in ten."""
WIDTHS = (0.036, 0.05, 0.07, 0.095)
"""Widths looked for. snap_ring_grooves.csv has 0.045 to 0.09 outer radii, and up to 0.3 mm more are allowed."""
STARTS = tuple(0.008 * k for k in range(-11, 16))
"""Depths of a groove's upper edge below the outer ellipse, which lies under the chamfer: 0.01 to 0.12 by the table.
Where the groove itself was taken for the part's outer edge, it lies above that."""
ABOVE_THE_EDGE = -0.002
"""Starts less deep than this lie on what was taken for the face."""
WALL_BELOW = (0.13, 0.30)
"""Where there is plain wall whatever the groove, on parts that are wide enough."""

USUAL_WIDTH = 0.055
LEAST_PX, LEAST_PX_TO_MISS = 2.0, 4.0
"""Height of a usual groove in the photo from which one may be seen, and from which none is a finding."""
CLEAR_PX = 6.0
MIDDLE, SLOPE = 0.13, 20.0
"""Line strength (natural log of light) at which a groove is as likely as not, and how fast that changes."""
NOTHING, NOTHING_ANYWHERE = 0.04, 0.1
"""Strengths below which there is no line in most columns, and none even in some."""
LEAST_LIGHT = 0.05
"""Linear light of the wall below which a dark line would be lost (60 of 255)."""
MIN_P = 0.6
SUREST = 0.97
ABSENT_P, ABSENT_CLEAR_P = 0.85, 0.9
"""No line is a weaker sign than a line: a groove whose sides mirror the bench as its wall does would not show."""

_LUMA = np.array([0.2126, 0.7152, 0.0722], np.float32)
_EVEN = np.full(3, 1 / 3, np.float32)
_NOT_SEEN = GrooveSeen("not_seen", 1.0)


@dataclass(frozen=True, slots=True)
class WallSigns:
    """What the wall shows, as numbers."""

    groove_px: float
    """Height of a usual groove in the photo at the nearest place; zero where no wall is seen."""
    line: float = 0.0
    """Strength of the strongest line that looks like a groove (difference of natural logs of light)."""
    line_somewhere: float = 0.0
    """The same where it need show in a third of the columns only."""
    light: float = 0.0
    """Linear light of the wall, median."""
    whole: bool = False
    """Whether the wall lies in the photo."""


def see_groove(photo: Photo, outer: Ellipse, bore: Ellipse) -> GrooveSeen:
    """Judge the wall under one face of a bearing.

    Parameters
    ----------
    photo
        The photo.
    outer, bore
        Circles of the full outside diameter and bore, in pixels of the photo; a per cent off does no harm.
    """
    return judge(measure_wall(photo.rgb, outer, bore))


def judge(signs: WallSigns) -> GrooveSeen:
    """Decide from the numbers."""
    if signs.groove_px < LEAST_PX or not signs.whole:
        return _NOT_SEEN
    p = 1.0 / (1.0 + math.exp(-SLOPE * (signs.line - MIDDLE)))
    if p >= MIN_P:
        return GrooveSeen("present", round(min(p, SUREST), 3))
    clean = signs.line < NOTHING and signs.line_somewhere < NOTHING_ANYWHERE and signs.light >= LEAST_LIGHT
    if clean and signs.groove_px >= LEAST_PX_TO_MISS:
        return GrooveSeen("absent", ABSENT_CLEAR_P if signs.groove_px >= CLEAR_PX else ABSENT_P)
    return _NOT_SEEN


def measure_wall(rgb: NDArray[np.uint8], outer: Ellipse, bore: Ellipse) -> WallSigns:
    """Measure the wall under one face; ``rgb`` is the whole photo."""
    wall = wall_of(outer, bore)
    groove_px = USUAL_WIDTH * wall.px_per_radius
    if groove_px < LEAST_PX:
        return WallSigns(max(groove_px, 0.0))
    light, whole = straightened(rgb, wall, np.arange(FIRST_DEPTH, LAST_DEPTH, STEP), COLUMNS)
    line, somewhere = _strongest_line(np.log(light + 0.02 * float(np.percentile(light, 90)) + 0.001))
    below = (light @ _LUMA)[_row(WALL_BELOW[0]) : _row(WALL_BELOW[1])]
    return WallSigns(groove_px, line, somewhere, float(np.median(below)), whole)


def _row(depth: float) -> int:
    return round((depth - FIRST_DEPTH) / STEP)


def _strongest_line(log: Floats) -> tuple[float, float]:
    """Strength in most columns, and in some; ``log`` (rows × columns × 3) is the log of the wall's light."""
    sums = np.concatenate([np.zeros((1, *log.shape[1:])), np.cumsum(log, axis=0, dtype=np.float64)]).astype(np.float32)
    plain = _means(sums, np.array([WALL_BELOW[0]]), np.array([WALL_BELOW[1]]))
    strengths = [_lines(sums, plain, width) for width in WIDTHS]
    return max(s[0] for s in strengths), max(s[1] for s in strengths)


def _lines(sums: Floats, plain: Floats, width: float) -> tuple[float, float]:
    """The strongest line of one width."""
    start = np.array(STARTS)
    on_face = start < ABOVE_THE_EDGE
    land = np.where(on_face, 0.5 * width, np.clip(start + 0.008, 0.012, max(0.6 * width, 0.012)))
    above = _means(sums, start - land - STEP, start - STEP)
    below = _means(sums, start + width + STEP, start + 1.6 * width + STEP)
    inside = _means(sums, start + 0.2 * width, start + 0.8 * width)
    to_above, to_below = (inside - above) @ _LUMA, (inside - below) @ _LUMA
    lighter, darker = np.minimum(to_above, to_below), np.minimum(-to_above, -to_below)
    one_way = np.where((np.median(to_above + to_below, axis=1) > 0)[:, None], lighter, darker)
    either = np.maximum(lighter, darker)
    unlike = np.median(np.abs(above - below) @ _EVEN, axis=1)
    unlike_wall = np.median(np.abs(above - plain) @ _EVEN, axis=1)
    off = np.where(on_face, 0.7 * (unlike + unlike_wall), 0.15 * unlike)
    # Lamps shine in a part of a groove: a line that is dark here and light there counts, for less.
    weakest_first = np.sort(either, axis=1)
    most = np.maximum(np.sort(one_way, axis=1)[:, FEW], 0.7 * weakest_first[:, FEW]) - off
    some = (weakest_first[:, -FEW] - off)[~on_face]
    return float(most.max()), float(some.max())


def _means(sums: Floats, first: Floats, last: Floats) -> Floats:
    """Mean between two depths, (starts × columns × 3)."""
    low = np.rint((first - FIRST_DEPTH) / STEP).astype(int)
    high = np.maximum(np.rint((last - FIRST_DEPTH) / STEP).astype(int), low + 1)
    return np.asarray((sums[high] - sums[low]) / (high - low)[:, None, None])
