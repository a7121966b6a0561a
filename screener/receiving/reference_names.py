"""Which of the shop's references a box is to be laid beside: those of the maker and product that it names itself."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import TYPE_CHECKING

from screener.looking.look import look
from screener.records.references import product_key
from screener.specs.makers import maker_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from screener.records.references import ReferencePhoto

MOST_NAMED = 8
_LIKE_WORD = 0.7
"""Share of letters from which a word may be another one misspelt: then the box is compared, which tells more."""


@dataclass(frozen=True, slots=True)
class BoxNames:
    """Maker and product that a person gave, or that were read on a box; empty where neither."""

    maker: str = ""
    product: str = ""

    @property
    def whole(self) -> bool:
        """Whether both are known."""
        return bool(self.maker and self.product)

    @property
    def says(self) -> str:
        """Both, as far as they are known."""
        return " ".join(each for each in (self.maker, self.product) if each)


def read_names(photo: Path) -> BoxNames:
    """Read on a box whose it is and what it holds."""
    seen = look(photo, frozenset({"codes", "label"}))
    fields = seen.label.fields if seen.label is not None else None
    coded = [code.fields.designation for code in seen.codes if code.fields.designation]
    return BoxNames(
        maker=(fields.maker or "") if fields else "",
        product=(fields.designation if fields else None) or next(iter(coded), ""),
    )


def of_names(names: BoxNames, kept: Iterable[ReferencePhoto]) -> tuple[ReferencePhoto, ...]:
    """References of that maker and product. A box may say less or more of the product than the reference does."""
    return tuple(r for r in kept if _same_maker(r.maker, names.maker) and _same_product(r.product, names.product))


def _same_maker(one: str, other: str) -> bool:
    one, other = maker_name(one), maker_name(other)
    return SequenceMatcher(None, one, other, autojunk=False).ratio() >= _LIKE_WORD


def _same_product(one: str, other: str) -> bool:
    first, second = sorted((product_key(one), product_key(other)), key=len)
    return second.startswith(first)


def none_held(names: BoxNames, kind: str, kept: Sequence[ReferencePhoto]) -> str:
    """Say that there is no reference of this maker and product, which there are, and how one is added."""
    what = "" if kind == "package" else f" --kind {kind}"
    maker, product = names.maker or "NAME", names.product or "TEXT"
    return (
        f"no reference for {names.says or 'this'} ({kind}). {held_says(kept)} Add one with "
        f'`screener reference add PHOTO --maker {maker} --product "{product}"{what} --by NAME`.'
    )


def held_says(kept: Sequence[ReferencePhoto]) -> str:
    """Say which references there are, each maker and product once."""
    names = list(dict.fromkeys(f"{each.maker} {each.product}" for each in kept))
    if not names:
        return "None is held yet."
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return f"Held are: {', '.join(names[:MOST_NAMED])}{more}."
