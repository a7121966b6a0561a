"""What belongs to the job beside the part: a list to tick, with sizes where they follow from the part."""

from __future__ import annotations

from dataclasses import dataclass

from screener.parts.model import Explained
from screener.specs.boundary import BoundaryRow
from screener.specs.chamfers import chamfer
from screener.specs.fit_texts import COMPANIONS_FILE, CompanionLine, companion_lines
from screener.specs.iso492 import tolerance_kind
from screener.specs.retaining_rings import RetainingRingRow, ring_for_bore, ring_for_shaft


@dataclass(frozen=True, slots=True)
class Companion:
    """One line to tick."""

    id: str
    says: str
    forgotten: bool
    rests_on: str


def bearing_companions(part: Explained, row: BoundaryRow) -> tuple[Companion, ...]:
    """Return the check list of a bearing."""
    is_open = part.closure is None or part.closure.kind == "open"
    sizes = {
        "shaft ring": _ring(ring_for_shaft(row.bore_mm), "shaft"),
        "bore ring": _ring(ring_for_bore(row.od_mm), "bore"),
        "fillet": _fillet(row),
        "open": ("", "") if is_open else None,
        "closed": None if is_open else ("", ""),
    }
    return tuple(_filled(line, sizes) for line in companion_lines() if _holds(line, "bearing", sizes))


def seal_companions() -> tuple[Companion, ...]:
    """Return the check list of a shaft seal."""
    return tuple(_filled(line, {}) for line in companion_lines() if _holds(line, "shaft_seal", {}))


_Sizes = dict[str, tuple[str, str] | None]
"""Word of the file -> (size, what it rests on), or None where it does not apply."""


def _holds(line: CompanionLine, kind: str, sizes: _Sizes) -> bool:
    return line.kind in {kind, "any"} and (line.when == "always" or sizes.get(line.when) is not None)


def _filled(line: CompanionLine, sizes: _Sizes) -> Companion:
    size, rests_on = sizes.get(line.when) or ("", "")
    table = f"{COMPANIONS_FILE} ({line.source})"
    return Companion(
        line.id, line.says.replace("{size}", size), line.forgotten, f"{rests_on}; {table}" if rests_on else table
    )


def _ring(row: RetainingRingRow | None, where: str) -> tuple[str, str]:
    if row is None:
        return f"the tables have no ring for this {where}; take the machine's parts list", ""
    size = f"{row.standard} {row.nominal_mm:g} x {row.thickness_mm:g}, groove {row.groove_diameter_mm:g} mm"
    return size, row.row_name


def _fillet(row: BoundaryRow) -> tuple[str, str] | None:
    kind = tolerance_kind(row.family)
    if row.r_min_mm is None or kind not in {"radial", "tapered"}:
        return None
    found = chamfer("tapered" if kind == "tapered" else "radial", row.r_min_mm, row.bore_mm)
    return None if found is None else (f"{found.shaft_fillet_max_mm:g} mm radius", found.row_name)
