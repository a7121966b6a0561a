"""Reports of a received delivery and of one verified part: what the flow returned, set out for printing."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from screener import __version__
from screener.reports.html_report import write_html_report
from screener.reports.report_data import ReportData
from screener.specs.screening_rules import suspicion_settings

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from screener.receiving.delivery import Delivery
    from screener.receiving.photo_files import PhotoFile
    from screener.receiving.verify import Verified


def write_delivery_report(delivery: Delivery, order: Path, target: Path) -> Path:
    """Write the HTML report of a delivery; return its path."""
    data = ReportData(
        title="Delivery screened",
        created_at=now_in_words(),
        order_name=order.name,
        items=delivery.items,
        version=__version__,
        photo=_photo_of(delivery.photos, delivery.earlier),
        unassigned=[(u.photo, u.says) for u in delivery.unassigned],
        unreadable=[(u.photo, u.says) for u in delivery.unreadable],
        order_problems=delivery.order_problems,
        settings=_settings(delivery.run_id),
    )
    return write_html_report(target, data)


def write_single_report(verified: Verified, target: Path) -> Path:
    """Write the HTML report of one part; return its path."""
    data = ReportData(
        title="Part verified",
        created_at=now_in_words(),
        order_name=verified.item.item.requirement.need,
        items=[verified.item],
        version=__version__,
        photo=_photo_of(verified.photos, {}),
        unreadable=[(u.photo, u.says) for u in verified.unreadable],
        settings=_settings(verified.run_id),
    )
    return write_html_report(target, data)


def _photo_of(photos: Mapping[str, PhotoFile], earlier: Mapping[str, Path]) -> Callable[[str], bytes | None]:
    """Find a photo's bytes by hash or name among the files of this run, or by hash in the archive."""
    paths = {**earlier, **{key: photo.path for photo in photos.values() for key in (photo.sha256, photo.name)}}

    def read(sha_or_name: str) -> bytes | None:
        path = paths.get(sha_or_name)
        try:
            return path.read_bytes() if path is not None else None
        except OSError:
            return None

    return read


def _settings(run_id: int) -> dict[str, object]:
    settings = suspicion_settings()
    return {
        "share of bad items assumed before looking": f"{settings.prior_percent:g} %",
        "suspicion is called moderate from": f"{settings.moderate_from_db:g} dB",
        "suspicion is called strong from": f"{settings.strong_from_db:g} dB and two independent groups",
        "run in the record": run_id,
    }


def now_in_words() -> str:
    """Return the present moment as a report prints it, with its time zone."""
    return dt.datetime.now(dt.UTC).astimezone().strftime("%Y-%m-%d %H:%M %Z")
