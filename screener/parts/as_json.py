"""The machine-readable shape of what was explained (``screener.explain/1``)."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from screener.parts.companions import companions
from screener.parts.model import Closure, Explained

EXPLAIN_SCHEMA = "screener.explain/1"


def closure_as_json(closure: Closure | None) -> dict[str, Any] | None:
    """Return ``{"kind", "sides"}`` or None."""
    return None if closure is None else {"kind": closure.kind, "sides": closure.sides}


def explained_as_json(explained: Explained) -> dict[str, Any]:
    """Return a dictionary of plain values in the order of the contract; tuples become lists, None becomes null.

    The retaining rings that go with the part, for its shaft and its housing bore, are named behind the attributes.
    """
    values: dict[str, Any] = {"schema": EXPLAIN_SCHEMA}
    for field in fields(explained):
        value = getattr(explained, field.name)
        if isinstance(value, Closure):
            value = closure_as_json(value)
        elif isinstance(value, tuple):
            value = list(value)
        values[field.name] = value
    rings = companions(explained)
    values["shaft_retaining_ring"] = rings.shaft_ring.name if rings.shaft_ring else None
    values["bore_retaining_ring"] = rings.bore_ring.name if rings.bore_ring else None
    return values
