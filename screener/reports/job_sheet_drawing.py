"""The drawing of a stack as SVG: to scale on paper, readable in black and white, no script, no network."""

from __future__ import annotations

from html import escape

from screener.reports.job_sheet_shapes import Box, Disc, Drawing, Shape, Stroke

PAGE_MM = 180.0
"""Room across the page."""
_TALL_MM = 150.0
SCALES = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02)
"""Scales of ISO 5455, large first."""
LETTER_MM = 3.2
"""Height of letters on paper."""
_BARS_MM = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)


def scale_for(drawing: Drawing) -> float:
    """Return the largest standard scale at which the drawing fits the page; the smallest if none does."""
    width, height = drawing.right - drawing.left, 2 * drawing.half_height
    fitting = (each for each in SCALES if width * each <= PAGE_MM and height * each <= _TALL_MM)
    return next(fitting, SCALES[-1])


def scale_words(scale: float) -> str:
    """Return ``2 : 1`` or ``1 : 5``."""
    return f"{scale:g} : 1" if scale >= 1 else f"1 : {1 / scale:g}"


def svg(drawing: Drawing, title: str) -> str:
    """Return the drawing as one SVG element whose printed size is true to the scale it names.

    Parameters
    ----------
    drawing
        Shapes in mm of the real thing.
    title
        Told to a screen reader.
    """
    scale = scale_for(drawing)
    width, height = (drawing.right - drawing.left) * scale, 2 * drawing.half_height * scale
    letter = LETTER_MM / scale
    view = f"{drawing.left:.3f} {-drawing.half_height:.3f} {width / scale:.3f} {height / scale:.3f}"
    body = "".join(_element(shape, letter) for shape in drawing.shapes)
    return (
        f'<svg class="stack" role="img" aria-label="{escape(title, quote=True)}" '
        f'width="{width:.2f}mm" height="{height:.2f}mm" viewBox="{view}">{body}{_bar(drawing, letter)}</svg>'
    )


def _element(shape: Shape, letter: float) -> str:
    if isinstance(shape, Box):
        place = f'x="{shape.x:.3f}" y="{shape.y:.3f}" width="{shape.width:.3f}" height="{shape.height:.3f}"'
        return f'<rect class="{shape.look}" {place}/>'
    if isinstance(shape, Disc):
        return f'<circle class="{shape.look}" cx="{shape.x:.3f}" cy="{shape.y:.3f}" r="{shape.radius:.3f}"/>'
    if isinstance(shape, Stroke):
        ends = f'x1="{shape.x1:.3f}" y1="{shape.y1:.3f}" x2="{shape.x2:.3f}" y2="{shape.y2:.3f}"'
        return f'<line class="{shape.look}" {ends}/>'
    return _text(shape.x, shape.y, shape.text, letter)


def _text(x: float, y: float, text: str, letter: float) -> str:
    return f'<text x="{x:.3f}" y="{y:.3f}" font-size="{letter:.3f}">{escape(text)}</text>'


def _bar(drawing: Drawing, letter: float) -> str:
    """A scale bar: it stays right when the page is printed at another size."""
    room = drawing.right - drawing.left
    length = max((each for each in _BARS_MM if each <= room / 3), default=_BARS_MM[0])
    x, y = drawing.left + 0.02 * room, drawing.half_height - 0.6 * letter
    bar = Stroke(x, y, x + length, y, "ring")
    return _element(bar, letter) + _text(x + length / 2, y - 0.4 * letter, f"{length:g} mm", letter)
