"""Codes and their meaning as public suffix glossaries print them, against what `explain` makes of them.

The table is tests/reference/suffix_meanings.csv. A code the glossaries warn about may be left open, not read otherwise.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from screener.parts import Explained, explain

_TABLE = Path(__file__).parents[1] / "reference" / "suffix_meanings.csv"
_ROWS = list(csv.DictReader(_TABLE.read_text("utf-8").splitlines()))
_CLOSURES = {
    "metal shield": "shield",
    "contact seal": "contact_seal",
    "non-contact rubber seal": "non_contact_seal",
    "low-torque / low-friction contact seal": "low_friction_seal",
}
_ANGULAR = {"matching"}
_INTERSTATE_OR_ABEC = {"2", "4", "5", "6", "7", "8", "9"}
"""Bare figures of the interstate system and of short class names: not suffixes of an ISO designation."""


def of_group(group: str) -> list[dict[str, str]]:
    return [row for row in _ROWS if row["group"] == group and row["token"] not in _INTERSTATE_OR_ABEC]


def bearing(token: str, number: str = "6205") -> Explained:
    return explain(f"{number} {token.lstrip('-')}")


def wanted_closure(meaning: str) -> tuple[str, int] | None:
    head, _, sides = meaning.partition(", ")
    kind = _CLOSURES.get(head.removesuffix("s"))
    return (kind, 1 if sides == "one side" else 2) if kind and sides else None


@pytest.mark.parametrize("row", of_group("closure"), ids=lambda row: row["token"])
def test_closures(row: dict[str, str]) -> None:
    wanted, found = wanted_closure(row["meaning"]), bearing(row["token"])
    if wanted is None:
        assert found.understood
        return
    if found.closure is None:
        assert found.ambiguous, "left open without saying why"
        assert row["token"] in {"DD", "V", "P"}
        return
    assert (found.closure.kind, found.closure.sides) == wanted


@pytest.mark.parametrize("row", of_group("clearance"), ids=lambda row: row["token"])
def test_clearances(row: dict[str, str]) -> None:
    token, found = row["token"], bearing(row["token"])
    assert found.understood
    wanted = {"C0": "CN", "CM": None}.get(token, token[:2])
    assert found.clearance == wanted


@pytest.mark.parametrize("row", of_group("precision"), ids=lambda row: row["token"])
def test_accuracy(row: dict[str, str]) -> None:
    token, found = row["token"], bearing(row["token"])
    assert found.understood
    if token == "C36":  # noqa: S105
        assert (found.clearance, found.accuracy) == ("C3", None)
    else:
        assert found.accuracy == token[:2]
        assert found.clearance == (f"C{token[2]}" if len(token) > 2 else "CN")


@pytest.mark.parametrize("row", of_group("heat"), ids=lambda row: row["token"])
def test_heat_stabilisation(row: dict[str, str]) -> None:
    celsius = {"S0": 150, "S1": 200, "S2": 250, "S3": 300, "S4": 350, "S5": 400}[row["token"]]
    assert f"{celsius} C" in str(bearing(row["token"]).heat_stabilisation)


@pytest.mark.parametrize("row", of_group("matching"), ids=lambda row: row["token"])
def test_sets(row: dict[str, str]) -> None:
    wanted = {"DB": "back to back", "DF": "face to face", "DT": "tandem"}[row["token"]]
    assert bearing(row["token"], "7205 B").arrangement == wanted


@pytest.mark.parametrize("row", of_group("cage"), ids=lambda row: row["token"])
def test_cages(row: dict[str, str]) -> None:
    found = bearing(row["token"], "NU205")
    if found.cage is None:
        assert found.ambiguous or found.undecided or not found.understood
        return
    kind = row["meaning"].split(" (")[0].split(",")[0]
    words = {"glass fibre polyamide": "polyamide", "fabric-reinforced resin": "resin"}
    # T2 and P are read as what the cylindrical roller bearings of most houses carry.
    assert words.get(kind, kind) in found.cage


@pytest.mark.parametrize("row", of_group("bore"), ids=lambda row: row["token"])
def test_bores(row: dict[str, str]) -> None:
    if row["token"].startswith("K"):
        number = "24020" if row["token"] == "K30" else "1205"  # noqa: S105
        assert bearing(row["token"], number).tapered_bore == row["meaning"].removeprefix("tapered bore ")
        return
    number = {"-5/8": "6202", "-1/2": "6202", "-3/4": "6203", "-7/8": "6205"}[row["token"]]
    top, bottom = row["token"].lstrip("-").split("/")
    assert explain(f"{number}-2RS{row['token']}").bore_mm == pytest.approx(25.4 * int(top) / int(bottom))


@pytest.mark.parametrize("row", of_group("ring"), ids=lambda row: row["token"])
def test_snap_rings(row: dict[str, str]) -> None:
    wanted = "groove and ring" if row["token"] == "NR" else "groove"  # noqa: S105
    assert bearing(row["token"]).snap_ring == wanted
