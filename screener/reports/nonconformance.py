"""The report of one nonconformity, for the supplier: what was asked for, what was found, what is asked of them.

The fields are those that ISO 9001:2015 asks to be documented: 8.7.2 (the nonconformity, the actions taken, concessions,
who decided) and 10.2 (correction, cause, corrective action, its effectiveness). What only people know is left open to
be written in, never filled by guess.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from screener.audit.batch.features import looked_at
from screener.errors import WrongUsage
from screener.records.model import StoredItem, day_says
from screener.records.purchases import Purchase, Shop
from screener.records.result_json import item_from_json
from screener.records.standing import Standing, Standings, disposition_now, own_standing
from screener.reports.audit_report import unit_figures
from screener.reports.letter_due import check_due
from screener.reports.nonconformance_form import NO_ALLEGATION, Field, FoundRow, Nonconformance, Section
from screener.reports.observed_rows import observed_rows
from screener.reports.wording import differing, suspect
from screener.screening.checks.coverage import NEW_PHOTOS
from screener.screening.model import Finding, ScreenedItem

CONFIRMED = (
    "This report states what was found on the goods named, and confirmed since. No wrongdoing by anybody is alleged; "
    "we ask for the cause."
)
_PHOTO_SIDE_PX = 900


@dataclass(frozen=True, slots=True)
class Counted:
    """The units of the order line that are in the record, this one among them."""

    looked_at: int
    nonconforming: int
    open: int
    """Kept for a question or waiting for a step."""


def nonconformance(
    stored: StoredItem,
    *,
    created_at: str,
    version: str,
    order_name: str = "",
    shop: Shop | None = None,
    purchase: Purchase | None = None,
    same_run: Iterable[StoredItem] = (),
    photo: Callable[[str], bytes | None] = lambda _: None,
    decided: Standings = own_standing,
) -> Nonconformance:
    """Set out the report of one recorded item.

    Parameters
    ----------
    stored
        The item with its events: who released, corrected or settled it, and what came of it.
    order_name
        Name of the order file.
    shop
        Who sends it.
    purchase
        Order number, delivery note, address, contact, quantity.
    same_run
        The items of the delivery: those of the same line are counted, and a serial that is on two is named with both.
    photo
        Gives a photo's bytes by hash or name, or None.
    decided
        Gives what people said of an item, by which it stands.

    Raises
    ------
    WrongUsage
        Nothing was found that a supplier could answer: the item may be used, or only its photos do not do.
    """
    screened, standing = _told(stored), decided(stored)
    delivery, bought = tuple(same_run), purchase or Purchase()
    others = _sharing(stored, screened, delivery)
    found = _findings(stored, screened, others, standing)
    check_due(stored, standing, is_found=bool(found))
    figures = unit_figures(screened, photo, _PHOTO_SIDE_PX) if _is_seen(screened) else ()
    for _, other in others:
        figures += tuple(each for each in unit_figures(other, photo, _PHOTO_SIDE_PX) if each.regions)
    return Nonconformance(
        number=f"NC-{stored.run_id}-{stored.id}",
        created_at=created_at,
        version=version,
        title="Non-conformance report",
        sections=(
            Section("From", tuple(_sender(shop or Shop()))),
            Section("To", tuple(_addressed(stored, bought))),
            Section("Goods", tuple(_goods(stored, screened, order_name, bought, _counted(stored, delivery, decided)))),
            Section("Nonconformity", tuple(_nonconformity(stored, screened, found, standing))),
        ),
        asked=_asked(stored, screened, standing),
        supplier_part=Section("To be filled in by the supplier (ISO 9001:2015, 10.2)", _BY_SUPPLIER),
        our_part=Section("To be filled in by us (ISO 9001:2015, 8.7)", tuple(_action(stored, standing))),
        found=found,
        measured=tuple(_measured(screened)),
        # How our own photos could be better is nothing for a supplier.
        not_checked=tuple(each.says for each in screened.not_checked if each.code != "photo"),
        figures=figures,
        sentence=CONFIRMED if _is_confirmed(standing) else NO_ALLEGATION,
    )


_BY_SUPPLIER = (
    Field("Containment: stock and goods on their way of this batch", "10.2.1 a"),
    Field("Correction: replacement, credit, sorting", "10.2.1 a"),
    Field("Root cause, when known", "10.2.1 b"),
    Field("Do similar nonconformities exist, or could they occur", "10.2.1 b"),
    Field("Corrective action", "10.2.1 c"),
    Field("Effectiveness: how and when checked, by whom", "10.2.1 d"),
    Field("Name, date, signature", ""),
)


def _told(stored: StoredItem) -> ScreenedItem:
    """The answer without what other deliveries say: their photos, days and order names stay in the house."""
    screened = item_from_json(stored.result)
    kept = tuple(each for each in screened.item.observations if each.attribute != "seen_before")
    return replace(
        screened,
        item=replace(screened.item, observations=kept),
        findings=tuple(each for each in screened.findings if each.code != "photo_seen_before"),
    )


def is_reportable(stored: StoredItem, standing: Standing | None) -> bool:
    """Return whether something was found on an item, as it stands, that its supplier could answer."""
    screened = _told(stored)
    try:
        check_due(stored, standing, is_found=bool(_findings(stored, screened, (), standing)))
    except WrongUsage:
        return False
    return True


def _is_seen(screened: ScreenedItem) -> bool:
    """Return whether anything was seen of this very piece: pictures of an earlier one are no finding on it."""
    return all(each.code != NEW_PHOTOS for each in screened.not_checked)


def _findings(
    stored: StoredItem,
    screened: ScreenedItem,
    others: Sequence[tuple[StoredItem, ScreenedItem]],
    standing: Standing | None,
) -> tuple[FoundRow, ...]:
    found = tuple(_found(stored, screened, others)) if _is_seen(screened) else ()
    return found or _by_word(screened, standing)


def _is_confirmed(standing: Standing | None) -> bool:
    return standing is not None and standing.kind == "nonconforming"


def _sender(shop: Shop) -> Iterable[Field]:
    yield Field("Name", "", shop.name)
    yield Field("Address", "", ", ".join(shop.address))
    yield Field("Contact", "", shop.contact)
    yield Field("Signature", "", shop.signature)


def _addressed(stored: StoredItem, bought: Purchase) -> Iterable[Field]:
    yield Field("Supplier", "", stored.supplier)
    yield Field("Address", "", bought.address)
    yield Field("Contact", "", bought.contact)


def _counted(stored: StoredItem, delivery: Sequence[StoredItem], decided: Standings) -> Counted:
    """Count the units of the line that were looked at; this item itself always counts."""
    line = [each for each in delivery if each.id != stored.id and stored.line and each.line == stored.line]
    words = [_how(each, decided(each)) for each in (stored, *line) if each is stored or _is_looked_at(each)]
    return Counted(len(words), words.count("reject"), words.count("hold"))


def _is_looked_at(stored: StoredItem) -> bool:
    return looked_at(bool(stored.photos), stored.result.get("observations", ()))


def _how(stored: StoredItem, standing: Standing | None) -> str:
    """Return how a unit counts: one that did not conform counts as such also where it is kept."""
    return "reject" if _is_confirmed(standing) else disposition_now(stored, standing)


def _goods(
    stored: StoredItem, screened: ScreenedItem, order_name: str, bought: Purchase, counted: Counted
) -> Iterable[Field]:
    requirement = screened.item.requirement
    yield Field("Purchase order no.", "", bought.order_number)
    line = f"line {stored.line}" if stored.line else ""
    yield Field("Order list, line", "", " ".join(part for part in (order_name, line) if part))
    yield Field("Delivery note", "", bought.delivery_note)
    yield Field("Ordered", "", requirement.need)
    yield Field("Quantity ordered", "", "" if requirement.quantity is None else str(requirement.quantity))
    yield Field("Quantity received", "", "" if bought.received is None else str(bought.received))
    yield Field("Units of this line looked at", "", str(counted.looked_at))
    yield Field("Of these nonconforming", "8.7.2 a", str(counted.nonconforming))
    yield Field("Of these with a question open", "", str(counted.open))
    for name, attribute in (("Maker as read", "maker"), ("Batch as read", "batch"), ("Serial as read", "serial")):
        yield Field(name, "", _read(screened, attribute) or "not read")
    yield Field("Received and inspected", "", f"{stored.recorded_at[:16].replace('T', ' ')} UTC")


def _read(screened: ScreenedItem, attribute: str) -> str:
    values = dict.fromkeys(str(each.value) for each in screened.item.observations if each.attribute == attribute)
    return ", ".join(values)


def _nonconformity(
    stored: StoredItem, screened: ScreenedItem, found: Sequence[FoundRow], standing: Standing | None
) -> Iterable[Field]:
    yield Field("Description", "8.7.2 a", found[0].found)
    yield Field("Class", "8.7.2 a", _class_of(stored, screened, standing))
    yield Field("Found by", "", "inspection of photos, codes and readings; the findings below say which")
    if standing is not None and _is_confirmed(standing):
        yield Field("Confirmed by", "8.7.2 d", standing.who)
        yield Field("Confirmed on", "", day_says(standing.at))
        yield Field("How it was confirmed", "", standing.why)


def _class_of(stored: StoredItem, screened: ScreenedItem, standing: Standing | None) -> str:
    confirmed = ", confirmed" if _is_confirmed(standing) else ""
    # That a part is damaged is said by a person; no photo is judged for it.
    if any(each.kind in {"hold", "outcome"} and "damaged" in each.why.lower() for each in stored.events):
        return f"damaged{confirmed}"
    if stored.disposition == "reject" and screened.disposition.exit != "keep and ask":
        return f"wrong part{confirmed}"
    return "nonconforming, confirmed" if confirmed else "question open"


def _asked(stored: StoredItem, screened: ScreenedItem, standing: Standing | None) -> str:
    """Say what is asked of the supplier."""
    if standing is not None and _is_confirmed(standing):
        where = "These goods stay with us until it is agreed what becomes of them. " if standing.kept else ""
        return (
            f"{where}Please replace these goods or credit them; tell us the cause; and tell us what you do so that it "
            "does not happen again, and how you check that it works. The form below has room for it."
        )
    if screened.disposition.exit == "keep and ask" or suspect(screened):
        return (
            "Please send us a statement of origin for these goods: the chain of supply from the maker to you, with "
            "delivery papers and batch."
        )
    if stored.disposition == "reject":
        return "Please replace these goods by those ordered, or credit them."
    return "Please tell us whether these goods are as ordered, and replace or credit them where they are not."


_DECIDED = {"hold": "held", "release": "released", "correction": "corrected"}


def _action(stored: StoredItem, standing: Standing | None) -> Iterable[Field]:
    decided = [f"{each.at[:10]} {_DECIDED[each.kind]} by {each.who}" for each in stored.events if each.kind in _DECIDED]
    if standing is not None and _is_confirmed(standing):
        decided.append(f"{standing.at[:10]} {standing.by}")
    yield Field("Containment", "8.7.1 b", "The goods are kept apart, complete with their packaging.")
    yield Field("Disposition: return, sort, replace, use by concession", "8.7.2 b", _disposition_says(stored, standing))
    yield Field("Supplier informed on", "8.7.1 c")
    yield Field("Concession", "8.7.2 c", "none given")
    yield Field("Authority who decided", "8.7.2 d", "; ".join(decided))
    yield Field("Conformity verified after correction, by, on", "8.7.1")
    yield Field("Supplier's answer reviewed, effective", "10.2.1 d")
    yield Field("Closed on, by", "10.2.2")


def _disposition_says(stored: StoredItem, standing: Standing | None) -> str:
    if standing is not None and standing.kept:
        return "kept, not returned, until its maker or the authority has agreed"
    said = {"reject": "to be sent back, when the supplier has answered", "hold": "held; open"}
    return said.get(disposition_now(stored, standing), "")


def _by_word(screened: ScreenedItem, standing: Standing | None) -> tuple[FoundRow, ...]:
    """Return what a person confirmed as the finding, where nothing was found in photos and readings."""
    if standing is None or not _is_confirmed(standing):
        return ()
    need = screened.item.requirement.need
    says = f"Confirmed as nonconforming: {standing.why}"
    return (FoundRow(f"as ordered: {need}", "our order", says, f"{standing.who}, {day_says(standing.at)}"),)


def _sharing(
    stored: StoredItem, screened: ScreenedItem, same_run: Iterable[StoredItem]
) -> list[tuple[StoredItem, ScreenedItem]]:
    """Return the other items of the delivery that carry one of this item's serials."""
    if not any(each.code == "serial_twice" for each in screened.findings):
        return []
    mine = _values(screened, "serial")
    others = [(each, _told(each)) for each in same_run if each.id != stored.id]
    return [(each, other) for each, other in others if mine & _values(other, "serial")]


