"""The contract of the interface as an OpenAPI 3.1 document."""

from __future__ import annotations

from typing import Any


def document() -> dict[str, Any]:
    """Return the contract."""
    return {"openapi": "3.1.0", "info": {"title": "screener dock", "version": "1"}, "paths": {}}
