"""Small plots as SVG: lines or steps with axes, intervals, dots. For pages that are printed in black and white.

Each function returns one ``<svg>`` element: no script, no network, no style sheet needed, drawn in the colour of the
text around it. Curves differ by dash pattern, dots by shape, never by colour alone. Title and description are there
for a screen reader, and all texts are escaped.

    line_plot(Words("OC curve", "Chance falls from …"), Axis("bad, %", 0, 10), Axis("accepted, %", 0, 100),
              [Curve("normal", points), Curve("tightened", points)], marks=[Mark("AQL 1 %", 1.0)])
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Literal

WIDTH_PX = 640.0
_FRAME_TALL_PX = 270.0
_LEFT_PX, _RIGHT_PX, _TOP_PX, _BELOW_PX = 62.0, 18.0, 24.0, 48.0
_LETTER_PX = 13.0
_LETTER_WIDE_PX = 7.0
"""About the mean width of a letter of a sans-serif type; SVG cannot measure its own text."""
_ROW_PX = 26.0
_LABELS_AT_MOST_PX = 230.0
_DOT_PX = 4.5

DASHES = ("", "9 5", "2 4", "12 4 2 4", "5 3", "16 6")
"""Patterns of the first, second, … curve; the first is a whole line."""
DotShape = Literal["disc", "ring", "square", "cross", "triangle", "diamond", "plus", "point"]


@dataclass(frozen=True, slots=True)
class Words:
    """What a screen reader tells: the title, and what the plot shows in a sentence or two."""

    title: str
    says: str


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis from ``low`` to ``high``; the label names the unit."""

    label: str
    low: float
    high: float

    @property
    def span(self) -> float:
        """Length of the axis; an axis without length counts as one long."""
        return self.high - self.low if self.high > self.low else 1.0

    def share(self, value: float) -> float:
        """Where a value lies between the ends, 0 to 1 (outside: below 0 or above 1)."""
        return (value - self.low) / self.span


@dataclass(frozen=True, slots=True)
class Curve:
    """A line through points (x, y) in the axes' units; points that are no numbers are left out.

    ``steps``: the value holds until the next point.
    """

    name: str
    points: Sequence[tuple[float, float]]
    steps: bool = False


@dataclass(frozen=True, slots=True)
class Mark:
    """A thin reference line with a word at its end: at a value of x, or (``across``) of y."""

    says: str
    at: float
    across: bool = False


@dataclass(frozen=True, slots=True)
class Interval:
    """A row of an interval plot: ``middle`` None leaves the point away; ``note`` stands at the right end."""

    label: str
    low: float
    high: float
    middle: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Dot:
    """One value in a row of a dot plot; ``says`` is shown on hovering and told to a screen reader."""

    value: float
    shape: DotShape = "disc"
    says: str = ""


@dataclass(frozen=True, slots=True)
class DotKey:
    """What a shape stands for, told below a dot plot."""

    shape: DotShape
    says: str


@dataclass(frozen=True, slots=True)
class DotRow:
    """A row of a dot plot, with the band (limits of a tolerance, say) drawn behind it."""

    label: str
    dots: Sequence[Dot]
    band: tuple[float, float] | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class _Frame:
    """The box that is drawn in, in px."""

    x: Axis
    y: Axis
    left: float
    top: float
    wide: float
    tall: float
    width: float = field(default=WIDTH_PX)

    def px(self, value: float) -> float:
        return self.left + self.x.share(value) * self.wide

    def py(self, value: float) -> float:
        return self.top + (1.0 - self.y.share(value)) * self.tall

    @property
    def bottom(self) -> float:
        return self.top + self.tall

    @property
    def right(self) -> float:
        return self.left + self.wide


def line_plot(words: Words, x: Axis, y: Axis, curves: Sequence[Curve], marks: Sequence[Mark] = ()) -> str:
    """Return curves over two axes as one SVG element, with a legend of dash patterns if there is more than one."""
    wide = WIDTH_PX - _LEFT_PX - _RIGHT_PX
    frame = _Frame(x, y, _LEFT_PX, _TOP_PX, wide, _FRAME_TALL_PX)
    body = [
        *_grid_across(frame),
        *_x_axis(frame),
        *(_mark(frame, mark) for mark in marks if _inside(frame, mark)),
        _clipped(frame, "".join(_curve(frame, curve, number) for number, curve in enumerate(curves))),
        _box(frame),
    ]
    legend = _legend(frame, curves) if len(curves) > 1 else []
    return _svg(words, frame.bottom + _BELOW_PX + 20.0 * len(legend), [*body, *legend])


