"""Write a file whole or not at all: an older one stays until the new one is complete."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable
from pathlib import Path
from tempfile import NamedTemporaryFile

from screener.errors import ScreenerError


def need_folder(path: Path) -> None:
    """Refuse a file whose folder is not there: made in silence, a mistyped one would hide the file.

    Raises
    ------
    ScreenerError
        The folder is not there.
    """
    if not path.parent.is_dir():
        raise ScreenerError(
            "the file could not be written: there is no such folder.",
            where=str(path.parent),
            next_step="Make the folder first, or name another place.",
            code="report_not_written",
        )


def write_whole(path: Path, pieces: Iterable[str] | bytes) -> Path:
    """Write text (UTF-8, line ends as given) or bytes and return the path.

    Raises
    ------
    ScreenerError
        There is no such folder, or the file cannot be written there.
    """
    need_folder(path)
    temporary = ""
    try:
        with NamedTemporaryFile("wb", dir=path.parent, delete=False) as target:
            temporary = target.name
            if isinstance(pieces, bytes):
                target.write(pieces)
            else:
                target.writelines(piece.encode("utf-8", "replace") for piece in pieces)
        Path(temporary).chmod(0o644)
        Path(temporary).replace(path)
    except OSError as error:
        raise ScreenerError(
            f"the report could not be written ({error.strerror}).",
            where=str(path),
            next_step="Name another place; the results are in the record.",
            code="report_not_written",
        ) from error
    finally:
        with contextlib.suppress(OSError):
            Path(temporary or path.parent / "nothing").unlink()
    return path
