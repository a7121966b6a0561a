"""Kept photos, upright and reduced, for pages."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING

from starlette.responses import Response
from starlette.routing import Route

from screener.dock.asked import number_of
from screener.errors import WrongUsage

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.requests import Request

USUAL_SIDE_PX = 800
LARGEST_SIDE_PX = 2400


def routes() -> list[Route]:
    """Return the routes of kept photos."""
    return [Route("/photos/{sha256:str}/small.jpg", small)]


async def small(request: Request) -> Response:
    """Return a photo as a JPEG whose longer side has at most ``side`` pixels."""
    side = max(16, number_of(request, "side", usual=USUAL_SIDE_PX, most=LARGEST_SIDE_PX))
    sha256 = str(request.path_params["sha256"])
    path = request.app.state.bench.record.archive.find(sha256)
    if path is None:
        raise WrongUsage("there is no such photo.", where=sha256[:64], code="no_such_photo")
    content = await request.app.state.work.aside(small_jpeg, path, side)
    # The address is the content: it never changes.
    headers = {"Cache-Control": "private, max-age=31536000, immutable"}
    return Response(content, media_type="image/jpeg", headers=headers)


def small_jpeg(path: Path, side_px: int) -> bytes:
    """Return a reduced JPEG of a photo. Runs in a process of its own.

    Raises
    ------
    WrongUsage
        It cannot be shown.
    """
    from screener.reports.small_photo import small_photo

    made = small_photo(path.read_bytes(), side_px)
    if made is None:
        raise WrongUsage("this photo cannot be shown.", where="photo", code="no_such_photo")
    return base64.b64decode(made.uri.partition(",")[2])
