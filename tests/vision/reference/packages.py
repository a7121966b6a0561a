"""Drawn packages: a panel of known elements, planted differences with their outlines, and photographs of it.

Makers and numbers are invented. Every random choice comes from the seed given, so that a figure can be had again.
The photographs have perspective, uneven and coloured light, another camera's tone and colour, a little lens
distortion, blur, noise and JPEG; the bench behind is textured.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field, replace

import cv2
import numpy as np
from drawing.barcodes import Code, bars, check_digit
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

PX_PER_MM = 14
MAKERS = ("BRENVOK", "TALQUIST", "ORSAMIL", "KEDRUNA", "VELMORT")
PARTS = ("6205-2RS C3", "6004-2Z", "6306 C3", "608-2RS", "6202-2RSR", "6310-2Z C3")
SENTENCES = (
    "Deep groove ball bearing",
    "Keep dry and in original wrapping",
    "Protect from shock and moisture",
    "Do not open before mounting",
    "Quality controlled at the factory",
    "Store lying flat in a cool place",
)
Rgb = tuple[int, int, int]
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Element:
    """One thing printed: place and size in mm from the panel's top left."""

    name: str
    kind: str
    """text, rect, disc, ring, linear, matrix."""
    x: float
    y: float
    w: float = 0.0
    h: float = 0.0
    text: str = ""
    rgb: Rgb = (22, 22, 24)
    face: str = "plain"
    """plain or other: which type face."""
    variable: bool = False
    """Batch, date, serial: differs from box to box."""


@dataclass(frozen=True)
class Package:
    """A panel."""

    width: float
    height: float
    paper: Rgb
    elements: tuple[Element, ...]
    maker: str
    product: str
    print_blur_mm: float = 0.0
    dots_mm: float = 0.0

    def named(self, name: str) -> Element:
        """The element of a name."""
        return next(e for e in self.elements if e.name == name)

    def having(self, element: Element) -> Package:
        """The package with one element replaced."""
        return replace(self, elements=tuple(element if e.name == element.name else e for e in self.elements))

    def without(self, name: str) -> Package:
        """The package with one element left out."""
        return replace(self, elements=tuple(e for e in self.elements if e.name != name))


@dataclass(frozen=True)
class Planted:
    """A package with a planted difference: its kind and where it is to be seen (mm on the panel, x y w h)."""

    package: Package
    kind: str
    boxes: tuple[Box, ...]
    kinds_accepted: frozenset[str]


@dataclass
class Shot:
    """One photograph."""

    rgb: NDArray[np.uint8]
    panel_to_photo: NDArray[np.float64]
    """3 x 3 from mm on the panel to photo px (lens distortion left out: at most a few px)."""
    jpeg: bytes = field(repr=False, default=b"")


