"""What all tests share."""

from __future__ import annotations

import os

import pytest
from hypothesis import settings

# How long an example takes says more about the machine than about the code.
# CI judges a change, so it tries the same examples every time; a person's run looks for new ones.
settings.register_profile("steady", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("steady")


@pytest.fixture(autouse=True)
def _record_of_its_own(tmp_path, monkeypatch):
    """No test may write into the user's record."""
    monkeypatch.setenv("SCREENER_RECORD", str(tmp_path / "record.sqlite"))
