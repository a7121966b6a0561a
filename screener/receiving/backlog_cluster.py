"""The same backlog on several machines, with Dask distributed: the extra ``cluster``.

Every worker must see the photos under the same path (a shared folder) and run the same version of the reader; both are
checked with every photo. A worker that dies gives its photos back to the others; a photo that takes several workers
with it is recorded as one that the reader cannot read.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path
from typing import Any

from screener.errors import ScreenerError, WrongUsage
from screener.looking.look import READER_VERSION, look, use_one_thread
from screener.looking.reading import PhotoReading
from screener.receiving.backlog import AHEAD, Reader
from screener.receiving.photo_files import PhotoFile, sha256_of
from screener.vision.model import Problem

_ONE_AT_A_TIME = threading.Lock()
"""The engines of a process serve one photo at a time, however many threads its worker has."""
_SECONDS_TO_CONNECT = 15


class NotSameError(Exception):
    """A worker does not have what the others have."""


def on_cluster(address: str) -> Reader:
    """Return a reader on the workers of a scheduler, ``tcp://host:8786``.

    Raises
    ------
    WrongUsage
        The extra is not installed, or no scheduler answers there.
    """

    def read(photos: Iterable[PhotoFile]) -> Iterator[tuple[PhotoFile, PhotoReading]]:
        with _connected(address) as client:
            yield from _windowed(client, iter(photos))

    return read


def _connected(address: str) -> Any:
    try:
        import distributed
    except ImportError as error:
        raise WrongUsage(
            "reading on a cluster needs an extra.", where="--cluster", next_step='pip install "screener[cluster]"'
        ) from error
    try:
        # Dask comes without types.
        client: Any = distributed.Client
        return client(address, timeout=_SECONDS_TO_CONNECT, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        raise WrongUsage(
            "no scheduler answers there.",
            where=address,
            next_step="Start one with `dask scheduler`, workers with `dask worker ADDRESS --nthreads 1`.",
            code="no_cluster",
        ) from error


def _windowed(client: Any, rest: Iterator[PhotoFile]) -> Iterator[tuple[PhotoFile, PhotoReading]]:
    """Yield readings as they come, with a few photos a worker on their way: neither side holds the whole backlog."""
    import distributed

    on_way: dict[str, PhotoFile] = {}
    arriving: Any = distributed.as_completed(loop=client.loop)  # type: ignore[no-untyped-call]
    _send(client, rest, on_way, arriving)
    while on_way:
        future = next(arriving)
        photo = on_way.pop(future.key)
        reading = _reading_of(future, photo)
        future.release()
        yield photo, reading
        _send(client, rest, on_way, arriving)


def _send(client: Any, rest: Iterator[PhotoFile], on_way: dict[str, PhotoFile], arriving: Any) -> None:
    threads = sum(client.nthreads().values())
    for photo in islice(rest, max(1, AHEAD * max(1, threads) - len(on_way))):
        key = f"photo-{photo.sha256}-{READER_VERSION}"
        future = client.submit(read_on_worker, str(photo.path.absolute()), photo.sha256, READER_VERSION, key=key)
        on_way[key] = photo
        arriving.add(future)


def _reading_of(future: Any, photo: PhotoFile) -> PhotoReading:
    from distributed import KilledWorker

    try:
        reading = future.result()
    except KilledWorker:
        says = "Reading this photo made several readers stop. Take it again or save it as a plain JPEG."
        return PhotoReading(photo.name, problems=(Problem("reader_stopped", says),), readable=False)
    except NotSameError as error:
        raise ScreenerError(
            str(error),
            where=photo.name,
            next_step="Let every worker see the photos under the same path and run the same version; then start again.",
            code="cluster_differs",
        ) from error
    if not isinstance(reading, PhotoReading):
        raise TypeError(f"a worker answered with {type(reading).__name__}")
    return reading


def read_on_worker(path: str, sha256: str, reader_version: str) -> PhotoReading:
    """Read one photo; runs on a worker.

    Raises
    ------
    NotSameError
        This worker has another reader, or another file or none under this path.
    """
    if reader_version != READER_VERSION:
        raise NotSameError(f"a worker has version {READER_VERSION} of the reader, this program {reader_version}.")
    place = Path(path)
    if not place.is_file() or sha256_of(place) != sha256:
        raise NotSameError("a worker does not see this photo under the same path, or another one.")
    with _ONE_AT_A_TIME:
        use_one_thread()
        return look(place)