def package(seed: int, *, batch_seed: int = 0) -> Package:
    """Lay out a package; ``batch_seed`` changes only what varies from box to box."""
    rng = np.random.default_rng(seed)
    maker, part = str(rng.choice(MAKERS)), str(rng.choice(PARTS))
    width, height = float(rng.uniform(88, 108)), float(rng.uniform(63, 76))
    ink = (22, 22, 24)
    band = _band_colour(rng)
    second = _band_colour(rng)
    m = 4.0
    band_h = float(rng.uniform(9.5, 13))
    top = bool(rng.random() < 0.6)
    band_y = 0.0 if top else height - band_h
    pale = sum(band) > 430
    y = (band_h + 3.0) if top else 4.0
    parts = [
        Element("band", "rect", 0, band_y, width, band_h, rgb=band),
        Element("maker", "text", m, band_y + band_h / 2 - 3, h=5.4, text=maker, rgb=ink if pale else (248, 248, 246)),
        Element(
            "logo",
            str(rng.choice(["disc", "ring"])),
            width - m - 8,
            band_y + band_h / 2 - 3.6,
            7.2,
            7.2,
            rgb=ink if pale else (248, 248, 246),
        ),
    ]
    batch = _variable(np.random.default_rng(seed * 1000 + 7 + batch_seed))
    parts.append(Element("designation", "text", m, y, h=5.0, text=part))
    y += 9.2
    lines = list(rng.permutation(SENTENCES)[:3])
    for number, words in enumerate(lines):
        parts.append(Element(f"line{number}", "text", m, y, h=2.3, text=str(words)))
        y += 4.6
    for name, words in (("batch", f"Batch: {batch[0]}"), ("date", f"Date: {batch[1]}"), ("quantity", "Qty: 10 pcs")):
        parts.append(Element(name, "text", m, y, h=2.3, text=words, variable=name != "quantity"))
        y += 4.5
    parts.append(Element("mark", "rect", width - m - 13, (band_h + 4 if top else 5.0), 12, 6.5, rgb=second))
    body = f"952{rng.integers(10**8, 10**9 - 1)}"
    gtin = body + check_digit(body)
    code_y = (band_h + 14.0) if top else 15.0
    if rng.random() < 0.6:
        parts.append(Element("code", "linear", width - m - 33, code_y + 6, 32, 9, text=gtin))
    else:
        parts.append(Element("code", "matrix", width - m - 15, code_y, 14, 14, text=f"https://example.org/{gtin}"))
    parts.append(
        Element(
            "footer",
            "text",
            m,
            (height - 5.4) if top else (band_y - 5.0),
            h=1.9,
            text="Made in Slovakia. Recycle this box.",
        )
    )
    if rng.random() < 0.5:
        parts.append(Element("seal", "ring", width - m - 44, (height - 14) if top else (band_y - 14), 7, 7, rgb=second))
    paper = (246, 245, 241) if rng.random() < 0.7 else (238, 234, 222)
    return Package(width, height, paper, tuple(parts), maker, part)


def _band_colour(rng: np.random.Generator) -> Rgb:
    choices = ((20, 60, 120), (150, 28, 30), (15, 90, 70), (230, 150, 20), (90, 40, 110), (40, 110, 160), (200, 60, 30))
    return choices[int(rng.integers(len(choices)))]


def _variable(rng: np.random.Generator) -> tuple[str, str]:
    letter = "ABHKT"[int(rng.integers(5))]
    return f"{letter}{rng.integers(10000, 99999)}", f"{rng.integers(2023, 2026)}-{rng.integers(1, 13):02d}"


# Drawing


def draw(pack: Package) -> NDArray[np.uint8]:
    """Print a panel, uint8 RGB, ``PX_PER_MM``."""
    size = (round(pack.width * PX_PER_MM), round(pack.height * PX_PER_MM))
    image = Image.new("RGB", size, pack.paper)
    for element in pack.elements:
        _print(image, element)
    flat = np.asarray(image)
    if pack.print_blur_mm:
        flat = cv2.GaussianBlur(flat, (0, 0), pack.print_blur_mm * PX_PER_MM)
    if pack.dots_mm:
        flat = _dotted(flat, pack.dots_mm)
    return np.asarray(flat, np.uint8)


def box_of(element: Element) -> Box:
    """Where an element's ink lies: x, y, w, h in mm."""
    if element.kind != "text":
        return element.x, element.y, element.w, element.h
    if element.face == "plain":
        left, top, right, bottom = _font(element.h).getbbox(element.text, anchor="lt")
        return element.x, element.y, (right - left) / PX_PER_MM, (bottom - top) / PX_PER_MM
    ink = _other_face(element.text, element.h)
    return element.x, element.y, ink.shape[1] / PX_PER_MM, ink.shape[0] / PX_PER_MM


def _font(cap_mm: float) -> ImageFont.FreeTypeFont:
    font = ImageFont.load_default(cap_mm * PX_PER_MM / 0.70)
    assert isinstance(font, ImageFont.FreeTypeFont)
    return font


