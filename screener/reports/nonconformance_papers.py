"""A non-conformance report written as a page or a PDF file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screener.reports.pages import page_templates

if TYPE_CHECKING:
    from screener.reports.nonconformance_form import Field, Nonconformance, Section
    from screener.reports.pdf_page import PdfPages


def nonconformance_html(report: Nonconformance) -> str:
    """Return the report as one page: no network, no script."""
    return page_templates().get_template("nonconformance.html.j2").render(report=report)


def nonconformance_pdf(report: Nonconformance) -> bytes:
    """Return the report as a PDF file."""
    from screener.reports.pdf_page import PdfPages

    page = PdfPages(f"{report.title} {report.number}", f"{report.number}, {report.created_at}")
    page.head(f"{report.title} {report.number}", 17)
    page.text(report.created_at)
    page.text(report.sentence, bold=True)
    for section in report.sections:
        _form(page, section)
    page.head("Findings")
    page.table(
        ("Required", "Rests on", "Found", "Where"), [(f.required, f.rests_on, f.found, f.where) for f in report.found]
    )
    if report.measured:
        page.head("Readings")
        page.table(("What", "Value", "With"), report.measured)
    page.head("What we ask of you")
    page.text(report.asked, bold=True)
    page.fields([("Reply asked for by", "")])
    if report.figures:
        page.head("Photos")
        page.photos(report.figures)
    if report.not_checked:
        page.head("What we did not check")
        page.items(report.not_checked)
    page.new_page()
    _form(page, report.supplier_part)
    page.new_page()
    _form(page, report.our_part)
    return page.finished()


def _form(page: PdfPages, section: Section) -> None:
    page.head(section.head)
    page.fields([(_named(field), field.value) for field in section.fields])


def _named(field: Field) -> str:
    return f"{field.name} ({field.clause})" if field.clause else field.name
