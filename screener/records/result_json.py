"""Results for other programs: the contract ``screener.result/1``. Fields may be added, never renamed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields, replace
from typing import Any, TypeVar

from screener.parts import explain
from screener.records.plain_text import storable_json
from screener.screening.model import (
    Disposition,
    Finding,
    Item,
    NextStep,
    NotChecked,
    Observation,
    Requirement,
    ScreenedItem,
    Source,
    StepResult,
    Suspicion,
    Trade,
    WeighedIndicator,
)
from screener.screening.odds import odds_say

T = TypeVar("T")

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
        "next_steps": [next_step_as_json(each) for each in screened.next_steps],
        "not_checked_details": [_not_checked(each) for each in screened.not_checked],
        "order_line": requirement_as_json(item.requirement),
        "photos": list(item.photos),
        "observations": list(observations.values()),
    }
    clean: dict[str, Any] = storable_json(answer)
    return clean


def item_from_json(document: Mapping[str, Any]) -> ScreenedItem:
    """Return the answer that `item_as_json` wrote: what a report made later from the record shows.

    Fields that this version does not know are left out; the designation is explained anew.
    """
    line = document.get("order_line") or {}
    requirement = requirement_from_json({**line, "need": line.get("need") or document.get("requirement")})
    suspicion = {"level": "none", "ratio_db": 0.0, "low_db": 0.0, "high_db": 0.0, **(document.get("suspicion") or {})}
    return ScreenedItem(
        item=Item(
            key=str(document.get("item", "")),
            requirement=requirement,
            observations=tuple(_observation_from(each) for each in document.get("observations", ())),
            photos=tuple(document.get("photos", ())),
        ),
        disposition=Disposition(
            document["disposition"],
            document.get("exit", "look again"),
            *(str(document.get(name, "")) for name in ("reason", "next_step", "rule")),
        ),
        suspicion=_known(
            Suspicion,
            {
                **suspicion,
                "indicators": tuple(_known(WeighedIndicator, each) for each in suspicion.get("indicators", ())),
            },
        ),
        findings=tuple(_finding_from(each) for each in document.get("findings", ())),
        not_checked=tuple(_known(NotChecked, each) for each in document.get("not_checked_details", ())),
        agreed=tuple(document.get("agreed", ())),
        next_steps=tuple(_next_step_from(each) for each in document.get("next_steps", ())),
    )


def _known(kind: type[T], document: Mapping[str, Any]) -> T:
    """Return a dataclass made of the fields that it has."""
    names = {each.name for each in fields(kind)}  # type: ignore[arg-type]
    as_written = {name: tuple(value) if isinstance(value, list) else value for name, value in document.items()}
    return kind(**{name: value for name, value in as_written.items() if name in names})


def _observation_from(document: Mapping[str, Any]) -> Observation:
    source = dict(document["source"])
    source["region_px"] = tuple((float(x), float(y)) for x, y in source.get("region_px", ()))
    if "also" in source:
        source["also"] = tuple(source["also"])
    alternatives = tuple((str(each["value"]), float(each["p"])) for each in document.get("alternatives", ()))
    return _known(Observation, {**document, "source": _known(Source, source), "alternatives": alternatives})


def _finding_from(document: Mapping[str, Any]) -> Finding:
    keys = tuple(str(each["key"]) for each in document.get("observations", ()))
    return _known(Finding, {**document, "observations": keys})


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
            "also": list(source.also),
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
        "trade": None if requirement.trade is None else asdict(requirement.trade),
        "signs": list(requirement.signs),
    }


def requirement_from_json(line: Mapping[str, Any]) -> Requirement:
    """Return what `requirement_as_json` wrote; the designation is explained anew."""
    need = str(line.get("need") or "")
    known: dict[str, Any] = {name: line.get(name) for name in ("quantity", "maker", "supplier", "note")}
    return Requirement(
        str(line.get("line") or ""),
        need,
        explain(need),
        duty=frozenset(line.get("duty") or ()),
        trade=_known(Trade, line["trade"]) if line.get("trade") else None,
        signs=tuple(line.get("signs") or ()),
        **known,
    )


def next_step_as_json(step: NextStep) -> dict[str, Any]:
    """Return a step that may settle it: what it costs, how likely it changes something, and what it may come to."""
    return {
        "step": step.step,
        "says": step.says,
        "hands_on_s": step.hands_on_s,
        "wait_days": step.wait_days,
        "cost_s": step.cost_s,
        "chance": step.chance,
        "results": [
            {"disposition": r.disposition, "exit": r.exit, "level": r.level, "chance": r.chance} for r in step.results
        ],
        "has_to_show": list(step.has_to_show),
    }


def _next_step_from(document: Mapping[str, Any]) -> NextStep:
    results = tuple(_known(StepResult, each) for each in document.get("results", ()))
    return replace(_known(NextStep, document), results=results)


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
                "ratio": round(each.ratio, 2),
                "ratio_low": round(each.ratio_low, 2),
                "ratio_high": round(each.ratio_high, 2),
                "ordinary_causes": list(each.ordinary_causes),
                "settle": each.settle,
                "learned_from": each.learned_from,
            }
            for each in suspicion.indicators
        ],
        "absence_db": suspicion.absence_db,
        "absence_half_db": suspicion.absence_half_db,
        "groups_without": list(suspicion.groups_without),
        "prior_percent": suspicion.prior_percent,
        "supplier_class": suspicion.supplier_class,
        "looked_for": list(suspicion.looked_for),
        "odds": odds_say(suspicion),
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
        "word": missing.word,
        "required": missing.required,
        "next_step": missing.next_step,
    }