def interval_plot(words: Words, x: Axis, rows: Sequence[Interval], marks: Sequence[Mark] = ()) -> str:
    """Return one line a row from ``low`` to ``high``, its point in between, as one SVG element."""
    frame = _rows_frame(x, [row.label for row in rows], [row.note for row in rows])
    drawn = [_interval(frame, row, _row_y(frame, number)) for number, row in enumerate(rows)]
    return _rows_svg(words, frame, marks, drawn)


def dot_plot(
    words: Words, x: Axis, rows: Sequence[DotRow], marks: Sequence[Mark] = (), keys: Sequence[DotKey] = ()
) -> str:
    """Return the values of each row as dots, close ones side by side, as one SVG element; below it what shapes mean."""
    frame = _rows_frame(x, [row.label for row in rows], [row.note for row in rows])
    drawn = [_dots(frame, row, _row_y(frame, number)) for number, row in enumerate(rows)]
    return _rows_svg(words, frame, marks, drawn, [_key(frame, key, number) for number, key in enumerate(keys)])


def ticks(low: float, high: float, about: int = 6) -> tuple[float, ...]:
    """Return round values (1, 2 or 5 times a power of ten apart) from ``low`` to ``high``."""
    if not (high > low and math.isfinite(high - low)):
        return (low,)
    rough = (high - low) / about
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(each * power for each in (1.0, 2.0, 5.0, 10.0) if each * power >= rough * 0.999)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(number * step for number in range(first, last + 1))


def _rows_frame(x: Axis, labels: Sequence[str], notes: Sequence[str]) -> _Frame:
    left = min(_LABELS_AT_MOST_PX, max((_text_wide(each) for each in labels), default=0.0)) + 14.0
    right = max((_text_wide(each) for each in notes), default=0.0)
    return _Frame(
        x,
        Axis("", 0.0, 1.0),
        left,
        _TOP_PX,
        max(160.0, WIDTH_PX - left - right - 18.0),
        max(1, len(labels)) * _ROW_PX,
        width=max(WIDTH_PX, left + 160.0 + right + 18.0),
    )


def _row_y(frame: _Frame, number: int) -> float:
    return frame.top + (number + 0.5) * _ROW_PX


def _rows_svg(
    words: Words, frame: _Frame, marks: Sequence[Mark], drawn: Sequence[str], keys: Sequence[str] = ()
) -> str:
    upright = [_mark(frame, mark) for mark in marks if not mark.across and _inside(frame, mark)]
    body = [*_x_axis(frame), *upright, *drawn, _box(frame), *keys]
    return _svg(words, frame.bottom + _BELOW_PX + 20.0 * len(keys), body, frame.width)


def _key(frame: _Frame, key: DotKey, number: int) -> str:
    y = frame.bottom + _BELOW_PX + 20.0 * number + 4.0
    return _shape(key.shape, frame.left + 6.0, y) + _text(frame.left + 20.0, y + 4.5, key.says)


def _svg(words: Words, height: float, body: Iterable[str], width: float = WIDTH_PX) -> str:
    key = f"plot-{zlib.crc32(f'{words.title}|{words.says}|{height}'.encode()):08x}"
    return (
        f'<svg class="plot" role="img" aria-labelledby="{key}-t" aria-describedby="{key}-d" '
        f'viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}" height="{height:.0f}" '
        'style="max-width:100%;height:auto" fill="none" stroke="currentColor" '
        f'font-family="sans-serif" font-size="{_LETTER_PX:g}" xmlns="http://www.w3.org/2000/svg">'
        f'<title id="{key}-t">{escape(words.title)}</title><desc id="{key}-d">{escape(words.says)}</desc>'
        f"{''.join(body)}</svg>"
    )


def _x_axis(frame: _Frame) -> list[str]:
    parts = []
    for value in ticks(frame.x.low, frame.x.high):
        at = frame.px(value)
        parts.append(_line(at, frame.top, at, frame.bottom, 'stroke-opacity="0.18"'))
        parts.append(_line(at, frame.bottom, at, frame.bottom + 5.0))
        parts.append(_text(at, frame.bottom + 19.0, _number(value), "middle"))
    return [*parts, _text(frame.left + frame.wide / 2, frame.bottom + 39.0, frame.x.label, "middle")]


