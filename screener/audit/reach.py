"""What a suspect unit holds besides itself: every unit of its product from its supplier that nobody has settled."""

from __future__ import annotations

from collections.abc import Sequence

from screener.audit.batch.unit import Unit, is_settled, unit_says

_MOST_NAMED = 12


def is_suspect(unit: Unit) -> bool:
    """Whether a unit is kept for suspicion: it is neither used nor returned before that is settled."""
    return unit.exit == "keep and ask" or unit.suspicion == "strong"


def kept_with_lot(units: Sequence[Unit]) -> list[Unit]:
    """Return the units within reach of a suspect one that are not suspect themselves and that nobody has settled."""
    reached = _reached([each for each in units if is_suspect(each) and not is_settled(each)])
    return [
        each
        for each in units
        if (each.group, each.supplier) in reached and not is_suspect(each) and not is_settled(each) and each.looked_at
    ]


def reach_says(suspect: Sequence[Unit], every: str = "every unit of ") -> str:
    """Name what suspect units hold, by product and supplier."""
    named = [f"{kind} from {supplier}" if supplier else kind for kind, supplier in _reached(suspect)]
    return f"{every}{' and of '.join(named)}"


def excepted_says(units: Sequence[Unit], suspect: Sequence[Unit]) -> str:
    """Name the units within reach about which a person has already said what is to be done."""
    reached = _reached(suspect)
    free = [each for each in units if (each.group, each.supplier) in reached and is_settled(each)]
    return f"; {items_say(free)} excepted, on a person's word" if free else ""


def items_say(units: Sequence[Unit]) -> str:
    """Return ``items 3, 5 (record 21)``, the first of many."""
    shown = ", ".join(unit_says(unit) for unit in units[:_MOST_NAMED])
    more = f" and {len(units) - _MOST_NAMED} more" if len(units) > _MOST_NAMED else ""
    return f"item{'' if len(units) == 1 else 's'} {shown}{more}"


def units_say(count: int) -> str:
    """Return ``1 unit`` or ``2 units``."""
    return f"{count} unit{'' if count == 1 else 's'}"


def _reached(suspect: Sequence[Unit]) -> dict[tuple[str, str], None]:
    return dict.fromkeys((unit.group, unit.supplier) for unit in suspect)
