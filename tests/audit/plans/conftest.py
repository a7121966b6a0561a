from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

STANDARDS = Path(__file__).resolve().parents[4] / "shared" / "standards"
Rows = list[dict[str, str]]


@pytest.fixture(scope="session")
def standards() -> Callable[[str], Rows]:
    """Whole outside tables, present only in the workshop."""
    if not STANDARDS.is_dir():
        pytest.skip("the outside tables are not here")

    def read(name: str) -> Rows:
        with (STANDARDS / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    return read
