"""Job sheets as a page to print and as PDF."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.responses import HTMLResponse, Response

from screener.dock.pages.papers import REPORT_POLICY
from screener.reports.job_sheet import job_sheet_html

if TYPE_CHECKING:
    from screener.reports.job_sheet import JobSheet


def print_page(sheet: JobSheet) -> Response:
    """Return the sheet as a page of its own."""
    return HTMLResponse(job_sheet_html(sheet), headers={"Content-Security-Policy": REPORT_POLICY})


def paper(sheet: JobSheet) -> Response:
    """Return the sheet as PDF."""
    from screener.reports.job_sheet_pdf import job_sheet_pdf

    headers = {"Content-Disposition": 'inline; filename="job-sheet.pdf"'}
    return Response(job_sheet_pdf(sheet), media_type="application/pdf", headers=headers)
