"""Photos of known-good packages and markings that the shop keeps: added, listed, retired; never changed or removed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal, Self

from sqlalchemy import Row, insert, select

from screener.errors import WrongUsage
from screener.records.database import WRITES, connect_engine
from screener.records.model import utc_now
from screener.records.plain_text import storable_json, storable_text
from screener.records.tables import photos, reference_photos, reference_retirements
from screener.records.trouble import speaking_plainly

if TYPE_CHECKING:
    from collections.abc import Sequence

    from screener.records.record import Record

ReferenceKind = Literal["package", "marking"]
Corner = tuple[float, float]


@dataclass(frozen=True, slots=True)
class NewReference:
    """What a person says about a known-good photo."""

    maker: str
    product: str
    kind: ReferenceKind
    dated: str
    """ISO date: when the piece was received or made, as the person says."""
    who: str
    source: str = ""
    """Where the piece came from: an authorised distributor, the maker."""
    width_mm: float | None = None
    """Width of the panel, if measured."""
    corners_px: tuple[Corner, ...] = ()
    """Corners of the panel in the photo, clockwise from the top left, if a person pointed at them."""


@dataclass(frozen=True, slots=True)
class ReferencePhoto:
    """A reference as the record holds it."""

    id: int
    photo_sha256: str
    photo_name: str
    maker: str
    product: str
    kind: str
    dated: str
    who: str
    source: str
    width_mm: float | None
    corners_px: tuple[Corner, ...]
    added_at: str
    retired_at: str | None = None
    retired_by: str = ""
    retired_why: str = ""

    @property
    def says(self) -> str:
        """How a sentence names it: ``reference 3 (BRENVOK 6205-2RS, 2026-03-12)``."""
        return f"reference {self.id} ({self.maker} {self.product}, {self.dated})"


class References:
    """The references of one record. A context manager: it holds a connection of its own."""

    def __init__(self, record: Record) -> None:
        self._record = record
        self._engine = connect_engine(record.place)
        self._where = record.place.says

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._engine.dispose()

    def add(self, photo: Path, new: NewReference) -> ReferencePhoto:
        """Keep a photo in the archive and record it as a reference.

        Raises
        ------
        WrongUsage
            Maker, product, date or person are missing or cannot be understood, or the same photo is already a
            reference of that product and kind.
        InputUnreadable
            The photo cannot be opened.
        """
        _check(new)
        same = self.all(maker=new.maker, product=new.product, kind=new.kind)
        sha256 = self._record.archive.keep(photo)
        if any(r.photo_sha256 == sha256 for r in same):
            raise WrongUsage(
                "this photo is already a reference of this product.", where=photo.name, code="reference_there"
            )
        kept = self._record.archive.find(sha256)
        values = {
            "photo_sha256": sha256,
            "photo_name": storable_text(photo.name),
            "maker": storable_text(new.maker.strip()),
            "product": storable_text(new.product.strip()),
            "product_key": product_key(new.product),
            "kind": new.kind,
            "dated": new.dated,
            "who": storable_text(new.who.strip()),
            "source": storable_text(new.source.strip()),
            "width_mm": new.width_mm,
            "corners": storable_json([list(c) for c in new.corners_px]),
            "added_at": utc_now(),
        }
        with speaking_plainly(self._where), self._engine.execution_options(**WRITES).begin() as connection:
            if connection.execute(select(photos.c.sha256).where(photos.c.sha256 == sha256)).first() is None:
                row = {
                    "sha256": sha256,
                    "name": storable_text(photo.name),
                    "bytes": kept.stat().st_size if kept else 0,
                    "stored_path": self._record.archive.stored_path(sha256),
                    "first_seen_at": utc_now(),
                }
                connection.execute(insert(photos).values(row))
            key = connection.execute(insert(reference_photos).values(values)).inserted_primary_key
        return self.one(int(key[0]) if key else 0)

    def retire(self, reference_id: int, *, who: str, why: str) -> ReferencePhoto:
        """Say that a reference is no longer to be compared with. It stays in the record, with who said so and why.

        Raises
        ------
        WrongUsage
            There is no such reference, it is retired already, or who or why is missing.
        """
        if not (who.strip() and why.strip()):
            raise WrongUsage(
                "retiring a reference needs the name of a person and a reason.", code="event_without_reason"
            )
        if self.one(reference_id).retired_at is not None:
            raise WrongUsage(
                f"reference {reference_id} is retired already.", where=self._where, code="reference_retired"
            )
        values = {"reference_id": reference_id, "at": utc_now(), "who": storable_text(who), "why": storable_text(why)}
        with speaking_plainly(self._where), self._engine.execution_options(**WRITES).begin() as connection:
            connection.execute(insert(reference_retirements).values(values))
        return self.one(reference_id)

    def one(self, reference_id: int) -> ReferencePhoto:
        """Return one reference.

        Raises
        ------
        WrongUsage
            There is none of this number.
        """
        found = [r for r in self.all(retired=True) if r.id == reference_id]
        if not found:
            raise WrongUsage(
                f"there is no reference {reference_id} in the record.", where=self._where, code="no_such_reference"
            )
        return found[0]

    def all(
        self, *, maker: str = "", product: str = "", kind: str = "", retired: bool = False
    ) -> tuple[ReferencePhoto, ...]:
        """Return references, oldest first; spelling of maker (case) and product (spaces, dashes) aside."""
        query = (
            select(
                reference_photos,
                reference_retirements.c.at,
                reference_retirements.c.who.label("by"),
                reference_retirements.c.why,
            )
            .outerjoin(reference_retirements, reference_retirements.c.reference_id == reference_photos.c.id)
            .order_by(reference_photos.c.id)
        )
        if product:
            query = query.where(reference_photos.c.product_key == product_key(product))
        if kind:
            query = query.where(reference_photos.c.kind == kind)
        if not retired:
            query = query.where(reference_retirements.c.id.is_(None))
        with speaking_plainly(self._where), self._engine.connect() as connection:
            rows: Sequence[Row[tuple[object, ...]]] = connection.execute(query).all()
        found = tuple(_reference(row) for row in rows)
        return tuple(r for r in found if not maker or r.maker.casefold() == maker.strip().casefold())


def product_key(product: str) -> str:
    """A product's name without case, spaces and dashes, so that ``6205-2RS C3`` is ``6205 2rs/C3``."""
    return "".join(c for c in product.casefold() if c.isalnum())


