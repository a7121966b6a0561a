"""Job sheets as a page to print and as PDF."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.responses import HTMLResponse, Response

from screener.reports.job_sheet import job_sheet_html

if TYPE_CHECKING:
    from screener.reports.job_sheet import JobSheet

SHEET_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; frame-ancestors 'none'"
"""A printed sheet carries its own style in itself; it has no script and asks for nothing."""


def print_page(sheet: JobSheet) -> Response:
    """Return the sheet as a page of its own."""
    return HTMLResponse(job_sheet_html(sheet), headers={"Content-Security-Policy": SHEET_POLICY})


def paper(sheet: JobSheet) -> Response:
    """Return the sheet as PDF."""
    from screener.reports.job_sheet_pdf import job_sheet_pdf

    headers = {"Content-Disposition": 'inline; filename="job-sheet.pdf"'}
    return Response(job_sheet_pdf(sheet), media_type="application/pdf", headers=headers)
