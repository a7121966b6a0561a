from __future__ import annotations

import re
import tomllib
import zlib

import pytest

from screener.metrology.fits.example_card import EXAMPLE
from screener.metrology.fits.job import walk
from screener.metrology.fits.job_card import read_card
from screener.reports.job_sheet import JobSheet
from screener.reports.job_sheet_pdf import job_sheet_pdf

pytest.importorskip("fpdf")
POINTS = 72 / 25.4


def sheet(text: str = EXAMPLE) -> JobSheet:
    return JobSheet(walk(read_card(tomllib.loads(text), "card.toml")), "25 November 2026", "0")


def drawn(pdf: bytes) -> str:
    """The pages' drawing operators (PDF 32000-1, 8.5: ``x y w h re`` is a rectangle, in points of 1/72 inch)."""
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL)
    found = []
    for each in streams:
        try:
            found.append(zlib.decompressobj().decompress(each).decode("latin-1"))
        except zlib.error:
            continue
    return "\n".join(found)


def test_rings_on_paper_are_as_wide_as_the_bearing_at_the_scale_named() -> None:
    """6205 is 15 mm wide (ISO 15); the example is drawn 1 : 1."""
    text = drawn(job_sheet_pdf(sheet()))
    assert "scale 1 : 1" in text
    widths = [abs(float(each)) for each in re.findall(r"[\d.-]+ [\d.-]+ ([\d.-]+) [\d.-]+ re", text)]
    assert sum(abs(width - 15 * POINTS) < 0.02 for width in widths) >= 4


def test_the_words_are_there() -> None:
    text = drawn(job_sheet_pdf(sheet()))
    for word in ("Output shaft", "Order of work", "Cautions", "Not checked", "DIN 471 25 x 1.2"):
        assert word in text


def test_any_name_can_be_printed() -> None:
    evil = "Вал 軸 “quoted” ✓ → 😀"
    assert job_sheet_pdf(sheet(EXAMPLE.replace("Output shaft", evil))).startswith(b"%PDF")
