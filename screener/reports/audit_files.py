"""An audit written to a file, in the form that its ending names."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from screener.audit.as_json import audit_as_json
from screener.audit.batch.compare import BatchComparison
from screener.errors import WrongUsage
from screener.reports.audit_report import AuditReport
from screener.reports.whole_file import write_whole

FORMS = (".html", ".pdf", ".xlsx", ".csv", ".json")


def check_form(path: Path) -> str:
    """Return the ending of a file that an audit can be written to.

    Raises
    ------
    WrongUsage
        The ending names no form.
    """
    ending = path.suffix.lower()
    if ending not in FORMS:
        raise WrongUsage(
            "this ending names no form of a report.", where=str(path), next_step=f"Use one of {', '.join(FORMS)}."
        )
    return ending


def write_audit(path: Path, batch: BatchComparison, report: AuditReport) -> Path:
    """Write the audit in the form that the path's ending names; return the path."""
    writers: dict[str, Callable[[], Path]] = {
        ".html": lambda: _html(path, report),
        ".pdf": lambda: _pdf(path, report),
        ".xlsx": lambda: _xlsx(path, batch, report),
        ".csv": lambda: _csv(path, batch),
        ".json": lambda: write_whole(
            path, [json.dumps(audit_as_json(batch, report.delivery), ensure_ascii=False), "\n"]
        ),
    }
    return writers[check_form(path)]()


def _html(path: Path, report: AuditReport) -> Path:
    from screener.reports.audit_html import audit_html

    return write_whole(path, audit_html(report))


def _pdf(path: Path, report: AuditReport) -> Path:
    from screener.reports.audit_pdf import audit_pdf

    return write_whole(path, audit_pdf(report))


def _xlsx(path: Path, batch: BatchComparison, report: AuditReport) -> Path:
    from screener.reports.audit_tables import audit_xlsx

    return write_whole(path, audit_xlsx(batch, report))


def _csv(path: Path, batch: BatchComparison) -> Path:
    from screener.reports.audit_tables import units_csv

    return write_whole(path, units_csv(batch))
