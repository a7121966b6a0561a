"""What a job needs beside the bearing: the retaining rings for its shaft and its housing bore."""

from __future__ import annotations

from dataclasses import dataclass

from screener.parts.model import Explained
from screener.specs.retaining_rings import RetainingRingRow, ring_for_bore, ring_for_shaft


@dataclass(frozen=True, slots=True)
class Companions:
    """Retaining rings that go with a bearing; None where the table has none of that diameter."""

    shaft_ring: RetainingRingRow | None
    """DIN 471, on the shaft beside the inner ring."""
    bore_ring: RetainingRingRow | None
    """DIN 472, in the housing beside the outer ring."""


def companions(explained: Explained) -> Companions:
    """Return the retaining rings for a bearing's bore and outside diameter, or for a seal's housing bore."""
    bore_mm, od_mm = explained.bore_mm, explained.od_mm
    on_shaft = ring_for_shaft(bore_mm) if bore_mm is not None and explained.kind == "bearing" else None
    return Companions(on_shaft, ring_for_bore(od_mm) if od_mm is not None else None)
