"""Being written."""

from __future__ import annotations

from screener.dock.pages.desk import routes

ROUTES = routes()
