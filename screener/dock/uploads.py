"""Files from stations: to disk piece by piece, within limits, whole or not at all."""

from __future__ import annotations

import asyncio
import contextlib
import hashlib
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from screener.dock.faults import Busy
from screener.errors import InputUnreadable, WrongUsage
from screener.records.archive import extension_of

if TYPE_CHECKING:
    from collections.abc import AsyncIterable, AsyncIterator

_HEAD_BYTES = 16


@dataclass(frozen=True, slots=True)
class Upload:
    """A file that arrived. It is removed when the request ends; its name here says nothing about its sender."""

    path: Path
    sha256: str
    size_bytes: int


@contextlib.asynccontextmanager
async def received(
    pieces: AsyncIterable[bytes], *, limit_bytes: int, places: asyncio.Semaphore, seconds: float
) -> AsyncIterator[Upload]:
    """Take a body in, at most ``limit_bytes`` of it and for at most so many ``seconds``.

    Raises
    ------
    Busy
        Too many files are arriving.
    WrongUsage
        It is too large, empty or too slow.
    """
    if places.locked():
        raise Busy
    async with places:
        with tempfile.TemporaryDirectory(prefix="screener-") as folder:
            try:
                # Whoever sends drop by drop must not keep a place for ever.
                async with asyncio.timeout(seconds):
                    upload = await _taken(pieces, Path(folder) / "upload", limit_bytes)
            except TimeoutError as error:
                raise WrongUsage(
                    "this took too long to arrive.", where="body", next_step="Send it again.", code="too_slow"
                ) from error
            yield upload


async def _taken(pieces: AsyncIterable[bytes], path: Path, limit_bytes: int) -> Upload:
    digest, size = hashlib.sha256(), 0
    # Closed before anybody else opens it: Windows shares no open file.
    with path.open("wb") as file:
        async for piece in pieces:
            size += len(piece)
            if size > limit_bytes:
                raise _too_large(limit_bytes)
            digest.update(piece)
            file.write(piece)
    if size == 0:
        raise WrongUsage("nothing arrived.", where="body", next_step="Send it again.", code="empty_file")
    return Upload(path, digest.hexdigest(), size)


def check_announced(length: str | None, limit_bytes: int) -> None:
    """Refuse a body that says beforehand that it is too large.

    Raises
    ------
    WrongUsage
        It does.
    """
    if length is not None and length.isdecimal() and int(length[:15]) > limit_bytes:
        raise _too_large(limit_bytes)


def check_is_photo(upload: Upload, name: str = "body") -> None:
    """Refuse what does not begin like a photo; whether it is one is found out where it is read.

    Parameters
    ----------
    upload
        The file.
    name
        What its sender calls it, so that of several the right one is taken again.

    Raises
    ------
    InputUnreadable
        It does not.
    """
    with upload.path.open("rb") as file:
        head = file.read(_HEAD_BYTES)
    if extension_of(head) == "bin":
        raise InputUnreadable(
            "this is no photo.",
            where=name,
            next_step="Send a JPEG, PNG, WebP, TIFF or HEIC photo.",
            code="not_a_photo",
        )


def check_whole(upload: Upload, sha256: str) -> None:
    """Refuse a file that lost something on its way.

    Raises
    ------
    WrongUsage
        Its hash is another than its sender announced.
    """
    if upload.sha256 != sha256.lower():
        raise WrongUsage(
            "not all of the photo arrived.", where="body", next_step="Send the same photo again.", code="cut_short"
        )


def _too_large(limit_bytes: int) -> WrongUsage:
    limit = f"{limit_bytes / 1e6:g} MB"
    return WrongUsage(f"this is larger than {limit}.", where="body", next_step="Save it as JPEG.", code="too_large")
