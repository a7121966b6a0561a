"""The pages people use at the bench: the clerk's, the mechanic's and the buyer's."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from starlette.routing import Route


def page_routes() -> list[Route]:
    """Return the routes of all pages, to be mounted at the root of the server."""
    from screener.dock.pages import clerk, deciding, fit, giving, job, lists, papers, part, start

    modules = (start, clerk, giving, deciding, part, fit, job, lists, papers)
    return [*(route for module in modules for route in module.ROUTES), *start.LAST]
