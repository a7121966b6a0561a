"""The report of a delivery as one HTML file: no network, no script, legible printed in black and white."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from jinja2.environment import TemplateStream

from screener.reports import wording
from screener.reports.figures import Figure, figures_of
from screener.reports.observed_rows import Observed, observed_rows
from screener.reports.pages import page_templates
from screener.reports.report_data import ReportData
from screener.reports.whole_file import write_whole
from screener.screening.model import Finding, ScreenedItem

__all__ = ["ReportData", "html_report", "write_html_report"]

_SIDES_PX = ((40, 1100), (150, 800), (600, 560))
"""(up to so many photos, longest side): a page that no browser opens helps nobody."""
_SMALLEST_SIDE_PX = 360


@dataclass(frozen=True, slots=True)
class FindingRow:
    """A finding with the numbers of its observations."""

    finding: Finding
    numbers: tuple[int, ...]
    headline: str = ""
    weighs: str = ""
    """How much it says, in words and dB with its range; empty where it is not weighed."""
    ordinary_causes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ItemView:
    """One item as the page shows it."""

    screened: ScreenedItem
    anchor: str
    verdict: wording.Verdict
    differing: tuple[FindingRow, ...]
    suspect: tuple[FindingRow, ...]
    observed: Observed
    figures: tuple[Figure, ...]


def html_report(data: ReportData) -> str:
    """Return the report as one string; for large deliveries `write_html_report` needs less memory."""
    return "".join(_stream(data))


def write_html_report(path: Path, data: ReportData) -> Path:
    """Write the report and return its path; an older one stays until the new one is whole.

    Photos are reduced one item at a time while the page is written.

    Raises
    ------
    ScreenerError
        The file cannot be written there.
    """
    return write_whole(path, _stream(data))


def _stream(data: ReportData) -> TemplateStream:
    return (
        page_templates()
        .get_template("report.html.j2")
        .stream(
            data=data,
            views=lambda: _views(data),
            summary=(summary := _summary(data)),
            counts=wording.counted(verdict for _, _, verdict in summary),
            rests_on=_rests_on(data.items),
            words=wording,
        )
    )


def _summary(data: ReportData) -> list[tuple[str, ScreenedItem, wording.Verdict]]:
    return [
        (f"item-{number}", each, wording.verdict_now(each, data.decided.get(each.item.key)))
        for number, each in enumerate(data.items, 1)
    ]


def _views(data: ReportData) -> Iterator[ItemView]:
    side = _longest_side(sum(len(each.item.photos) for each in data.items))
    for anchor, screened, verdict in _summary(data):
        observed = observed_rows(screened)
        yield ItemView(
            screened=screened,
            anchor=anchor,
            verdict=verdict,
            differing=_rows(wording.differing(screened), observed.numbers),
            suspect=_suspect_rows(screened, observed.numbers),
            observed=observed,
            figures=tuple(figures_of(screened, observed.numbers, data.photo, side)),
        )


def _longest_side(photos: int) -> int:
    return next((side for limit, side in _SIDES_PX if photos <= limit), _SMALLEST_SIDE_PX)


def _rows(findings: Sequence[Finding], numbers: Mapping[str, int]) -> tuple[FindingRow, ...]:
    return tuple(
        FindingRow(each, tuple(sorted({numbers[key] for key in each.observations if key in numbers})))
        for each in findings
    )


def _suspect_rows(screened: ScreenedItem, numbers: Mapping[str, int]) -> tuple[FindingRow, ...]:
    """Ordinary causes stand with every sign, before anybody asks what else it could be."""
    weighed = {each.indicator: each for each in screened.suspicion.indicators}
    return tuple(
        replace(
            row,
            headline=wording.headline(row.finding),
            weighs=wording.indicator_says(weighed[row.finding.indicator]),
            ordinary_causes=weighed[row.finding.indicator].ordinary_causes,
        )
        if row.finding.indicator in weighed
        else replace(row, headline=wording.headline(row.finding))
        for row in _rows(wording.suspect(screened), numbers)
    )


def _rests_on(items: Sequence[ScreenedItem]) -> list[str]:
    return sorted({finding.rests_on for each in items for finding in each.findings if finding.rests_on})
