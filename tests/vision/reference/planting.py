"""Plants one difference in a drawn package and says where it is to be seen."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from vision.reference.panel_model import Box, Element, Package, Planted, Rgb, band_colour
from vision.reference.printing import box_of, unlike_face

KINDS = ("text_misspelt", "shifted", "missing", "added", "colour", "print", "font", "code_moved")

MAKER_KINDS = ("maker_case", "maker_width")
"""Only of the maker's word: in capitals and small letters, or 12 to 18 % wider or closer."""


def plant(pack: Package, kind: str, seed: int) -> Planted:
    """Plant one difference."""
    rng = np.random.default_rng(seed)
    return _PLANTERS[kind](pack, rng)


def _misspelt(pack: Package, rng: np.random.Generator) -> Planted:
    name = str(rng.choice(pack.may_carry("text_misspelt", ("maker", "line0", "line1", "footer"))))
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
        {"text_misspelt", "text_differs", "letter_shapes_differ", "maker_word_differs"},
    )


def _shifted(pack: Package, rng: np.random.Generator) -> Planted:
    e = pack.named(str(rng.choice(pack.may_carry("shifted", ("logo", "mark", "designation", "line2", "quantity")))))
    step = float(rng.uniform(2.0, 4.0))
    if pack.roles:
        return _moved_freely(pack, e, step, "shifted", rng)
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


def _moved_freely(pack: Package, e: Element, step: float, kind: str, rng: np.random.Generator) -> Planted:
    """Move an element to where it touches no other and stays on what carries it; a shorter way where there is none."""
    turns = rng.permutation(8) * np.pi / 4
    for share in (1.0, 0.8, 0.65, 0.5):
        for turn in turns:
            moved = replace(e, x=e.x + share * step * np.cos(turn), y=e.y + share * step * np.sin(turn))
            if _stands_free(pack, e, moved):
                accepted = {"element_moved"} if kind == "shifted" else {"code_moved", "element_moved"}
                return _planted(pack.having(moved), kind, (box_of(e), box_of(moved)), accepted)
    raise ValueError(f"{e.name} has nowhere to go")


def _stands_free(pack: Package, e: Element, moved: Element) -> bool:
    x, y, w, h = box_of(moved)
    if min(x, y, pack.width - x - w, pack.height - y - h) < 1.5:
        return False
    for other in pack.elements:
        if other.name == e.name:
            continue
        a, b, c, d = box_of(other)
        was = box_of(e)
        carries = a <= was[0] and b <= was[1] and was[0] + was[2] <= a + c and was[1] + was[3] <= b + d
        if carries and (a + 0.5 > x or b + 0.5 > y or x + w > a + c - 0.5 or y + h > b + d - 0.5):
            return False
        if not carries and x < a + c + 0.5 and a < x + w + 0.5 and y < b + d + 0.5 and b < y + h + 0.5:
            return False
    return True


def _missing(pack: Package, rng: np.random.Generator) -> Planted:
    usual = ("logo", "mark", "line1", "line2", "footer", "designation", "code", "seal")
    names = pack.may_carry("missing", usual)
    e = pack.named(str(rng.choice(names)))
    return _planted(pack.without(e.name), "missing", (box_of(e),), {"element_missing", "code_missing"})


def _added(pack: Package, rng: np.random.Generator) -> Planted:
    spot = _free_spot(pack, rng)
    kind = str(rng.choice(["text", "disc", "rect"]))
    new = Element("new", kind, *spot, rgb=(22, 22, 24) if kind == "text" else _seen_colour(pack, rng))
    if kind == "text":
        new = replace(new, h=2.4, text=str(rng.choice(["TOP QUALITY", "NEW", "ORIGINAL", "CE 2024"])))
    grown = replace(pack, elements=(*pack.elements, new))
    return _planted(grown, "added", (box_of(new),), {"element_added"})


def _seen_colour(pack: Package, rng: np.random.Generator) -> Rgb:
    """A colour of print that shows on the board."""
    while True:
        colour = band_colour(rng)
        if not pack.roles or sum(abs(a - b) for a, b in zip(colour, pack.paper, strict=True)) > 180:
            return colour


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

    e = pack.named(str(rng.choice(pack.may_carry("colour", ("band", "mark")))))
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
    e = pack.named(str(rng.choice(pack.may_carry("font", ("maker", "designation", "line0", "line2")))))
    other = replace(e, face="other")
    if pack.roles:
        _, _, wide, high = box_of(e)
        other = replace(e, face=unlike_face(e.face), wide=high if e.turn else wide)
    return _planted(
        pack.having(other), "font", (box_of(e),), {"letter_shapes_differ", "text_differs", "maker_word_differs"}
    )


def _maker_case(pack: Package, rng: np.random.Generator) -> Planted:
    e = pack.named("maker")
    return _planted(
        pack.having(replace(e, text=e.text.capitalize())), "maker_case", (box_of(e),), {"maker_word_differs"}
    )


def _maker_width(pack: Package, rng: np.random.Generator) -> Planted:
    e = pack.named("maker")
    by = float(rng.uniform(0.12, 0.18)) * (1 if pack.width > 80 and rng.random() < 0.5 else -1)
    other = replace(e, wide=box_of(e)[2] * (1 + by))
    return _planted(pack.having(other), "maker_width", (box_of(e),), {"maker_word_differs"})


def _code_moved(pack: Package, rng: np.random.Generator) -> Planted:
    e = pack.named("code")
    step = float(rng.uniform(2.0, 4.0))
    if pack.roles:
        return _moved_freely(pack, e, step, "code_moved", rng)
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
    "maker_case": _maker_case,
    "maker_width": _maker_width,
}
