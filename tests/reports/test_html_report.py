"""The page: escaped, self-contained, in the customer's words, and complete. Read back by Python's own HTML parser."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from reports.making import observation, photo, screened

from screener.errors import ScreenerError
from screener.reports.html_report import ReportData, html_report, write_html_report
from screener.screening.model import Disposition, Finding, NotChecked, Suspicion

NASTY = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>{{ 7 * 7 }}"
FORBIDDEN = (
    *("genuine", "authentic", "original", "verified", "certified", "counterfeit", "fake"),
    *("fraud", "forged", "illegal", "pirate", "guilty", "safe"),
)
"""Words that a result never uses (common practice in suspect-item guidance: "suspect" until confirmed)."""


class Page(HTMLParser):
    """Tags with their attributes, and the visible text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self._in_style = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._in_style = tag == "style"

    def handle_data(self, data: str) -> None:
        self.text += "" if self._in_style else data

    def handle_endtag(self, tag: str) -> None:
        self._in_style = self._in_style and tag != "style"

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


def data(**more: object) -> ReportData:
    made = ReportData("Delivery", "25 November 2026, 08:15 UTC", "order.csv", [screened()], "0.1.0")
    return replace(made, **more)  # type: ignore[arg-type]


def page_of(**more: object) -> Page:
    return Page(html_report(data(**more)))


def nasty_everywhere() -> ReportData:
    made = screened(NASTY, NASTY)
    item = replace(
        made.item,
        requirement=replace(made.item.requirement, line=NASTY, maker=NASTY, supplier=NASTY, note=NASTY),
        observations=(observation("o1", NASTY, source=replace(observation("o1").source, where=NASTY, reader=NASTY)),),
        photos=(NASTY,),
    )
    made = replace(
        made,
        item=item,
        disposition=Disposition("hold", "keep and ask", NASTY, NASTY, NASTY),
        findings=(Finding(NASTY, "question", "suspicion", NASTY, NASTY, ("o1",), NASTY),),
        not_checked=(NotChecked(NASTY, NASTY, True, NASTY),),
        agreed=(NASTY,),
    )
    return data(
        title=NASTY,
        order_name=NASTY,
        items=[made],
        photo=lambda _: photo(),
        unassigned=[(NASTY, NASTY)],
        unreadable=[(NASTY, NASTY)],
        order_problems=[NASTY],
        settings={NASTY: NASTY},
    )


def test_nothing_from_a_label_becomes_markup() -> None:
    page = Page(html_report(nasty_everywhere()))
    names = {tag for tag, _ in page.tags}
    assert "script" not in names
    assert "img" not in names
    assert not [attribute for _, attributes in page.tags for attribute in attributes if attribute.startswith("on")]
    assert page.text.count(NASTY) >= 20, "shown as text, everywhere"


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(min_size=1, max_size=60))
def test_no_text_changes_the_tags_of_the_page(text: str) -> None:
    calm = [tag for tag, _ in Page(html_report(data(items=[screened(agreed=("calm",))]))).tags]
    assert [tag for tag, _ in Page(html_report(data(items=[screened(agreed=(text,))]))).tags] == calm


def test_the_page_needs_no_network_and_forbids_it() -> None:
    page = page_of(photo=lambda _: photo())
    for _, attributes in page.tags:
        for name in ("src", "href"):
            assert (attributes.get(name) or "#").startswith(("#", "data:image/jpeg;base64,"))
    assert "url(" not in html_report(data())
    assert [meta.get("content") for meta in page.named("meta") if meta.get("http-equiv")] == [
        "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
    ]


@pytest.mark.parametrize(
    ("disposition", "word", "shape"),
    [
        (Disposition("accept", "use", "All agree.", "", "R7"), "USE", "#ring"),
        (Disposition("hold", "look again", "Blurred.", "Again.", "R6"), "HOLD", "#tag"),
        (Disposition("reject", "send back", "Shield.", "Claim.", "R3"), "SEND BACK", "#arrow"),
        # A suspect wrong part is kept, whatever the first word was: it must not be printed as one to return.
        (Disposition("reject", "keep and ask", "Shield.", "Keep.", "R2"), "HOLD", "#tag"),
    ],
)
def test_the_verdict_is_a_word_and_a_shape(disposition: Disposition, word: str, shape: str) -> None:
    page = page_of(items=[screened(disposition=disposition)])
    stamp = re.search(
        r'class="stamp">.*?<use href="(.*?)".*?<b>(.*?)</b>',
        html_report(data(items=[screened(disposition=disposition)])),
        re.DOTALL,
    )
    assert stamp
    assert (stamp[1], stamp[2]) == (shape, word)
    assert ("Do not return this part" in page.text) == (disposition.exit == "keep and ask")


