from __future__ import annotations

import re
import tomllib
from xml.etree import ElementTree as ET

import pytest

from screener.metrology.fits.example_card import EXAMPLE
from screener.metrology.fits.job import JobWalked, walk
from screener.metrology.fits.job_card import read_card
from screener.reports.job_sheet import JobSheet, PhotoVerdict, gathered_lines, job_sheet_html, part_numbers
from screener.reports.job_sheet_drawing import PAGE_MM, SCALES, scale_for, scale_words, svg
from screener.reports.job_sheet_shapes import draw_stack


def walked(text: str = EXAMPLE) -> JobWalked:
    return walk(read_card(tomllib.loads(text), "card.toml"))


def page(text: str = EXAMPLE, **verdicts: PhotoVerdict) -> str:
    return job_sheet_html(JobSheet(walked(text), "25 November 2026", "0", verdicts))


def drawing_of(text: str = EXAMPLE) -> ET.Element:
    drawing = draw_stack(tuple(each.piece for each in walked(text).parts))
    return ET.fromstring(svg(drawing, "t"))  # noqa: S314 - our own text


def test_printed_size_over_view_is_the_scale_named() -> None:
    root = drawing_of()
    drawing = draw_stack(tuple(each.piece for each in walked().parts))
    scale = scale_for(drawing)
    view = [float(value) for value in root.attrib["viewBox"].split()]
    for side, size in (("width", view[2]), ("height", view[3])):
        assert float(root.attrib[side].removesuffix("mm")) / size == pytest.approx(scale, rel=1e-3)
    assert scale_words(scale) in page()


def test_parts_are_drawn_true_to_size() -> None:
    """6205 is 25 x 52 x 15 (ISO 15): its two rings reach from 12.5 to 26 mm off the axis, 15 mm wide."""
    boxes = [
        {name: float(each.attrib[name]) for name in ("x", "y", "width", "height")}
        for each in drawing_of().iter("rect")
        if each.attrib["class"] == "part"
    ]
    rings = [box for box in boxes if box["x"] == 10.0 and box["width"] == 15.0]
    assert max(box["y"] + box["height"] for box in rings) == pytest.approx(26.0)
    assert min(box["y"] for box in rings) == pytest.approx(-26.0)
    assert min(abs(box["y"]) for box in rings if box["y"] > 0) == pytest.approx(12.5)


def test_everything_lies_inside_the_view() -> None:
    root = drawing_of()
    left, top, width, height = (float(value) for value in root.attrib["viewBox"].split())
    for each in root.iter("rect"):
        x, y = float(each.attrib["x"]), float(each.attrib["y"])
        assert left <= x <= x + float(each.attrib["width"]) <= left + width
        assert top <= y <= y + float(each.attrib["height"]) <= top + height
    for each in root.iter("text"):
        assert top + float(each.attrib["font-size"]) <= float(each.attrib["y"]) <= top + height


@pytest.mark.parametrize("designation", ["608", "6205", "6220", "22230", "NU210", "6001-2Z"])
def test_any_size_fits_the_page_at_a_standard_scale(designation: str) -> None:
    text = f'title = "x"\n[[part]]\nname = "a"\nkind = "bearing"\ndesignation = "{designation}"\n'
    drawing = draw_stack(tuple(each.piece for each in walked(text).parts))
    scale = scale_for(drawing)
    assert scale in SCALES
    assert (drawing.right - drawing.left) * scale <= PAGE_MM
    assert "<svg" in page(text)


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    root = drawing_of()
    bar = list(root.iter("line"))[-1]
    said = list(root.iter("text"))[-1].text
    assert said is not None
    assert float(bar.attrib["x2"]) - float(bar.attrib["x1"]) == pytest.approx(float(said.removesuffix(" mm")))