def _grid_across(frame: _Frame) -> list[str]:
    parts = []
    for value in ticks(frame.y.low, frame.y.high):
        at = frame.py(value)
        parts.append(_line(frame.left, at, frame.right, at, 'stroke-opacity="0.18"'))
        parts.append(_line(frame.left - 5.0, at, frame.left, at))
        parts.append(_text(frame.left - 9.0, at + 4.5, _number(value), "end"))
    middle = frame.top + frame.tall / 2
    turned = f' transform="rotate(-90 14 {middle:.1f})"'
    return [*parts, _text(14.0, middle, frame.y.label, "middle", turned)]


def _number(value: float) -> str:
    return f"{value:.6g}".replace("-", "−")


def _curve(frame: _Frame, curve: Curve, number: int) -> str:
    points = [(frame.px(x), frame.py(y)) for x, y in curve.points if math.isfinite(x) and math.isfinite(y)]
    path: list[tuple[float, float]] = []
    for x, y in points:
        if curve.steps and path:
            path.append((x, path[-1][1]))
        path.append((x, y))
    text = " ".join(f"{x:.2f},{y:.2f}" for x, y in path)
    return f'<polyline points="{text}" stroke-width="2" stroke-linejoin="round"{_dash(number)}/>'


def _dash(number: int) -> str:
    pattern = DASHES[number % len(DASHES)]
    # Past the last pattern they start again, thicker would be misread as more important: callers stay below six.
    return f' stroke-dasharray="{pattern}"' if pattern else ""


def _clipped(frame: _Frame, body: str) -> str:
    # An inner svg clips what lies outside it and needs no id; two px more, so that a line on the edge is whole.
    x, y, wide, tall = frame.left - 2.0, frame.top - 2.0, frame.wide + 4.0, frame.tall + 4.0
    place = f'x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{tall:.1f}"'
    return f'<svg {place} viewBox="{x:.1f} {y:.1f} {wide:.1f} {tall:.1f}">{body}</svg>'


def _legend(frame: _Frame, curves: Sequence[Curve]) -> list[str]:
    rows = []
    for number, curve in enumerate(curves):
        y = frame.bottom + _BELOW_PX + 20.0 * number + 8.0
        sample = _line(frame.left, y - 4.5, frame.left + 46.0, y - 4.5, f'stroke-width="2"{_dash(number)}')
        rows.append(sample + _text(frame.left + 56.0, y, curve.name))
    return rows


def _inside(frame: _Frame, mark: Mark) -> bool:
    axis = frame.y if mark.across else frame.x
    return math.isfinite(mark.at) and 0.0 <= axis.share(mark.at) <= 1.0


def _mark(frame: _Frame, mark: Mark) -> str:
    thin = 'stroke-width="1" stroke-dasharray="1 3"'
    if mark.across:
        at = frame.py(mark.at)
        return _line(frame.left, at, frame.right, at, thin) + _text(frame.right - 4.0, at - 4.0, mark.says, "end")
    at = frame.px(mark.at)
    half = _text_wide(mark.says) / 2
    word = _text(min(max(at, half), frame.width - half), frame.top - 8.0, mark.says, "middle")
    return _line(at, frame.top - 4.0, at, frame.bottom, thin) + word


def _interval(frame: _Frame, row: Interval, y: float) -> str:
    parts = [_row_words(frame, row.label, row.note, y)]
    if math.isfinite(row.low) and math.isfinite(row.high):
        low, high = _held(frame, row.low), _held(frame, row.high)
        parts.append(_line(low, y, high, y, 'stroke-width="2.5"'))
        parts += [_line(at, y - 5.0, at, y + 5.0, 'stroke-width="1.5"') for at in (low, high)]
    if row.middle is not None and math.isfinite(row.middle):
        parts.append(_shape("disc", _held(frame, row.middle), y))
    return "".join(parts)


def _held(frame: _Frame, value: float) -> float:
    return min(max(frame.px(value), frame.left), frame.right)


