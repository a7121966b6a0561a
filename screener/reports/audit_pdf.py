"""The report of an audit on paper: the same words as the page, the summary first."""

from __future__ import annotations

from functools import partial

from screener.reports import wording
from screener.reports.audit_report import LISTED_HEADS, LOT_HEADS, NUMBER_HEADS, AuditReport, Evidence, GroupPage
from screener.reports.audit_texts import LIMITS, METHODS
from screener.reports.pdf_page import PdfPages

_MOST_REASONS = 12
_NUMBER_WIDTHS = (44, 10, 22, 22, 22, 22, 22, 22)
_LOT_WIDTHS = (34, 10, 20, 52, 66)
_LISTED_WIDTHS = (12, 16, 30, 24, 90)


def audit_pdf(report: AuditReport) -> bytes:
    """Return the report as a PDF file."""
    page = PdfPages(report.title, f"{report.title}, {report.created_at}")
    _summary(page, report)
    for group in report.groups:
        _group(page, group)
    if report.alone:
        page.head("Too few of a kind to compare with each other")
        page.text(f"{'; '.join(report.alone)}.")
    _evidence(page, report)
    _rest(page, report)
    return page.finished()


def _summary(page: PdfPages, report: AuditReport) -> None:
    page.head(report.title, 18)
    scope = ", ".join(f"{name}: {value}" for name, value in report.scope)
    page.text(f"{scope}. {report.created_at}. screener {report.version}")
    page.stamp(report.word, dashed=report.shape == "tag", filled=report.shape == "arrow")
    if report.says:
        page.text(report.says)
    page.text(report.lot.says, bold=True, points=12)
    page.text(", ".join(f"{number} {name}" for name, number in report.counts), points=11)
    if report.lots:
        page.head("The answer for each lot")
        page.table(LOT_HEADS, report.lots, _LOT_WIDTHS)
    elif report.steps:
        page.head("What to do now")
        page.items(report.steps, numbered=True)
    page.head("Four questions, each answered by itself")
    for answer in report.answers:
        page.text(answer.question, bold=True)
        says = [each.says for each in answer.reasons[:_MOST_REASONS]]
        page.items([answer.first, *says] if answer.first else says or [answer.none])
        if len(answer.reasons) > _MOST_REASONS:
            page.text(f"{len(answer.reasons) - _MOST_REASONS} more reasons are in the exports.")
    plan = report.lot.plan
    if plan is not None:
        page.text(
            f"Plan: {plan.name}. Lot {plan.lot}, sample {plan.sample}, accept up to {plan.accept}, "
            f"not from {plan.reject} on."
        )


def _group(page: PdfPages, group: GroupPage) -> None:
    page.head(f"{group.name}: {group.count} unit{'' if group.count == 1 else 's'}", 13)
    page.items(group.findings or ("No unit stands apart and no group was found in what was compared.",))
    for says in group.notes:
        page.text(says, points=8.5)
    for plot in group.plots:
        page.dots(plot.words.title, plot.x, plot.rows, plot.keys)
        page.text(plot.words.says, points=8.5)
    if group.numbers:
        page.table(NUMBER_HEADS, group.numbers, _NUMBER_WIDTHS)
    if group.not_compared:
        page.text(" ".join(group.not_compared), points=8.5)


def _evidence(page: PdfPages, report: AuditReport) -> None:
    page.head("Evidence", 14)
    shown = 0
    for each in report.evidence_of():
        shown += 1
        page.together(partial(_unit, page, each))
    if not shown:
        page.text("No unit needs to be shown.")
    if report.listed:
        page.head("All units that are not simply used")
        page.table(LISTED_HEADS, report.listed, _LISTED_WIDTHS)


def _unit(page: PdfPages, each: Evidence) -> None:
    page.head(f"Item {each.unit.key}: {each.unit.need} (record {each.unit.record}, {each.unit.way})", 11)
    page.text(each.unit.reason)
    if each.unit.own_answer:
        page.text(f"Own answer: {each.unit.own_answer}")
    page.items(each.why)
    if each.screened:
        for finding in each.screened.findings:
            page.text(f"{finding.says} Rests on: {finding.rests_on}", points=8.5)
    if each.figures:
        page.photos(each.figures, across=3)
    else:
        page.text("No photo of this unit is at hand.", points=8.5)


def _rest(page: PdfPages, report: AuditReport) -> None:
    page.head("Not checked", 14)
    whole = report.lot.inspected
    page.items(
        [f"{says} ({count} of {whole} units)" for says, count in report.not_checked]
        or ["The units' own answers list nothing."]
    )
    page.head("How this was done", 14)
    page.items(METHODS)
    page.head("What it cannot tell", 14)
    page.items(LIMITS)
    if report.rests_on:
        page.text(f"Tolerances: {'; '.join(report.rests_on)}.", points=8.5)
    page.text(f"{wording.CAUTION} For use inside the shop.", bold=True)
