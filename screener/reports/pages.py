"""The page templates, set up once for every report."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined


@cache
def page_templates() -> Environment:
    """Return the environment of the templates in this package."""
    return Environment(
        loader=PackageLoader("screener.reports"),
        # Codes, labels, file names and job cards are written by strangers.
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