def test_what_was_not_checked_is_there_in_the_size_of_the_reason() -> None:
    accept = Disposition("accept", "use", "All agree.", "", "R7")
    page = html_report(data(items=[screened(disposition=accept)]))
    assert "Not checked: clearance." in page, "in the summary"
    assert "Clearance cannot be seen in a photo." in page, "with the item"
    style = page[page.index("<style>") : page.index("</style>")]
    for selector in (r"\.reason", r"\.four", r"\.four h4", r"td \.open", "li", "p"):
        rule = re.search(rf"(?m)^{selector} \{{(.*?)\}}", style)
        assert rule, selector
        assert "font-size" not in rule[1], f"{selector} would differ from the reason's size"


def test_regions_are_drawn_where_they_were_seen_and_numbered() -> None:
    page = page_of(photo=lambda _: photo(100, 80))
    outlines = [each for each in page.named("polygon") if "outline" in (each["class"] or "")]
    assert [each["points"] for each in outlines] == ["10.0,20.0 90.0,20.0 90.0,70.0 10.0,70.0"]
    assert outlines[0]["class"] == "outline contradiction", "the heavier line of the two observations there"
    assert "1, 2" in page.text


def test_an_upright_photo_keeps_its_coordinates_when_reduced() -> None:
    # EXIF orientation 6: the camera was turned; regions are in the upright photo (EXIF 2.3, tag 0x0112).
    page = page_of(photo=lambda _: photo(3000, 2000, exif_turn=6))
    boxes = [each["viewbox"] for each in page.named("svg") if each.get("role") == "img"]
    assert boxes == ["0 0 2000 3000"]


def test_missing_and_broken_photos_do_not_stop_the_report() -> None:
    for content in (None, b"no photo", photo()[:300]):
        assert "This photo cannot be shown here." in page_of(photo=lambda _, given=content: given).text


def test_only_what_is_not_used_gets_a_tag_and_a_kept_part_is_never_tagged_to_go_back() -> None:
    use = screened("1", disposition=Disposition("accept", "use", "All agree.", "", "R7"))
    keep = screened("2", disposition=Disposition("reject", "keep and ask", "Wrong and doubtful.", "Ask.", "R2"))
    back = screened("3", disposition=Disposition("reject", "send back", "Wrong size.", "Claim.", "R3"))
    tags = html_report(data(items=[use, keep, back])).split('class="cut"')[1:]
    assert len(tags) == 2
    assert "Do not return." in tags[0]
    assert "goes back" not in tags[0]
    assert "goes back" in tags[1]
    assert "Tags to cut out" not in page_of(items=[use]).text


def test_left_over_photos_and_files_are_listed() -> None:
    page = page_of(unassigned=[("x.jpg", "reads 6006")], unreadable=[("y.jpg", "is text")], order_problems=["Row 7."])
    for words in ("x.jpg", "reads 6006", "y.jpg", "is text", "Row 7."):
        assert words in page.text


def test_a_report_that_leaves_the_shop_names_no_supplier() -> None:
    suspect = screened(suspicion=Suspicion("moderate", 9.0, 5.0, 12.0))
    assert "Velmort & Co" in page_of(items=[suspect]).text
    assert "Velmort & Co" not in page_of(items=[suspect], internal=False).text


@pytest.mark.parametrize("level", ["none", "weak", "moderate", "strong"])
def test_no_result_uses_a_word_of_judgement(level: str) -> None:
    suspicion = Suspicion(level, 9.0, 5.0, 12.0)  # type: ignore[arg-type]
    keep = Disposition("hold", "keep and ask", "The serial was received before.", "Scan it again.", "R4")
    text = page_of(items=[screened(suspicion=suspicion, disposition=keep)]).text.lower()
    assert [word for word in FORBIDDEN if re.search(rf"\b{word}\b", text)] == []
    assert "percent" not in text
    assert f"suspicion level: {level}" in text


def test_the_file_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    target = tmp_path / "out" / "report.html"
    target.parent.mkdir()
    assert write_html_report(target, data()) == target
    before = target.read_text("utf-8")
    assert before.rstrip().endswith("</html>")

    def fails(_: str) -> bytes | None:
        raise OSError(28, "No space left on device")

    with pytest.raises(ScreenerError, match="could not be written"):
        write_html_report(target, data(photo=fails))
    assert target.read_text("utf-8") == before
    assert list(target.parent.iterdir()) == [target]
