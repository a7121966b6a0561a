"""Round print on a box is no part."""

from __future__ import annotations

from screener.codes.model import CodeRead
from screener.looking.printed import not_printed
from screener.vision.model import Ellipse, LabelFields, LabelLine, LabelSeen, PartSeen

LABEL = LabelSeen(
    (
        LabelLine("6205-2RS", 0.9, ((100, 100), (400, 100), (400, 160), (100, 160))),
        LabelLine("Qty: 4", 0.9, ((100, 300), (250, 300), (250, 340), (100, 340))),
    ),
    LabelFields(),
)


def ring(cx: float, cy: float, a: float) -> PartSeen:
    return PartSeen("bearing", Ellipse(cx, cy, a, a, 0))


def test_a_ring_among_the_print_is_print():
    assert not_printed((ring(200, 200, 30),), (), LABEL) == ()


def test_a_part_beside_the_label_or_larger_than_it_is_kept():
    beside, over = ring(700, 300, 150), ring(250, 220, 400)
    assert not_printed((beside, over), (), LABEL) == (beside, over)


def test_without_print_nothing_is_dropped():
    assert not_printed((ring(5, 5, 4),), (), None) == (ring(5, 5, 4),)


def test_the_corners_of_a_code_count_as_print():
    code = CodeRead("Aztec", "x", "r", ((0, 0), (90, 0), (90, 90), (0, 90)))
    assert not_printed((ring(45, 45, 12),), (code,), None) == ()
