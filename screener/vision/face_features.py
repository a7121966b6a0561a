"""What distinguishes faces, as numbers measured on the straightened ring.

Each number compares parts of one picture with each other. Absolute brightness and colour belong to the lamp; ratios
between the ring faces and what lies between them belong to the part. Rolling elements repeat around the ring, lettering
does not. Radial positions t run from 0 (outside diameter) to 1 (bore): a deep groove bearing has its ball circle near
t = 0.5, ground steel faces outside and inside of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from screener.vision.unwrap import ring_points, unwrap_ring

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from screener.vision.model import Ellipse
    from screener.vision.photo import Photo

WIDTH, HEIGHT = 720, 48
"""Strip: half a degree a column; a row is about a hundredth of the radius."""

OUTER_FACE, BAND, GAP, INNER_FACE = (0.05, 0.16), (0.36, 0.56), (0.56, 0.76), (0.80, 0.93)
"""Where a bearing has its outer ring's face, its balls or closure, the slit beside the inner ring, its inner face."""

ROLLING = (0.28, 0.72)
"""Rows in which balls and cage show."""

BALLS_SHOW = (0.34, 0.62)
"""Where some of each ball or of the cage shows also in tilted photos, in which the balls lie deeper than the faces."""

SECTORS = 24
BALLS = range(7, 25)
"""From miniature bearings to thin sections; six balls show as twelve."""

NAMES = (
    "repeat",
    "busy",
    "busy_ratio",
    "band_ratio",
    "band_ratio_spread",
    "band_chroma",
    "band_swing",
    "face_swing",
    "bore_to_od",
    "inner_ratio",
    "faces_ratio",
    "faces_differ",
    "gap_depth",
    "part_to_bench",
    "part_to_white",
    "face_chroma",
    "profile_travel",
    "channel",
    "line",
    "fine",
    "inner_flat",
    "cage_red",
    "cage_blue",
    "cage_light",
)
"""Order of the feature vector."""


@dataclass(frozen=True, eq=False)
class FaceFeatures:
    """Numbers measured on one face."""

    values: NDArray[np.float64]
    """As named in `NAMES`."""
    ball_count: int
    """Best repeat number; means balls only where ``repeat`` is high."""
    band_log_rgb: NDArray[np.float64]
    """Median linear RGB of the middle band by that of the steel faces, natural log."""
    part_log_rgb: NDArray[np.float64]
    """Median linear RGB of the whole face, natural log."""

    def __getitem__(self, name: str) -> float:
        """One value by name."""
        return float(self.values[NAMES.index(name)])


def measure_face(photo: Photo, outer: Ellipse, bore: Ellipse) -> FaceFeatures:
    """Measure one face.

    Parameters
    ----------
    photo
        The photo.
    outer, bore
        Outer edge and bore edge of the part.
    """
    strip = unwrap_ring(photo.rgb, bore, outer, width_px=WIDTH, height_px=HEIGHT)
    return measure_strip(strip, _bench(photo, outer, bore), (bore.a * bore.b / (outer.a * outer.b)) ** 0.5)