def _values(screened: ScreenedItem, attribute: str) -> set[str]:
    return {str(each.value) for each in screened.item.observations if each.attribute == attribute}


def _found(
    stored: StoredItem, screened: ScreenedItem, others: Sequence[tuple[StoredItem, ScreenedItem]]
) -> Iterable[FoundRow]:
    """Yield each finding once: what two photos show alike is one finding seen in two places."""
    keyed = {each.key: each for each in screened.item.observations}
    numbers = observed_rows(screened).numbers
    same: dict[tuple[str, frozenset[str]], list[Finding]] = {}
    for finding in dict.fromkeys((*differing(screened), *suspect(screened))):
        about = frozenset(keyed[key].attribute for key in finding.observations if key in keyed)
        same.setdefault((finding.code, about), []).append(finding)
    for alike in same.values():
        first = alike[0]
        says = _serial_says(stored, screened, others) if first.code == "serial_twice" and others else first.says
        where = ", ".join(dict.fromkeys(place for each in alike if (place := _where(each, keyed, numbers))))
        yield FoundRow(_required(first, screened), basis_says(first, screened.item.requirement.need), says, where)


def _serial_says(stored: StoredItem, screened: ScreenedItem, others: Sequence[tuple[StoredItem, ScreenedItem]]) -> str:
    holders = ((stored, screened), *others)
    shared = set.intersection(*(_values(each, "serial") for _, each in holders)) or _values(screened, "serial")
    places = [
        f"the unit of order line {each.line or each.item_key} (photo {', '.join(_photos_of_serial(item))})"
        for each, item in holders
    ]
    return f"Serial {', '.join(sorted(shared))} was read on {len(places)} units: {' and '.join(places)}."


