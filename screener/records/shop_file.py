"""Who sends reports to suppliers, from a small TOML file."""

from __future__ import annotations

import tomllib
from pathlib import Path

from screener.errors import InputUnreadable
from screener.records.purchases import Shop

_EXAMPLE = (
    'Write a text file of these lines: name = "…" / address = ["street", "town"] / contact = "…" / signature = "…"'
)


def read_shop(path: Path) -> Shop:
    """Read who sends reports from a TOML file: ``name``, ``address`` (a text or a list), ``contact``, ``signature``.

    Raises
    ------
    InputUnreadable
        The file is not there, is no TOML, or a key is not known.
    """
    if not path.is_file():
        raise InputUnreadable("there is no such file.", where=str(path), next_step=_EXAMPLE)
    try:
        told = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InputUnreadable("this file could not be read.", where=str(path), next_step=str(error)) from error
    keys = ("name", "address", "contact", "signature")
    if unknown := set(told) - set(keys):
        raise InputUnreadable(
            f"{', '.join(sorted(unknown))} is not known here.", where=str(path), next_step=f"Use {', '.join(keys)}."
        )
    address = told.get("address", "")
    lines = tuple(str(line) for line in address) if isinstance(address, list) else (str(address),)
    said = {key: str(told.get(key, "")) for key in ("name", "contact", "signature")}
    return Shop(address=lines if any(lines) else (), **said)