def _check(new: NewReference) -> None:
    for name, value in (("maker", new.maker), ("product", new.product), ("by", new.who)):
        if not value.strip():
            raise WrongUsage(f"a reference needs --{name}.", code="reference_incomplete")
    try:
        dt.date.fromisoformat(new.dated)
    except ValueError as error:
        raise WrongUsage(
            "the date of the reference cannot be understood.", where=new.dated, next_step="Write it as 2026-03-12."
        ) from error
    if new.width_mm is not None and not 5 <= new.width_mm <= 2000:
        raise WrongUsage("a panel is between 5 and 2000 mm wide.", where=f"{new.width_mm:g}")
    if new.corners_px and len(new.corners_px) != 4:
        raise WrongUsage("a panel has four corners.", next_step="Give them clockwise from the top left.")


def _reference(row: Row[tuple[object, ...]]) -> ReferencePhoto:
    names = (
        "id",
        "photo_sha256",
        "photo_name",
        "maker",
        "product",
        "kind",
        "dated",
        "who",
        "source",
        "width_mm",
        "added_at",
    )
    return ReferencePhoto(
        **{name: getattr(row, name) for name in names},
        corners_px=tuple((float(x), float(y)) for x, y in row.corners),
        retired_at=row.at,
        retired_by=row.by or "",
        retired_why=row.why or "",
    )
