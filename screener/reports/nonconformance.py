"""The report of one nonconformity, for the supplier: what was asked for, what was found, what is asked of them.

The fields are those that ISO 9001:2015 asks to be documented: 8.7.2 (the nonconformity, the actions taken, concessions,
who decided) and 10.2 (correction, cause, corrective action, its effectiveness). What only people know is left open to
be written in, never filled by guess.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from screener.records.model import StoredItem
from screener.records.result_json import item_from_json
from screener.reports.audit_report import unit_figures
from screener.reports.figures import Figure
from screener.reports.observed_rows import observed_rows
from screener.reports.pages import page_templates
from screener.reports.wording import differing, suspect
from screener.screening.model import Finding, ScreenedItem

NO_ALLEGATION = (
    "This report states findings about the goods named. No wrongdoing by anybody is alleged; most such findings have "
    "an ordinary cause, and we ask for help in finding it."
)
_PHOTO_SIDE_PX = 900


@dataclass(frozen=True, slots=True)
class Field:
    """One field of the form: its name, the clause that asks for it, what is known. Empty means: to be written in."""

    name: str
    clause: str
    value: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """A head with its fields."""

    head: str
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class FoundRow:
    """One finding in its four parts: what was required, by what, what was found, where."""

    required: str
    rests_on: str
    found: str
    where: str


@dataclass(frozen=True, slots=True)
class Nonconformance:
    """A report ready to be written."""

    number: str
    created_at: str
    version: str
    title: str
    sections: tuple[Section, ...]
    found: tuple[FoundRow, ...]
    measured: tuple[tuple[str, str, str], ...]
    """(what, value with uncertainty, by what) of each instrument reading."""
    not_checked: tuple[str, ...]
    figures: tuple[Figure, ...]
    sentence: str = NO_ALLEGATION


def nonconformance(
    stored: StoredItem,
    *,
    created_at: str,
    version: str,
    order_name: str = "",
    photo: Callable[[str], bytes | None] = lambda _: None,
) -> Nonconformance:
    """Set out the report of one recorded item.

    Parameters
    ----------
    stored
        The item with its events: who released, corrected or settled it, and what came of it.
    order_name
        Name of the order file.
    photo
        Gives a photo's bytes by hash or name, or None.
    """
    screened = item_from_json(stored.result)
    return Nonconformance(
        number=f"NC-{stored.run_id}-{stored.id}",
        created_at=created_at,
        version=version,
        title="Non-conformance report",
        sections=(
            Section("Goods", tuple(_goods(stored, screened, order_name))),
            Section("Nonconformity", tuple(_nonconformity(stored, screened))),
            Section("Action taken (ISO 9001:2015, 8.7)", tuple(_action(stored, screened))),
            Section("Asked of the supplier (ISO 9001:2015, 10.2)", _ASKED),
        ),
        found=tuple(_found(screened)),
        measured=tuple(_measured(screened)),
        not_checked=tuple(each.says for each in screened.not_checked),
        figures=unit_figures(screened, photo, _PHOTO_SIDE_PX),
    )


_ASKED = (
    Field("Reply asked for by", "10.2.1 a"),
    Field("Correction: replacement, credit, sorting", "10.2.1 a"),
    Field("Cause, when known", "10.2.1 b"),
    Field("Do similar nonconformities exist elsewhere in the batch", "10.2.1 b"),
    Field("Corrective action", "10.2.1 c"),
    Field("Effectiveness: how and when checked, by whom", "10.2.1 d"),
    Field("Closed on, by", "10.2.2"),
)


def _goods(stored: StoredItem, screened: ScreenedItem, order_name: str) -> Iterable[Field]:
    requirement = screened.item.requirement
    yield Field("Supplier", "", stored.supplier)
    yield Field(
        "Order, line", "", " ".join(part for part in (order_name, f"line {stored.line}" if stored.line else "") if part)
    )
    yield Field("Delivery note", "")
    yield Field("Ordered", "", requirement.need)
    yield Field("Quantity ordered", "", "" if requirement.quantity is None else str(requirement.quantity))
    yield Field("Quantity inspected / nonconforming", "")
    for name, attribute in (("Maker as read", "maker"), ("Batch as read", "batch"), ("Serial as read", "serial")):
        yield Field(name, "", _read(screened, attribute) or "not read")
    yield Field("Received and screened", "", f"{stored.recorded_at[:16].replace('T', ' ')} UTC, record {stored.id}")


def _read(screened: ScreenedItem, attribute: str) -> str:
    values = dict.fromkeys(str(each.value) for each in screened.item.observations if each.attribute == attribute)
    return ", ".join(values)


def _nonconformity(stored: StoredItem, screened: ScreenedItem) -> Iterable[Field]:
    yield Field("Description", "8.7.2 a", screened.disposition.reason)
    kind = "kept until it is explained" if screened.disposition.exit == "keep and ask" else "not as ordered or unfit"
    yield Field("Class", "8.7.2 a", kind if stored.disposition != "accept" else "accepted; reported for information")
    yield Field("Found by", "", "screening of photos, codes and readings; the findings below say which")


def _action(stored: StoredItem, screened: ScreenedItem) -> Iterable[Field]:
    decided = [each for each in stored.events if each.kind in {"hold", "release", "correction"}]
    released = [each for each in decided if each.kind == "release"]
    outcome = [each for each in stored.events if each.kind == "outcome"]
    held = "Keep the goods apart, marked, with all packaging." if stored.disposition != "accept" else ""
    yield Field(
        "Immediate action: segregation, containment", "8.7.1 b", f"{held} {screened.disposition.next_step}".strip()
    )
    yield Field("Where the goods are held", "8.7.1 b")
    yield Field("Supplier informed on", "8.7.1 c")
    concession = "; ".join(f"{each.at[:10]} by {each.who}: {each.why}" for each in released)
    yield Field("Concession", "8.7.2 c", concession or "none given")
    authority = "; ".join(f"{each.at[:10]} {each.kind} by {each.who}: {each.why}" for each in decided)
    yield Field("Authority who decided", "8.7.2 d", authority)
    yield Field("Conformity verified after correction", "8.7.1")
    yield Field("Outcome", "10.2.2", "; ".join(f"{each.at[:10]} {each.who}: {each.why}" for each in outcome))


def _found(screened: ScreenedItem) -> Iterable[FoundRow]:
    keyed = {each.key: each for each in screened.item.observations}
    numbers = observed_rows(screened).numbers
    for finding in (*differing(screened), *suspect(screened)):
        yield FoundRow(_required(finding, screened), finding.rests_on, finding.says, _where(finding, keyed, numbers))


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


def nonconformance_html(report: Nonconformance) -> str:
    """Return the report as one page: no network, no script."""
    return page_templates().get_template("nonconformance.html.j2").render(report=report)


def nonconformance_pdf(report: Nonconformance) -> bytes:
    """Return the report as a PDF file."""
    from screener.reports.pdf_page import PdfPages

    page = PdfPages(f"{report.title} {report.number}", f"{report.number}, {report.created_at}")
    page.head(f"{report.title} {report.number}", 17)
    page.text(f"{report.created_at}. screener {report.version}")
    page.text(report.sentence, bold=True)
    goods, nonconformity, *others = report.sections
    for section in (goods, nonconformity):
        page.head(section.head)
        page.fields([(_named(field), field.value) for field in section.fields])
    page.head("Findings")
    page.table(
        ("Required", "Rests on", "Found", "Where"), [(f.required, f.rests_on, f.found, f.where) for f in report.found]
    )
    if report.measured:
        page.head("Readings")
        page.table(("What", "Value", "With"), report.measured)
    for section in others:
        page.head(section.head)
        page.fields([(_named(field), field.value) for field in section.fields])
    if report.figures:
        page.head("Photos")
        page.photos(report.figures)
    page.head("Not checked")
    page.items(report.not_checked or ("Nothing on the list of checks was left out.",))
    return page.finished()


def _named(field: Field) -> str:
    return f"{field.name} ({field.clause})" if field.clause else field.name