def _photos_of_serial(screened: ScreenedItem) -> list[str]:
    return list(dict.fromkeys(each.source.where for each in screened.item.observations if each.attribute == "serial"))


_INTERNAL = re.compile(r"\.(toml|csv)\b|reference_specs")


def basis_says(finding: Finding, need: str) -> str:
    """Return what a finding rests on in words that a supplier knows: a standard, the order, or trade practice."""
    if "boundary_dimensions" in finding.rests_on:
        return f"standard boundary dimensions of {need} (ISO 15)"
    if "makers.toml" in finding.rests_on:
        return "the maker's name as the maker writes it (trade practice)"
    if not _INTERNAL.search(finding.rests_on):
        return finding.rests_on.replace("common practice", "trade practice")
    if finding.question == "asked_for":
        return "our order; designations as in general trade use"
    return "box, label and part of one article say the same (trade practice)"


def _required(finding: Finding, screened: ScreenedItem) -> str:
    if finding.question == "asked_for":
        return f"as ordered: {screened.item.requirement.need}"
    if finding.question == "suspicion":
        return "marks, label and codes that agree with each other and can be explained"
    return "sources that agree with each other and with the standard sizes"


def _where(finding: Finding, keyed: Mapping[str, Any], numbers: Mapping[str, int]) -> str:
    places = dict.fromkeys(
        f"{keyed[key].source.where} (no. {numbers[key]})" if key in numbers else keyed[key].source.where
        for key in finding.observations
        if key in keyed
    )
    return ", ".join(places)


def _measured(screened: ScreenedItem) -> Iterable[tuple[str, str, str]]:
    from screener.reports.wording import attribute_says, value_says

    for each in screened.item.observations:
        if each.source.channel == "instrument":
            yield attribute_says(each), value_says(each), each.source.where
