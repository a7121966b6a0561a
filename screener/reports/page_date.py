"""The date that stands on a page."""

from __future__ import annotations

import datetime as dt


def today_says() -> str:
    """Return the local date as pages show it: ``25 November 2026``."""
    today = dt.datetime.now(dt.UTC).astimezone().date()
    return f"{today.day} {today:%B %Y}"
