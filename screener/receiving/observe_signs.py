"""Signs that a person reports by their id, and groups of signs that a person has looked through, to observations."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screener.errors import WrongUsage
from screener.screening.model import Source
from screener.specs.screening_rules import indicator_groups, indicators

if TYPE_CHECKING:
    from collections.abc import Iterable

    from screener.receiving.observe import Notebook


@dataclass(frozen=True, slots=True)
class PersonSigns:
    """What a person saw, and which groups were looked through; ``looked`` without ``seen`` says that nothing was."""

    seen: tuple[str, ...] = ()
    looked: tuple[str, ...] = ()
    who: str = "a person"


def observe_signs(signs: PersonSigns, notebook: Notebook) -> None:
    """Note the signs and groups.

    Raises
    ------
    WrongUsage
        An id or group is not in reference_specs/indicators.toml.
    """
    source = Source("person", signs.who)
    for name in known_signs(signs.seen):
        notebook.note("sign", name, source)
    for group in signs.looked:
        if group not in indicator_groups():
            raise WrongUsage(
                f"“{group}” is no group of signs.",
                where="--looked",
                next_step=f"One of: {', '.join(indicator_groups())}.",
                code="no_such_group",
            )
        notebook.note("looked", group, source)


def known_signs(given: Iterable[str]) -> tuple[str, ...]:
    """Return the ids of signs as the catalogue writes them; several may stand in one text.

    Raises
    ------
    WrongUsage
        One is not in the catalogue.
    """
    names = tuple(word.upper() for text in given for word in re.split(r"[\s,;/+]+", text) if word)
    unknown = [name for name in names if name not in indicators()]
    if unknown:
        raise WrongUsage(
            f"“{unknown[0]}” is no sign of the catalogue.",
            where="--seen",
            next_step="`screener indicators` lists them.",
            code="no_such_indicator",
        )
    return tuple(dict.fromkeys(names))
