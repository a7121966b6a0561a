"""A recorded answer as the core made it, so that a report can be printed from the record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from screener.parts import explain
from screener.screening.model import (
    Disposition,
    Finding,
    Item,
    NotChecked,
    Observation,
    Requirement,
    ScreenedItem,
    Source,
    Suspicion,
    WeighedIndicator,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from screener.records.model import StoredItem

    Json = Mapping[str, Any]


def screened_of(stored: StoredItem) -> ScreenedItem:
    """Return the answer of a recorded item; the inverse of `screener.records.result_json.item_as_json`."""
    result = stored.result
    observations = tuple(_observation(each) for each in result.get("observations", ()))
    item = Item(result["item"], _requirement(result), observations, tuple(result.get("photos", ())))
    return ScreenedItem(
        item=item,
        disposition=Disposition(
            result["disposition"], result["exit"], result["reason"], result["next_step"], result["rule"]
        ),
        suspicion=_suspicion(result["suspicion"]),
        findings=tuple(_finding(each) for each in result["findings"]),
        not_checked=tuple(_not_checked(each) for each in result["not_checked_details"]),
        agreed=tuple(result["agreed"]),
    )


def _requirement(result: Json) -> Requirement:
    line = result["order_line"]
    return Requirement(
        line=line["line"],
        need=line["need"],
        explained=explain(line["need"]),
        quantity=line["quantity"],
        maker=line["maker"],
        duty=frozenset(line["duty"]),
        supplier=line["supplier"],
        note=line["note"],
    )


def _observation(each: Json) -> Observation:
    source = each["source"]
    region = tuple((float(x), float(y)) for x, y in source["region_px"])
    return Observation(
        key=each["key"],
        attribute=each["attribute"],
        value=each["value"],
        source=Source(source["channel"], source["where"], source["photo_sha256"], region, source["reader"]),
        p=each["p"],
        u=each["u"],
        alternatives=tuple((other["value"], other["p"]) for other in each["alternatives"]),
        face=each["face"],
        confirmed=each["confirmed"],
        temperature_c=each["temperature_c"],
    )


def _suspicion(found: Json) -> Suspicion:
    indicators = tuple(WeighedIndicator(**each) for each in found["indicators"])
    return Suspicion(found["level"], found["ratio_db"], found["low_db"], found["high_db"], indicators)


def _finding(each: Json) -> Finding:
    return Finding(
        code=each["code"],
        weight=each["weight"],
        question=each["question"],
        says=each["says"],
        rests_on=each["rests_on"],
        observations=tuple(seen["key"] for seen in each["observations"]),
        next_step=each["next_step"],
        indicator=each["indicator"],
    )


def _not_checked(each: Json) -> NotChecked:
    return NotChecked(
        each["code"], each["says"], each.get("word", ""), required=each["required"], next_step=each["next_step"]
    )
