from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1]
STANDARDS = TESTS.parents[1] / "shared" / "standards"

Rows = list[dict[str, str]]


def _read(path: Path) -> Rows:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="session")
def reference() -> Callable[[str], Rows]:
    """Values copied from outside sources, each row with its source."""
    return lambda name: _read(TESTS / "reference" / name)


@pytest.fixture(scope="session")
def standards() -> Callable[[str], Rows]:
    """Whole outside tables, present only in the workshop."""
    if not STANDARDS.is_dir():
        pytest.skip("the outside tables are not here")
    return lambda name: _read(STANDARDS / name)
