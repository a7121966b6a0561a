"""Photos kept by what they are: a file named by the SHA-256 of its bytes, written whole or not at all.

The name a user or a camera gave plays no part in the path, so nothing from outside can point elsewhere, and the same
photo given twice is kept once.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import re
import time
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import IO, BinaryIO

from screener.errors import InputUnreadable, ScreenerError
from screener.records.place import make_folder

_SHA256 = re.compile(r"[0-9a-f]{64}")
_CHUNK_BYTES = 1 << 20
_STALE_SECONDS = 24 * 3600
_MAGIC: tuple[tuple[int, bytes, str], ...] = (
    (0, b"\xff\xd8\xff", "jpg"),
    (0, b"\x89PNG\r\n\x1a\n", "png"),
    (8, b"WEBP", "webp"),
    (4, b"ftyphei", "heic"),
    (4, b"ftyphev", "heic"),
    (4, b"ftypmif1", "heic"),
    (4, b"ftypavif", "avif"),
    (0, b"II*\0", "tif"),
    (0, b"MM\0*", "tif"),
    (0, b"GIF8", "gif"),
    (0, b"BM", "bmp"),
)


class Archive:
    """A folder of photos.

    Parameters
    ----------
    folder
        Made when the first photo is kept.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(self, photo: Path | bytes) -> str:
        """Keep a photo and return the SHA-256 of its bytes.

        Returns only when the bytes are on disk under their final name; a crash before leaves at most a file in
        ``incoming``, never half a photo.

        Raises
        ------
        InputUnreadable
            The file given cannot be read.
        ScreenerError
            The archive cannot be written to.
        """
        make_folder(self._incoming)
        try:
            source: BinaryIO = io.BytesIO(photo) if isinstance(photo, bytes) else photo.open("rb")
        except OSError as error:
            raise InputUnreadable(f"this photo cannot be opened ({error.strerror}).", where=str(photo)) from error
        with source:
            return self._keep_stream(source)

    def find(self, sha256: str) -> Path | None:
        """Return the file of a photo, or None; a text that is no SHA-256 names no photo."""
        if not _SHA256.fullmatch(sha256):
            return None
        return next(self._shelf(sha256).glob(f"{sha256}.*"), None)

    def open(self, sha256: str) -> BinaryIO:
        """Open a kept photo for reading.

        Raises
        ------
        InputUnreadable
            It is not there.
        """
        path = self.find(sha256)
        if path is None:
            raise InputUnreadable(
                "this photo is not in the archive.",
                where=sha256,
                next_step=f"Look in {self.folder}; it may have been moved.",
                code="photo_not_kept",
            )
        return path.open("rb")

    def stored_path(self, sha256: str) -> str:
        """Return where a kept photo lies, relative to the archive's folder, with ``/``; empty if it is not there."""
        path = self.find(sha256)
        return path.relative_to(self.folder).as_posix() if path else ""

    def sweep(self) -> int:
        """Remove what crashes left half-written more than a day ago; return how many files."""
        removed = 0
        for left in self._incoming.glob("*"):
            with contextlib.suppress(OSError):
                if time.time() - left.stat().st_mtime > _STALE_SECONDS:
                    left.unlink()
                    removed += 1
        return removed

    @property
    def _incoming(self) -> Path:
        return self.folder / "incoming"

    def _shelf(self, sha256: str) -> Path:
        return self.folder / sha256[:2] / sha256[2:4]

    def _keep_stream(self, source: BinaryIO) -> str:
        temporary = ""
        try:
            with NamedTemporaryFile(dir=self._incoming, delete=False) as target:
                temporary = target.name
                sha256, size, head = _copy_and_hash(source, target)
                target.flush()
                os.fsync(target.fileno())
            if self._has(sha256, size):
                Path(temporary).unlink()
            else:
                self._put_on_shelf(Path(temporary), sha256, head)
        except OSError as error:
            if temporary:
                Path(temporary).unlink(missing_ok=True)
            raise ScreenerError(
                f"a photo could not be kept ({error.strerror}).",
                where=str(self.folder),
                next_step="Make room or check who may write there; the rest is kept.",
                code="photo_not_kept",
            ) from error
        return sha256

    def _has(self, sha256: str, size: int) -> bool:
        there = self.find(sha256)
        return there is not None and there.stat().st_size == size

    def _put_on_shelf(self, temporary: Path, sha256: str, head: bytes) -> None:
        shelf = self._shelf(sha256)
        make_folder(shelf)
        # Temporary files are private to their maker; a kept photo may be read by whoever may read the folder.
        temporary.chmod(0o644)
        temporary.replace(shelf / f"{sha256}.{extension_of(head)}")
        _sync_folder(shelf)


def _copy_and_hash(source: BinaryIO, target: IO[bytes]) -> tuple[str, int, bytes]:
    digest, size, head = hashlib.sha256(), 0, b""
    while chunk := source.read(_CHUNK_BYTES):
        head = head or chunk[:16]
        digest.update(chunk)
        target.write(chunk)
        size += len(chunk)
    return digest.hexdigest(), size, head


def extension_of(head: bytes) -> str:
    """Name a photo's format by its first 16 bytes, ``bin`` for none known; the user's file name is not trusted."""
    for offset, magic, extension in _MAGIC:
        if head[offset : offset + len(magic)] == magic:
            return extension
    return "bin"


def _sync_folder(folder: Path) -> None:
    # A rename is only safe from a power cut once the folder itself is on disk; Windows has no such call.
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
