"""What the other items of a delivery, and the record, say about one item."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.records.model import PriceRef, SerialRef
from screener.records.outcomes import tallies
from screener.screening.checks.commercial import part_key
from screener.screening.model import BOX_CHANNELS, Surroundings
from screener.screening.observed import observed, own_photos

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from screener.receiving.same_pictures import SamePictures
    from screener.records.model import Run, SerialSighting
    from screener.records.record import Record
    from screener.screening.model import Item


def serials_of(item: Item) -> tuple[SerialRef, ...]:
    """The serials read on an item, each with what it is unique in (a GTIN or maker read from the same box)."""
    scopes = [str(o.value) for o in (*observed(item, "gtin"), *observed(item, "maker", ("label", "barcode")))]
    scope = scopes[0] if scopes else ""
    return tuple(SerialRef(s, scope) for s in dict.fromkeys(str(o.value) for o in observed(item, "serial")))


def surroundings_of(
    item: Item,
    delivery: Sequence[Item],
    record: Record,
    run: Run,
    today: date,
    pictures: SamePictures | None = None,
) -> Surroundings:
    """Collect serials and photos of this item that turn up elsewhere.

    With ``pictures``, which were asked about this item's photos, a photo is known again that was made smaller or saved
    again.

    A serial received before speaks when a delivery is received; when a part is verified, it is the delivery that the
    part came with.
    """
    before = _before(item, record, run)
    receiving = run.kind == "receive"
    others = [other for other in delivery if other.key != item.key]
    own = serials_of(item)
    return Surroundings(
        today=today.isoformat(),
        serials_elsewhere=tuple(
            (mine.serial, f"item {other.key}") for other in others for mine in own if _same_unit(mine, other)
        ),
        serials_before=before if receiving else (),
        serials_received=() if receiving else before,
        photos_elsewhere=tuple(each for other in others for each in _photos_on(other, item, pictures)),
        batches_elsewhere=tuple(
            (batch, f"item {other.key}") for other in others if _same_part(item, other) for batch in _batches(other)
        ),
        prices_before=_prices(item, record, run),
        tallies=tallies(record),
    )


_COPY = "the same picture saved again, cut or turned, or an unmoved camera"


def _photos_on(other: Item, item: Item, pictures: SamePictures | None) -> list[tuple[str, str]]:
    """Photos of an item that were also given for another, as the same file or as a copy of the same picture."""
    same = [(sha, f"item {other.key}") for sha in sorted(_photos(item) & _photos(other))]
    names = {sha: o.source.where for sha, o in own_photos(other.observations).items()}
    copies = [
        (mine, f"item {other.key}, as {names[twin.sha256]}: {_COPY}")
        for mine in sorted(_photos(item) - _photos(other))
        for twin in (pictures.twins(mine) if pictures is not None else ())
        if twin.sha256 in _photos(other) - _photos(item)
    ]
    return same + copies


def price_of(item: Item) -> PriceRef | None:
    """What was paid for a part that is understood, in a currency that is told."""
    trade, part = item.requirement.trade, part_key(item)
    if trade is None or trade.unit_price is None or not (trade.currency and part):
        return None
    return PriceRef(part, trade.currency, trade.unit_price)


def _prices(item: Item, record: Record, run: Run) -> tuple[float, ...]:
    own = price_of(item)
    return () if own is None else record.prices_paid(own.part, own.currency, except_run=run.id)


def _same_part(one: Item, other: Item) -> bool:
    return one.requirement.explained.basic == other.requirement.explained.basic is not None


def _batches(item: Item) -> tuple[str, ...]:
    return tuple(dict.fromkeys(str(o.value) for o in observed(item, "batch", BOX_CHANNELS)))[:1]


def _same_unit(mine: SerialRef, other: Item) -> bool:
    return any(s.serial == mine.serial and _may_be_same(s.scope, mine.scope) for s in serials_of(other))


def _may_be_same(one: str, other: str) -> bool:
    """Serials count within one product: equal scopes, or a scope that was not read."""
    return not one or not other or one == other


def _before(item: Item, record: Record, run: Run) -> tuple[tuple[str, str], ...]:
    scopes = {s.serial: s.scope for s in serials_of(item)}
    if not scopes:
        return ()
    sightings = record.serials_seen(scopes, except_run=run.id, except_photos=_photos(item))
    return tuple(
        (s.serial, s.says)
        for s in sightings
        if _may_be_same(s.scope, scopes[s.serial]) and not _same_line_again(s, item, run)
    )


def _same_line_again(sighting: SerialSighting, item: Item, run: Run) -> bool:
    """A line screened again after new photos is the same line, not a second unit."""
    return sighting.order_name == run.order_name and sighting.item_key == item.key


def _photos(item: Item) -> frozenset[str]:
    return frozenset(own_photos(item.observations))
