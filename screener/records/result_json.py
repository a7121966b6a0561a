"""Results for other programs: the contract ``screener.result/1``. Fields may be added, never renamed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from screener.records.plain_text import storable_json
from screener.screening.model import (
    Finding,
    NotChecked,
    Observation,
    Requirement,
    ScreenedItem,
    Suspicion,
)

SCHEMA = "screener.result/1"


def result_as_json(items: Sequence[ScreenedItem]) -> dict[str, Any]:
    """Return the answers for a delivery or a part as one JSON object."""
    return {"schema": SCHEMA, "items": [item_as_json(item) for item in items]}


def item_as_json(screened: ScreenedItem) -> dict[str, Any]:
    """Return everything known about one item; what `screener.records` keeps.

    ``not_checked`` holds sentences, ``not_checked_details`` the same with their codes. Every text is fit for any
    database and page: a NUL read from a code is shown as ``␀``.
    """
    item, disposition = screened.item, screened.disposition
    observations = {each.key: observation_as_json(each) for each in item.observations}
    answer = {
        "item": item.key,
        "requirement": item.requirement.need,
        "disposition": disposition.word,
        "suspicion": suspicion_as_json(screened.suspicion),
        "findings": [_finding(each, observations) for each in screened.findings],
        "not_checked": [each.says for each in screened.not_checked],
        "exit": disposition.exit,
        "reason": disposition.reason,
        "next_step": disposition.next_step,
        "rule": disposition.rule,
        "agreed": list(screened.agreed),
        "not_checked_details": [_not_checked(each) for each in screened.not_checked],
        "order_line": requirement_as_json(item.requirement),
        "photos": list(item.photos),
        "observations": list(observations.values()),
    }
    clean: dict[str, Any] = storable_json(answer)
    return clean


def observation_as_json(observation: Observation) -> dict[str, Any]:
    """Return one observation: what, where from, how sure. ``u`` is a standard uncertainty (k = 1)."""
    source = observation.source
    return {
        "key": observation.key,
        "attribute": observation.attribute,
        "value": observation.value,
        "p": observation.p,
        "u": observation.u,
        "face": observation.face,
        "confirmed": observation.confirmed,
        "temperature_c": observation.temperature_c,
        "alternatives": [{"value": value, "p": p} for value, p in observation.alternatives],
        "source": {
            "channel": source.channel,
            "where": source.where,
            "photo_sha256": source.photo_sha256,
            "region_px": [list(point) for point in source.region_px],
            "reader": source.reader,
        },
    }


def requirement_as_json(requirement: Requirement) -> dict[str, Any]:
    """Return what the job needs, as the order said it."""
    return {
        "line": requirement.line,
        "need": requirement.need,
        "basic": requirement.explained.basic,
        "understood": requirement.explained.understood,
        "quantity": requirement.quantity,
        "maker": requirement.maker,
        "duty": sorted(requirement.duty),
        "supplier": requirement.supplier,
        "note": requirement.note,
    }


def suspicion_as_json(suspicion: Suspicion) -> dict[str, Any]:
    """Return level, ratio in dB with its range, and the indicators that made it."""
    return {
        "level": suspicion.level,
        "ratio_db": suspicion.ratio_db,
        "low_db": suspicion.low_db,
        "high_db": suspicion.high_db,
        "indicators": [
            {
                "indicator": each.indicator,
                "group": each.group,
                "db": each.db,
                "db_low": each.db_low,
                "db_high": each.db_high,
                "share": each.share,
                "says": each.says,
            }
            for each in suspicion.indicators
        ],
    }


def _finding(finding: Finding, observations: dict[str, dict[str, Any]]) -> dict[str, Any]:
    return {
        "code": finding.code,
        "weight": finding.weight,
        "says": finding.says,
        "rests_on": finding.rests_on,
        "observations": [observations.get(key, {"key": key}) for key in finding.observations],
        "question": finding.question,
        "next_step": finding.next_step,
        "indicator": finding.indicator,
    }


def _not_checked(missing: NotChecked) -> dict[str, Any]:
    return {
        "code": missing.code,
        "says": missing.says,
        "required": missing.required,
        "next_step": missing.next_step,
    }