def _bench(photo: Photo, outer: Ellipse, bore: Ellipse) -> NDArray[np.uint8]:
    """Pixels (n × 3) just outside the part, and a coarse sample of the whole photo below them (second half)."""
    x, y = ring_points(bore, outer, np.linspace(-0.55, -0.2, 6)[:, None], np.linspace(0, 2 * np.pi, 90)[None, :])
    xi, yi = np.rint(x).astype(int).ravel(), np.rint(y).astype(int).ravel()
    inside = (xi >= 0) & (yi >= 0) & (xi < photo.width_px) & (yi < photo.height_px)
    around = photo.rgb[yi[inside], xi[inside]]
    step = max(1, min(photo.width_px, photo.height_px) // 60)
    whole = photo.rgb[::step, ::step].reshape(-1, 3)
    return np.concatenate([_repeat(around, len(whole)), whole]) if len(around) else np.concatenate([whole, whole])


def _repeat(pixels: NDArray[np.uint8], n: int) -> NDArray[np.uint8]:
    return pixels[np.arange(n) % len(pixels)]


def measure_strip(strip: NDArray[np.uint8], bench: NDArray[np.uint8], bore_to_od: float) -> FaceFeatures:
    """Measure a straightened face (`HEIGHT` × `WIDTH` × 3); ``bench`` as `_bench` gives it."""
    linear = _linear(strip)
    light = linear @ _LUMA
    # What is darker than this is noise and stray light: logarithms stop there.
    floor = 0.006 * float(np.percentile(light, 95)) + 0.0008
    log = np.log(light + floor)
    log_rgb = np.log(linear + floor)
    sectors = _sector_medians(log)
    repeat, balls = _repeats(log)
    around, whole = np.split(_linear(bench), 2)
    values = {
        "repeat": repeat,
        **_unrest(log),
        **_ratios(sectors, log_rgb),
        **_swings(sectors),
        **_against_bench(light, log_rgb, around, whole, floor),
        **_relief(log),
        **_cage(log, log_rgb),
        "bore_to_od": bore_to_od,
    }
    band = _rows(log_rgb, BAND) - 0.5 * (_rows(log_rgb, OUTER_FACE) + _rows(log_rgb, INNER_FACE))
    part = np.median(log_rgb[2:-3].reshape(-1, 3), axis=0)
    return FaceFeatures(np.array([values[name] for name in NAMES]), balls, np.median(band, axis=0), part)


_LUMA = np.array([0.2126, 0.7152, 0.0722])


def _linear(rgb: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Linear light from sRGB, by the 2.2 power that is close enough for ratios."""
    table = (np.arange(256) / 255.0) ** 2.2
    return np.asarray(table[rgb])


def _span(t: tuple[float, float]) -> slice:
    return slice(round(t[0] * (HEIGHT - 1)), round(t[1] * (HEIGHT - 1)) + 1)


def _rows(values: NDArray[np.float64], t: tuple[float, float]) -> NDArray[np.float64]:
    """Median over the rows of a radial span."""
    return np.asarray(np.median(values[_span(t)], axis=0))


def _sector_medians(log: NDArray[np.float64]) -> NDArray[np.float64]:
    """HEIGHT × SECTORS: median over the columns of each sector."""
    return np.asarray(np.median(log.reshape(HEIGHT, SECTORS, -1), axis=2))


def _bandpass(log: NDArray[np.float64], low: int, high: int) -> NDArray[np.float64]:
    """Keep what varies ``low`` to ``high`` times a turn: slower is lamp and tilt, faster is grain and noise."""
    spectrum = np.fft.rfft(log, axis=1)
    spectrum[:, :low] = 0
    spectrum[:, high:] = 0
    return np.asarray(np.fft.irfft(spectrum, n=log.shape[1], axis=1))


def _local_contrast(log: NDArray[np.float64]) -> NDArray[np.float64]:
    """Take away the surroundings (12 degrees either way) and the grain; no ringing beside letters."""
    wrapped = np.concatenate([log[:, -96:], log, log[:, :96]], axis=1)
    grain = cv2.GaussianBlur(wrapped, (0, 0), sigmaX=1.5, sigmaY=0.5)
    return np.asarray(grain - cv2.GaussianBlur(grain, (0, 0), sigmaX=24, sigmaY=0.5))[:, 96:-96]


def _repeats(log: NDArray[np.float64]) -> tuple[float, int]:
    """How well the rolling rows repeat (correlation with themselves turned by one ball), and the number of balls."""
    rows = _bandpass(log[_span(ROLLING)], BALLS.start, 150)
    power = (np.abs(np.fft.rfft(rows, axis=1)) ** 2).sum(axis=0)
    turned = np.fft.irfft(power, n=WIDTH * 4)
    score = {n: float(turned[round(WIDTH * 4 / n)]) / max(float(turned[0]), 1e-9) for n in BALLS}
    best = max(score.values())
    # A ring that repeats 12 times also repeats 6 and 4 times: the largest near-best number is meant.
    balls = max(n for n in BALLS if score[n] >= best - 0.1 * abs(best))
    return best, max((n for n in (balls - 1, balls, balls + 1) if n in score), key=lambda n: score[n])


def _unrest(log: NDArray[np.float64]) -> dict[str, float]:
    """Contrast around the ring (natural log) in its quieter sectors: balls are everywhere, letters here and there."""

    def quiet(t: tuple[float, float]) -> float:
        rows = _local_contrast(log[_span(t)]).reshape(-1, 12, WIDTH // 12)
        return float(np.sort(np.percentile(rows.std(axis=2), 75, axis=0))[2])

    band, faces = quiet(BALLS_SHOW), 0.5 * (quiet(OUTER_FACE) + quiet(INNER_FACE))
    return {"busy": float(np.log(band + 0.005)), "busy_ratio": float(np.log((band + 0.02) / (faces + 0.02)))}


def _ratios(sectors: NDArray[np.float64], log_rgb: NDArray[np.float64]) -> dict[str, float]:
    """Brightness and colour of the middle against the faces beside it, sector by sector."""
    outer, band, inner = (_rows(sectors, t) for t in (OUTER_FACE, BAND, INNER_FACE))
    ratio = band - 0.5 * (outer + inner)
    gap = sectors[_span(GAP)].min(axis=0)
    band_rgb, faces_rgb = _rows(log_rgb, BAND), 0.5 * (_rows(log_rgb, OUTER_FACE) + _rows(log_rgb, INNER_FACE))
    return {
        "band_ratio": float(np.median(ratio)),
        "band_ratio_spread": float(np.percentile(ratio, 80) - np.percentile(ratio, 20)),
        "inner_ratio": float(np.median(inner - band)),
        "faces_ratio": float(np.median(np.minimum(inner, outer) - band)),
        "faces_differ": float(np.median(np.abs(inner - outer))),
        "gap_depth": float(np.median(np.minimum(inner, band) - gap)),
        "band_chroma": _chroma(np.median(band_rgb - faces_rgb, axis=0)),
    }


def _chroma(log_rgb: NDArray[np.float64]) -> float:
    """Size of the colour difference, free of brightness."""
    return float(np.hypot(log_rgb[0] - log_rgb[1], log_rgb[2] - log_rgb[1]))


def _swings(sectors: NDArray[np.float64]) -> dict[str, float]:
    """How much brightness swings around the ring: bare metal mirrors the room, rubber does not."""

    def swing(t: tuple[float, float]) -> float:
        row = _rows(sectors, t)
        return float(np.percentile(row, 90) - np.percentile(row, 10))

    return {"band_swing": swing(BAND), "face_swing": 0.5 * (swing(OUTER_FACE) + swing(INNER_FACE))}


def _against_bench(
    light: NDArray[np.float64],
    log_rgb: NDArray[np.float64],
    around: NDArray[np.float64],
    whole: NDArray[np.float64],
    floor: float,
) -> dict[str, float]:
    """The part against the bench beside it and against the brightest things in the photo."""
    faces = np.concatenate([light[_span(OUTER_FACE)].ravel(), light[_span(INNER_FACE)].ravel()])
    part = float(np.log(np.median(faces) + floor))
    colour = np.median(0.5 * (_rows(log_rgb, OUTER_FACE) + _rows(log_rgb, INNER_FACE)), axis=0)
    return {
        "part_to_bench": part - float(np.log(np.median(around @ _LUMA) + floor)),
        "part_to_white": part - float(np.log(np.percentile(whole @ _LUMA, 97) + floor)),
        "face_chroma": _chroma(colour),
    }


def _cage(log: NDArray[np.float64], log_rgb: NDArray[np.float64]) -> dict[str, float]:
    """Colour between the rings against the steel faces, and how bright its brighter quarter is."""
    faces = 0.5 * (_rows(log_rgb, OUTER_FACE) + _rows(log_rgb, INNER_FACE))
    level = 0.5 * (_rows(log, OUTER_FACE) + _rows(log, INNER_FACE))
    apart = log_rgb[_span(BALLS_SHOW)] - faces[None]
    return {
        "cage_red": float(np.median(apart[..., 0] - apart[..., 1])),
        "cage_blue": float(np.median(apart[..., 2] - apart[..., 1])),
        "cage_light": float(np.percentile(log[_span(BALLS_SHOW)] - level[None], 75)),
    }


def _relief(log: NDArray[np.float64]) -> dict[str, float]:
    """Radial build of the face: steps and channels, a bright line, fine coils, a flat inner ring."""
    smooth = cv2.GaussianBlur(log, (0, 0), sigmaX=6, sigmaY=0.8)
    middle = smooth[_span((0.10, 0.84))]
    level = np.median(middle, axis=0)
    fine = _bandpass(log[_span((0.3, 0.95))], 60, 360).reshape(-1, 12, WIDTH // 12).std(axis=2)
    inner = smooth[_span((0.78, 0.92))]
    return {
        "profile_travel": float(np.median(np.abs(np.diff(middle, axis=0)).sum(axis=0))),
        "channel": float(np.median(level - np.percentile(middle, 8, axis=0))),
        "line": float(np.median(middle.max(axis=0) - level)),
        "fine": float(np.median(fine.max(axis=0))),
        "inner_flat": float(np.median(inner.std(axis=0))),
    }
