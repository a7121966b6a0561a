"""An order as the tool understands it: lines, and what was doubtful about the list they came from."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One line of an order. What the list does not say is None or empty, never guessed."""

    line: str
    """Its name in the order, unique within it."""
    need_text: str
    """What is needed, as written; of a line that could not be understood, everything that stands in it."""
    quantity: int | None = None
    maker: str | None = None
    duty: frozenset[str] = frozenset()
    """Words from ``dry``, ``dirty``, ``wet``, ``hot``, ``fast``."""
    supplier: str | None = None
    unit_price: Decimal | None = None
    """In the currency of the order."""
    note: str | None = None
    order_number: str | None = None
    """The buyer's own number of the order (PO)."""
    supplier_address: str | None = None
    supplier_contact: str | None = None
    delivery_note: str | None = None
    received: int | None = None
    """Units that came."""
    row_number: int = 0
    """Row in the file, counted from 1 as a spreadsheet shows it."""
    currency: str | None = None
    """As written, for prices are only compared in one currency."""
    seller_authorised: bool | None = None
    seller_known_since: int | None = None
    """A year."""
    chain_of_sale: bool | None = None
    """Whether the seller shows it."""
    papers: bool | None = None
    """Whether the papers that were ordered are there."""
    lead_days: int | None = None
    usual_days: int | None = None
    """In how many days it came, and in how many such parts usually come."""
    signs: tuple[str, ...] = ()
    """Signs of reference_specs/indicators.toml that somebody saw."""
    both_faces: bool = False
    """The order asks that both faces be seen."""


@dataclass(frozen=True, slots=True)
class Order:
    """The lines of an order and sentences on what was doubtful, each naming its row."""

    lines: tuple[OrderLine, ...]
    problems: tuple[str, ...] = ()
    sha256: str = ""
    """Of the file as given."""
