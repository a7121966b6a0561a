"""Where the tables lie: inside an installed package, or beside it in a checkout."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from screener.errors import InputUnreadable

_PACKAGE = Path(__file__).resolve().parents[1]
FOLDER = "reference_specs"


@cache
def specs_folder() -> Path:
    """Return the folder of the reference tables.

    Raises
    ------
    InputUnreadable
        If neither the installed package nor the checkout has it.
    """
    for place in (_PACKAGE / FOLDER, _PACKAGE.parent / FOLDER):
        if place.is_dir():
            return place
    raise InputUnreadable(
        "The folder with the reference tables is missing.",
        where=str(_PACKAGE.parent / FOLDER),
        next_step="Install the program again, or restore the folder from the repository.",
        code="tables_missing",
    )
