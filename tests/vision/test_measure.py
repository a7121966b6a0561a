"""Diameters from rings: scale, height of the top face, uncertainty."""

from __future__ import annotations

import pytest
from vision.ring_scenes import BEARING_6205, Disc, PinholeBench, draw

from screener.vision.measure import measure
from screener.vision.rings import find_parts
from screener.vision.sizes import rank_sizes

WIDTH_6205_MM = 15.0  # ISO 15: 6205 is 25 x 52 x 15
CHAMFER_MM = (
    0.94  # radial chamfer near 1.3 x r_s min of 0.7 .. 1.0 (ISO 582); lies in the top face's plane minus itself
)


def _raised(bench: PinholeBench) -> object:
    top = WIDTH_6205_MM - CHAMFER_MM
    return draw(bench, [Disc(d.radius_mm, d.grey, z_mm=top) for d in BEARING_6205])


@pytest.mark.parametrize("tilt_deg", [3.0, 20.0])
def test_height_of_the_face_is_taken_into_account(tilt_deg: float) -> None:
    """At 260 mm a 15 mm high face looks 5.7 % larger than it is; the OD must still come out within its uncertainty."""
    bench = PinholeBench(tilt_deg, 260.0)
    pair = find_parts(_raised(bench))[0]
    measures = measure(pair, bench)  # type: ignore[arg-type]
    assert measures.od_mm is not None
    assert measures.bore_mm is not None
    assert measures.od_mm.value == pytest.approx(52.0, rel=0.015)
    assert abs(measures.od_mm.value - 52.0) < 2.5 * measures.od_mm.u
    assert abs(measures.bore_mm.value - 25.0) < 2.5 * measures.bore_mm.u
    flat = measures.od_at_height[0][1]
    assert flat / 52.0 > 1.04  # what forgetting the height would have given


def test_card_decides_the_size() -> None:
    bench = PinholeBench(10.0, 260.0)
    best = rank_sizes(measure(find_parts(_raised(bench))[0], bench))[0]  # type: ignore[arg-type]
    assert (best.bore_mm, best.od_mm, best.width_mm) == (25.0, 52.0, 15.0)
    assert best.p > 0.5


def test_without_card_there_is_a_ratio_and_no_millimetres() -> None:
    measures = measure(find_parts(draw(PinholeBench(18.0, 150.0), BEARING_6205))[0])
    assert measures.od_mm is None
    assert measures.bore_mm is None
    assert measures.bore_to_od is not None
    assert abs(measures.bore_to_od.value - 25 / 52) < 2.5 * measures.bore_to_od.u
    assert measures.bore_to_od.u / measures.bore_to_od.value < 0.04