def _print(image: Image.Image, e: Element) -> None:
    pen = ImageDraw.Draw(image)
    x, y, w, h = (round(v * PX_PER_MM) for v in (e.x, e.y, e.w, e.h))
    if e.kind == "text" and e.face == "plain":
        pen.text((x, y), e.text, fill=e.rgb, font=_font(e.h), anchor="lt")
    elif e.kind == "text":
        ink = Image.fromarray(_other_face(e.text, e.h))
        image.paste(Image.new("RGB", ink.size, e.rgb), (x, y), ink)
    elif e.kind == "rect":
        pen.rectangle((x, y, x + w, y + h), fill=e.rgb)
    elif e.kind == "disc":
        pen.ellipse((x, y, x + w, y + h), fill=e.rgb)
        pen.rectangle((x + w * 0.42, y, x + w * 0.58, y + h), fill=image.getpixel((max(0, x - 3), y + h // 2)))
    elif e.kind == "ring":
        pen.ellipse((x, y, x + w, y + h), outline=e.rgb, width=max(2, w // 6))
        pen.line((x, y + h // 2, x + w, y + h // 2), fill=e.rgb, width=max(2, w // 10))
    else:
        kind = "ean-13" if e.kind == "linear" else "qr"
        ink = bars(Code(kind, e.text), 4, h if e.kind == "linear" else 0)
        image.paste(Image.fromarray(cv2.resize(ink, (w, h), interpolation=cv2.INTER_AREA)), (x, y))


def _other_face(text: str, cap_mm: float) -> NDArray[np.uint8]:
    """Another type face (a plotter's double-stroke letters, carried by OpenCV): coverage 0 to 255."""
    face, cap_px = cv2.FONT_HERSHEY_COMPLEX, cap_mm * PX_PER_MM
    scale = cap_px / 21.0
    thick = max(1, round(cap_px / 12))
    (w, h), base = cv2.getTextSize(text, face, scale, thick)
    ink = np.zeros((h + base + thick, w + thick, 1), np.uint8)
    cv2.putText(ink, text, (0, h), face, scale, 255, thick, cv2.LINE_AA)
    ink = ink[..., 0]
    want = _font(cap_mm).getlength(text)
    rows = np.flatnonzero(ink.max(axis=1))
    ink = ink[rows[0] : rows[-1] + 1]
    return np.asarray(cv2.resize(ink, (max(4, round(want)), ink.shape[0]), interpolation=cv2.INTER_AREA), np.uint8)


def _dotted(flat: NDArray[np.uint8], pitch_mm: float) -> NDArray[np.uint8]:
    """Print by an office printer's halftone: every colour as dots of a grid turned by 30 degrees."""
    h, w = flat.shape[:2]
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    pitch = pitch_mm * PX_PER_MM
    u = (x * np.cos(0.52) + y * np.sin(0.52)) * 2 * np.pi / pitch
    v = (-x * np.sin(0.52) + y * np.cos(0.52)) * 2 * np.pi / pitch
    screen = ((np.cos(u) + np.cos(v)) / 4 + 0.5)[..., None]
    level = flat.astype(np.float32) / 255
    # Ink spreads a little: solid black and paper stay solid, everything between becomes dots.
    level = np.clip((level - 0.12) / 0.8, 0, 1)
    dots = 1 / (1 + np.exp((screen - level) * 14))
    return np.asarray(np.clip(255 * (0.09 + 0.87 * dots), 0, 255), np.uint8)


# Planted differences

KINDS = ("text_misspelt", "shifted", "missing", "added", "colour", "print", "font", "code_moved")


def plant(pack: Package, kind: str, seed: int) -> Planted:
    """Plant one difference."""
    rng = np.random.default_rng(seed)
    return _PLANTERS[kind](pack, rng)


def _misspelt(pack: Package, rng: np.random.Generator) -> Planted:
    name = str(rng.choice(["maker", "line0", "line1", "footer"]))
    e = pack.named(name)
    letters = [i for i, c in enumerate(e.text) if c.isalpha()]
    at = int(rng.choice(letters[1:]))
    way = str(rng.choice(["swap", "drop", "double", "other"]))
    t = e.text
    if way == "swap" and at + 1 < len(t) and t[at + 1].isalpha() and t[at] != t[at + 1]:
        new = t[:at] + t[at + 1] + t[at] + t[at + 2 :]
    elif way == "drop":
        new = t[:at] + t[at + 1 :]
    elif way == "double":
        new = t[:at] + t[at] + t[at:]
    else:
        pool = "AEOKTRSNM" if t[at].isupper() else "aeoktrsnm"
        new = t[:at] + str(rng.choice([c for c in pool if c != t[at]])) + t[at + 1 :]
    return _planted(
        pack.having(replace(e, text=new)),
        "text_misspelt",
        (box_of(e),),
        {"text_misspelt", "text_differs", "letter_shapes_differ"},
    )


def _shifted(pack: Package, rng: np.random.Generator) -> Planted:
    e = pack.named(str(rng.choice(["logo", "mark", "designation", "line2", "quantity"])))
    step = float(rng.uniform(2.0, 4.0))
    inside = e.name == "logo"
    ways = (
        [(-1, 0), (-0.9, 0.1)]
        if inside
        else [(1, 0), (0.7, 0.3)]
        if e.kind == "text"
        else [(-1, 0), (0, 1), (-0.7, 0.7)]
    )
    dx, dy = ways[int(rng.integers(len(ways)))]
    n = float(np.hypot(dx, dy))
    moved = replace(e, x=e.x + step * dx / n, y=e.y + step * dy / n)
    return _planted(pack.having(moved), "shifted", (box_of(e), box_of(moved)), {"element_moved"})


def _missing(pack: Package, rng: np.random.Generator) -> Planted:
    names = [
        n
        for n in ("logo", "mark", "line1", "line2", "footer", "designation", "code", "seal")
        if any(e.name == n for e in pack.elements)
    ]
    e = pack.named(str(rng.choice(names)))
    return _planted(pack.without(e.name), "missing", (box_of(e),), {"element_missing", "code_missing"})


def _added(pack: Package, rng: np.random.Generator) -> Planted:
    spot = _free_spot(pack, rng)
    kind = str(rng.choice(["text", "disc", "rect"]))
    new = Element(
        "new", kind, spot[0], spot[1], spot[2], spot[3], rgb=(22, 22, 24) if kind == "text" else _band_colour(rng)
    )
    if kind == "text":
        new = replace(new, h=2.4, text=str(rng.choice(["TOP QUALITY", "NEW", "ORIGINAL", "CE 2024"])))
    grown = replace(pack, elements=(*pack.elements, new))
    return _planted(grown, "added", (box_of(new),), {"element_added"})


def _free_spot(pack: Package, rng: np.random.Generator) -> Box:
    taken = [box_of(e) for e in pack.elements]
    for _ in range(4000):
        w, h = float(rng.uniform(4.5, 9)), float(rng.uniform(3.5, 6))
        if _ > 2000:
            w, h = 4.0, 3.2
        x, y = float(rng.uniform(3, pack.width - 23)), float(rng.uniform(3, pack.height - 7))
        wide = max(w, 19.0) if _ < 1500 else w
        if all(x > a + c + 1.5 or a > x + wide + 1.5 or y > b + d + 1.5 or b > y + h + 1.5 for a, b, c, d in taken):
            return x, y, w, h
    return pack.width / 2 - 4, pack.height / 2, 4.0, 3.0


def _colour(pack: Package, rng: np.random.Generator) -> Planted:
    from skimage.color import deltaE_ciede2000, rgb2lab

    e = pack.named(str(rng.choice(["band", "mark"])))
    was = rgb2lab(np.array([[e.rgb]], np.float64) / 255)
    while True:
        new = tuple(int(v) for v in np.clip(np.array(e.rgb) + rng.integers(-70, 71, 3), 0, 255))
        apart = float(deltaE_ciede2000(was, rgb2lab(np.array([[new]], np.float64) / 255))[0, 0])
        if 6.5 <= apart <= 14:
            break
    return _planted(pack.having(replace(e, rgb=new)), "colour", (box_of(e),), {"colour_differs"})


def _poor_print(pack: Package, rng: np.random.Generator) -> Planted:
    whole = (0.0, 0.0, pack.width, pack.height)
    if rng.random() < 0.5:
        return _planted(replace(pack, print_blur_mm=float(rng.uniform(0.22, 0.35))), "print", (whole,), {"print_poor"})
    return _planted(replace(pack, dots_mm=float(rng.uniform(0.45, 0.7))), "print", (whole,), {"print_poor"})


def _font_changed(pack: Package, rng: np.random.Generator) -> Planted:
    e = pack.named(str(rng.choice(["maker", "designation", "line0", "line2"])))
    return _planted(
        pack.having(replace(e, face="other")), "font", (box_of(e),), {"letter_shapes_differ", "text_differs"}
    )


def _code_moved(pack: Package, rng: np.random.Generator) -> Planted:
    e = pack.named("code")
    step = float(rng.uniform(2.0, 4.0))
    dx, dy = [(-1, 0), (0, 1), (-0.7, 0.7)][int(rng.integers(3))]
    moved = replace(e, x=e.x + step * dx, y=e.y + step * dy)
    return _planted(pack.having(moved), "code_moved", (box_of(e), box_of(moved)), {"code_moved", "element_moved"})


def _planted(pack: Package, kind: str, boxes: tuple[Box, ...], accepted: set[str]) -> Planted:
    return Planted(pack, kind, boxes, frozenset(accepted))


_PLANTERS = {
    "text_misspelt": _misspelt,
    "shifted": _shifted,
    "missing": _missing,
    "added": _added,
    "colour": _colour,
    "print": _poor_print,
    "font": _font_changed,
    "code_moved": _code_moved,
}


# Photographs


def photograph(pack: Package, seed: int, *, most_tilt_deg: float = 30.0, easy: bool = False) -> Shot:
    """Photograph a panel lying on a bench; ``easy`` is the careful photo that a shop keeps as its reference."""
    rng = np.random.default_rng(seed)
    width, height = [(2000, 1500), (1800, 1350), (2400, 1800)][int(rng.integers(3))]
    flat = (draw(pack).astype(np.float32) / 255) ** 2.2
    flat *= 1 + 0.008 * rng.standard_normal(flat.shape[:2]).astype(np.float32)[..., None]
    tilt = float(rng.uniform(0, 10 if easy else most_tilt_deg))
    shape = _camera(pack, rng, (width, height), tilt, 6.0 if easy else 20.0)
    scale = np.diag([1 / PX_PER_MM, 1 / PX_PER_MM, 1.0])
    scene = _bench(rng, (width, height))
    h, w = flat.shape[:2]
    # Averaging before a strong reduction: warpPerspective itself does not.
    shrink = float(np.sqrt(abs(np.linalg.det((shape @ scale)[:2, :2]))))
    soft = cv2.GaussianBlur(flat, (0, 0), max(0.3, 0.45 / max(shrink, 0.1)))
    laid = cv2.warpPerspective(soft, shape @ scale, (width, height), flags=cv2.INTER_LINEAR)
    cover = cv2.warpPerspective(np.ones((h, w), np.float32), shape @ scale, (width, height))[..., None]
    shadow = cv2.GaussianBlur(cover[..., 0], (0, 0), 14)[..., None]
    scene = scene * (1 - 0.35 * shadow) * (1 - cover) + laid * cover
    scene = scene * _light(rng, (width, height), easy=easy)
    if not easy:
        scene = _bent(scene, float(rng.uniform(-0.012, 0.012)))
    scene = cv2.GaussianBlur(scene, (0, 0), float(rng.uniform(0.6, 0.9) if easy else rng.uniform(0.6, 1.5)))
    picture = _developed(scene, rng, easy=easy)
    picture += rng.normal(0, float(rng.uniform(1.0, 2.0) if easy else rng.uniform(1.5, 4.5)), picture.shape)
    out = io.BytesIO()
    rgb = np.clip(picture, 0, 255).astype(np.uint8)
    Image.fromarray(rgb).save(out, "JPEG", quality=int(rng.integers(90, 96) if easy else rng.integers(62, 95)))
    decoded = np.asarray(Image.open(io.BytesIO(out.getvalue())), np.uint8)
    return Shot(decoded, shape, out.getvalue())


def _camera(
    pack: Package, rng: np.random.Generator, size: tuple[int, int], tilt_deg: float, roll_deg: float
) -> NDArray[np.float64]:
    """Homography from mm on the panel to photo px: pinhole camera, panel about filling 55 to 80 % of the width."""
    width, height = size
    focal = 0.9 * max(size) * float(rng.uniform(0.85, 1.3))
    fill = float(rng.uniform(0.55, 0.8))
    distance = focal * max(pack.width / (fill * width), pack.height / (fill * height))
    tilt, azimuth = np.radians(tilt_deg), float(rng.uniform(0, 2 * np.pi))
    axis = np.array([np.cos(azimuth), np.sin(azimuth), 0.0]) * tilt
    roll = np.radians(float(rng.uniform(-roll_deg, roll_deg)))
    turn = cv2.Rodrigues(np.array([0, 0, roll]))[0] @ cv2.Rodrigues(axis)[0]
    lens = np.array([[focal, 0, width / 2], [0, focal, height / 2], [0, 0, 1.0]])
    middle = np.array([pack.width / 2, pack.height / 2, 0.0])
    shift = np.array([*rng.uniform(-0.03, 0.03, 2) * distance, distance]) - turn @ middle
    shape = lens @ np.column_stack([turn[:, 0], turn[:, 1], shift])
    return np.asarray(shape / shape[2, 2])


def _bench(rng: np.random.Generator, size: tuple[int, int]) -> NDArray[np.float32]:
    width, height = size
    tone = np.array(rng.choice([[0.30, 0.20, 0.12], [0.20, 0.21, 0.22], [0.12, 0.16, 0.13]]), np.float32)
    grain = np.zeros((height, width), np.float32)
    for blur, weight in ((3, 0.04), (12, 0.07), (60, 0.08)):
        small = rng.standard_normal((height // blur + 2, width // blur + 2)).astype(np.float32)
        grain += weight * cv2.resize(small, (width, height), interpolation=cv2.INTER_CUBIC)
    return np.asarray(np.clip(tone * (1 + grain[..., None]), 0, 1), np.float32)


def _light(rng: np.random.Generator, size: tuple[int, int], *, easy: bool) -> NDArray[np.float32]:
    width, height = size
    x, y = np.meshgrid(np.linspace(-1, 1, width, dtype=np.float32), np.linspace(-1, 1, height, dtype=np.float32))
    strength = float(rng.uniform(0, 0.08 if easy else 0.30))
    way = float(rng.uniform(0, 2 * np.pi))
    level = (
        1
        + strength * (x * np.cos(way) + y * np.sin(way))
        - (0.05 if easy else 0.12) * (x**2 + y**2) * float(rng.random())
    )
    warm = float(rng.uniform(-0.04, 0.04) if easy else rng.uniform(-0.16, 0.16))
    colour = np.array([1 + warm, 1.0, 1 - warm], np.float32)
    bright = float(rng.uniform(0.86, 0.96) if easy else rng.uniform(0.55, 0.98))
    return np.asarray(level[..., None] * colour * bright / (1 + strength), np.float32)


def _bent(scene: NDArray[np.float32], k1: float) -> NDArray[np.float32]:
    height, width = scene.shape[:2]
    x, y = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    f, cx, cy = 0.9 * width, width / 2, height / 2
    u, v = (x - cx) / f, (y - cy) / f
    swell = 1 + k1 * (u**2 + v**2)
    out = cv2.remap(scene, u * swell * f + cx, v * swell * f + cy, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(out, np.float32)


def _developed(scene: NDArray[np.float32], rng: np.random.Generator, *, easy: bool) -> NDArray[np.float64]:
    """Camera: colour matrix of its own, tone curve of its own, stray light."""
    if not easy:
        strength = float(rng.uniform(-0.04, 0.05))
        matrix = np.eye(3) * (1 + strength) - strength / 3
        matrix += rng.uniform(-0.012, 0.012, (3, 3)) * (1 - np.eye(3))
        matrix /= matrix.sum(axis=1, keepdims=True)
        scene = np.asarray(scene @ matrix.T.astype(np.float32), np.float32)
        scene = scene * 0.985 + 0.015 * float(rng.random())
    gamma = 2.2 * (1.0 if easy else float(rng.uniform(0.93, 1.08)))
    return np.asarray(255 * np.clip(scene, 0, 1) ** (1 / gamma), np.float64)
