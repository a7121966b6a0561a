"""Where the record and its photos are kept, from what the user said, the environment, or the usual place."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_data_path
from sqlalchemy import URL, make_url
from sqlalchemy.exc import ArgumentError

from screener.errors import ScreenerError, WrongUsage

RECORD_VARIABLE = "SCREENER_RECORD"
PHOTOS_VARIABLE = "SCREENER_PHOTOS"
FILE_NAME = "record.sqlite"
_EXAMPLE = "Give a file, or a URL such as postgresql://user@server/database."


@dataclass(frozen=True, slots=True)
class Place:
    """A database and the folder of its photos."""

    url: URL
    photos: Path

    @property
    def file(self) -> Path | None:
        """The database file of SQLite, None for a server."""
        return Path(self.url.database) if self.url.get_backend_name() == "sqlite" and self.url.database else None

    @property
    def says(self) -> str:
        """The place for messages: a path, or a URL without its password."""
        return str(self.file) if self.file else self.url.render_as_string(hide_password=True)


def find_place(target: str | Path | None = None, photos: Path | None = None) -> Place:
    """Return where to keep the record.

    Parameters
    ----------
    target
        A path or a SQLAlchemy URL; None asks ``SCREENER_RECORD``, then the user's data folder.
    photos
        Folder of the photos; None asks ``SCREENER_PHOTOS``, then takes ``photos`` beside the database file.

    Raises
    ------
    WrongUsage
        The URL cannot be understood.
    """
    wanted = str(target or os.environ.get(RECORD_VARIABLE) or user_data_path("screener") / FILE_NAME)
    url = _as_url(wanted)
    if url.get_backend_name() == "sqlite" and url.database in {None, "", ":memory:"}:
        raise WrongUsage("a record in memory would be lost at once.", where=wanted, next_step="Name a file.")
    chosen = photos or (Path(os.environ[PHOTOS_VARIABLE]) if os.environ.get(PHOTOS_VARIABLE) else None)
    return Place(url=url, photos=chosen or _usual_photos(url))


def _as_url(wanted: str) -> URL:
    if "://" not in wanted:
        return URL.create("sqlite", database=str(Path(wanted).expanduser().absolute()))
    try:
        url = make_url(wanted)
    except (ArgumentError, ValueError) as error:
        raise WrongUsage("this is not the address of a database.", where=wanted, next_step=_EXAMPLE) from error
    # psycopg 3 is the driver of our "postgres" extra; the bare name would ask for the older psycopg2.
    return url.set(drivername="postgresql+psycopg") if url.drivername in {"postgresql", "postgres"} else url


def _usual_photos(url: URL) -> Path:
    if url.get_backend_name() == "sqlite" and url.database:
        return Path(url.database).absolute().parent / "photos"
    return user_data_path("screener") / "photos"


def make_folder(folder: Path) -> None:
    """Create a folder with its parents.

    Raises
    ------
    ScreenerError
        It cannot be made there.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ScreenerError(
            f"this folder cannot be made ({error.strerror}).",
            where=str(folder),
            next_step="Name another place.",
            code="folder_not_made",
        ) from error