def _dots(frame: _Frame, row: DotRow, y: float) -> str:
    parts = [_row_words(frame, row.label, row.note, y)]
    if row.band is not None:
        low, high = (_held(frame, end) for end in sorted(row.band))
        place = f'x="{low:.1f}" y="{y - 9:.1f}" width="{high - low:.1f}" height="18"'
        parts.append(f'<rect {place} fill="currentColor" fill-opacity="0.10" stroke-opacity="0.5"/>')
    shown = sorted((each for each in row.dots if math.isfinite(each.value)), key=lambda each: each.value)
    placed = zip(shown, _levels([_held(frame, each.value) for each in shown]), strict=True)
    # What is special lies on top.
    for dot, level in sorted(placed, key=lambda each: each[0].shape != "point"):
        told = f"<title>{escape(dot.says)}</title>" if dot.says else ""
        parts.append(f"<g>{told}{_shape(dot.shape, _held(frame, dot.value), y + level * 0.75 * _DOT_PX)}</g>")
    return "".join(parts)


def _levels(places: Sequence[float]) -> list[int]:
    """Return how far up or down (0, -1, 1, -2, 2) each dot moves, so that neighbours do not hide each other."""
    choice = (0, -1, 1, -2, 2)
    last = dict.fromkeys(choice, -math.inf)
    found = []
    for at in places:
        free = (level for level in choice if at - last[level] >= 2 * _DOT_PX)
        level = next(free, min(choice, key=last.__getitem__))
        last[level] = at
        found.append(level)
    return found


def _shape(shape: DotShape, x: float, y: float) -> str:
    r = _DOT_PX
    if shape == "point":
        pale = 'fill="currentColor" fill-opacity="0.5" stroke="none"'
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{0.55 * r:.1f}" {pale}/>'
    if shape in {"disc", "ring"}:
        fill = 'fill="currentColor" fill-opacity="0.75"' if shape == "disc" else 'stroke-width="1.8"'
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:g}" {fill}/>'
    if shape == "square":
        return f'<rect x="{x - r:.1f}" y="{y - r:.1f}" width="{2 * r:g}" height="{2 * r:g}" fill="currentColor"/>'
    if shape == "triangle":
        corners = f"{x:.1f},{y - r - 1:.1f} {x - r - 1:.1f},{y + r:.1f} {x + r + 1:.1f},{y + r:.1f}"
        return f'<polygon points="{corners}" stroke-width="1.8"/>'
    if shape == "diamond":
        corners = (
            f"{x:.1f},{y - r - 1.5:.1f} {x + r + 1.5:.1f},{y:.1f} {x:.1f},{y + r + 1.5:.1f} {x - r - 1.5:.1f},{y:.1f}"
        )
        return f'<polygon points="{corners}" fill="currentColor"/>'
    if shape == "plus":
        strokes = f"M{x - r - 1:.1f} {y:.1f}L{x + r + 1:.1f} {y:.1f}M{x:.1f} {y - r - 1:.1f}L{x:.1f} {y + r + 1:.1f}"
        return f'<path d="{strokes}" stroke-width="2"/>'
    strokes = f"M{x - r:.1f} {y - r:.1f}L{x + r:.1f} {y + r:.1f}M{x - r:.1f} {y + r:.1f}L{x + r:.1f} {y - r:.1f}"
    return f'<path d="{strokes}" stroke-width="2"/>'


def _row_words(frame: _Frame, label: str, note: str, y: float) -> str:
    room = int((frame.left - 14.0) / _LETTER_WIDE_PX)
    shown = label if len(label) <= room else f"{label[: max(1, room - 1)]}…"
    told = f"<title>{escape(label)}</title>" if shown != label else ""
    parts = f"<g>{told}{_text(frame.left - 10.0, y + 4.5, shown, 'end')}</g>"
    return parts + (_text(frame.right + 8.0, y + 4.5, note) if note else "")


def _text_wide(text: str) -> float:
    return len(text) * _LETTER_WIDE_PX


def _box(frame: _Frame) -> str:
    return _line(frame.left, frame.top, frame.left, frame.bottom) + _line(
        frame.left, frame.bottom, frame.right, frame.bottom
    )


def _line(x1: float, y1: float, x2: float, y2: float, look: str = "") -> str:
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" {look}/>'


def _text(x: float, y: float, text: str, anchor: str = "start", more: str = "") -> str:
    place = f'x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{more}'
    return f'<text {place} fill="currentColor" stroke="none">{escape(text)}</text>'
