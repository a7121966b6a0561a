"""Which files of a folder are photos, and what each one is by content."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screener.errors import InputUnreadable

if TYPE_CHECKING:
    from pathlib import Path

PHOTO_ENDINGS = frozenset(
    {".jpg", ".jpeg", ".jfif", ".png", ".webp", ".tif", ".tiff", ".bmp", ".gif", ".heic", ".heif", ".avif", ".mpo"}
)


@dataclass(frozen=True, slots=True)
class PhotoFile:
    """One file: its name as shown (path below the delivery's folder, with ``/``), its path, its content hash."""

    name: str
    path: Path
    sha256: str


def photo_files(folder: Path) -> tuple[tuple[PhotoFile, ...], tuple[str, ...]]:
    """Return the photo files below a folder in name order, and the names of files that are no photos.

    Raises
    ------
    InputUnreadable
        There is no such folder, or no photo in it.
    """
    if not folder.is_dir():
        raise InputUnreadable("there is no such folder.", where=str(folder), next_step="Give the folder of the photos.")
    files = sorted(p for p in folder.rglob("*") if p.is_file() and not p.name.startswith("."))
    photos = tuple(_photo_file(p, p.relative_to(folder).as_posix()) for p in files if ends_like_a_photo(p))
    if not photos:
        raise InputUnreadable(
            "the folder holds no photo.",
            where=str(folder),
            next_step=f"Put the photos there; endings that are read: {', '.join(sorted(PHOTO_ENDINGS))}.",
            code="no_photos",
        )
    return photos, tuple(p.relative_to(folder).as_posix() for p in files if not ends_like_a_photo(p))


def single_photos(paths: list[Path]) -> tuple[PhotoFile, ...]:
    """Return photo files named one by one.

    Raises
    ------
    InputUnreadable
        One of them does not exist.
    """
    for path in paths:
        if path.is_dir():
            raise InputUnreadable("this is a folder.", where=str(path), next_step="Name the photos in it, one by one.")
        if not path.is_file():
            raise InputUnreadable("there is no such file.", where=str(path), next_step="Check the name.")
    return tuple(_photo_file(path, path.name) for path in paths)


def fingerprint(photos: tuple[PhotoFile, ...]) -> str:
    """One hash that stands for all photos with their names: other photos, other fingerprint."""
    digest = hashlib.sha256()
    for photo in photos:
        digest.update(f"{photo.name}\0{photo.sha256}\n".encode("utf-8", "surrogateescape"))
    return digest.hexdigest()


def sha256_of(path: Path) -> str:
    """The content hash of a file, read in pieces."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def ends_like_a_photo(path: Path) -> bool:
    """Whether a file's name says that it is a photo."""
    return path.suffix.lower() in PHOTO_ENDINGS


def _photo_file(path: Path, name: str) -> PhotoFile:
    return PhotoFile(name, path, sha256_of(path))