def test_the_page_says_what_a_mechanic_needs() -> None:
    text = page()
    for word in (
        "FITS AS MEASURED",
        "Order of work",
        "Cautions",
        "Not checked",
        "Belongs to the job",
        "DIN 471 25 x 1.2",
        "press force, shaft",
        "The machine&#39;s manual, the shop&#39;s rules and local law come first.",
        "not verified",
    ):
        assert word in text
    # Every number at the press is a range.
    shown = re.findall(r"<dd>(.*?)</dd>", text)
    assert shown
    assert all(" to " in each for each in shown if "°C" not in each or "to" in each)


def test_the_top_line_says_which_seat_and_why() -> None:
    """H7 of 52 mm begins at 52.000 (ISO 286-2); 51.98 is 20 µm less, give or take the bore gauge's 6 µm."""
    text = page(EXAMPLE.replace("[[52.012, 52.014]]", "[[51.98]]"))
    assert "bearing (housing 14 to 26 µm below H7" in text.split("<section", 1)[0]


def test_a_part_that_is_not_to_be_pressed_has_no_steps_on_the_sheet() -> None:
    """H7 of 52 mm begins at 52.000 (ISO 286-2): a housing of 51.98 is made right before anything is pressed into it."""
    good = page()
    wrong = page(EXAMPLE.replace("[[52.012, 52.014]]", "[[51.98]]"))
    assert "Never through the balls" in good
    assert "Left out" not in good
    assert "Never through the balls" not in wrong
    assert "Part 3, bearing: Left out: the answer is not to press." in wrong
    assert "a tilted seal leaks" in wrong
    assert "Do not press yet: bearing (" in wrong.split("<section", 1)[0]


def test_the_word_of_the_photos_is_shown() -> None:
    text = page(
        bearing=PhotoVerdict(
            "HOLD, look again", "The ring reads another number.", "Photograph the other face.", "review"
        )
    )
    assert "HOLD, look again" in text
    assert "Only once what stands at the top is settled" in text
    # The stamp follows the part, not the seats it would fit.
    assert ">LOOK AGAIN</p>" in text.split("<section", 1)[0]
    assert "FITS AS MEASURED" not in text.split("<section", 1)[0]
    assert "Photograph the other face." in text
    assert "not verified: shaft seal" in text


def test_hostile_names_stay_text() -> None:
    evil = '<script>alert(1)</script><img src=x onerror=y>"'
    text = EXAMPLE.replace('"Output shaft"', f"'{evil}'").replace('name = "spacer"', f"name = '{evil}'")
    found = page(text)
    assert "<script" not in found
    assert "<img" not in found
    assert "&lt;script&gt;" in found


def test_one_file_without_network_or_script() -> None:
    text = page()
    assert "default-src 'none'" in text
    assert not re.search(r"https?://|<script|@import|url\(", text)
    for word in ("genuine", "counterfeit", "fake", "authentic"):
        assert word not in text.lower()


def test_the_order_of_work_is_one() -> None:
    # common practice: look and clean first, then part by part, turn by hand when all are in; every part has a step.
    steps = gathered_lines(walked(), "steps")
    stages = [line.stage for line, _ in steps]
    assert stages == sorted(stages, key=["before", "fit", "after"].index)
    assert set(stages) == {"before", "fit", "after"}
    parts = [min(map(int, numbers)) for line, numbers in steps if line.stage == "fit"]
    assert parts == sorted(parts)
    assert set(parts) == {1, 2, 3, 4, 5}


def test_no_heat_above_the_ceiling() -> None:
    """A seal closed on both sides takes 80 °C (heat_limits of the mounting lists)."""
    job = walked()
    rows = part_numbers(job.parts[2])
    names = [name for name, _ in rows]
    assert names.index("ceiling for heat") < names.index("heat to drop on")
    ceiling = float(dict(rows)["ceiling for heat"].split()[0])
    assert all(float(each) <= ceiling for each in re.findall(r"\d+", dict(rows)["heat to drop on"]))
