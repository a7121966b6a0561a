"""What a designation says. Sources beside each check; `common practice` marks trade facts without a document."""

from __future__ import annotations

import csv
import dataclasses
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screener.parts import Explained, explain, explain_column, explained_as_json
from screener.parts.model import Closure
from screener.specs.boundary import boundary_rows


def size(text: str) -> tuple[float | None, float | None, float | None]:
    found = explain(text)
    return found.bore_mm, found.od_mm, found.width_mm


class TestPublishedExamples:
    """Numbering examples printed in a maker-independent catalogue text and on public pages (worked examples K13, P13,
    P18 of the outside values: names and attributes as printed there)."""

    def test_6308_zz_c3(self) -> None:
        found = explain("6308 ZZ C3")
        assert (found.bore_mm, found.closure, found.clearance) == (40, Closure("shield", 2), "C3")

    def test_7220_a_db_c3(self) -> None:
        found = explain("7220 A DB C3")
        assert (found.bore_mm, found.contact_angle_deg, found.arrangement) == (100, 30, "back to back")
        assert found.clearance == "C3"

    def test_1206_k_with_its_sleeve(self) -> None:
        found = explain("1206 K +H206X")
        assert (found.bore_mm, found.tapered_bore, found.family) == (30, "1:12", "self-aligning ball")
        assert any("H206X" in note for note in found.notes)

    def test_nu318_m_cm(self) -> None:
        found = explain("NU318 M CM")
        assert (found.bore_mm, found.cage, found.clearance, found.clearance_code) == (90, "machined brass", None, "CM")

    def test_nn3017_k_cc1_p4(self) -> None:
        found = explain("NN3017 K CC1 P4")
        assert (found.bore_mm, found.tapered_bore, found.accuracy) == (85, "1:12", "P4")
        assert (found.clearance, found.clearance_code) == (None, "CC1")

    def test_hr30207_j(self) -> None:
        found = explain("HR30207 J")
        assert (found.bore_mm, found.family, found.inner_design) == (35, "tapered roller", "J")

    def test_240_1000_m_k30_e4_c3(self) -> None:
        found = explain("240/1000 M K30 E4 C3")
        assert (found.bore_mm, found.cage, found.tapered_bore) == (1000, "machined brass", "1:30")
        assert found.clearance == "C3"

    def test_51215(self) -> None:
        assert (explain("51215").bore_mm, explain("51215").family) == (75, "thrust ball")

    def test_6213e_z(self) -> None:
        found = explain("6213E-Z")
        assert (found.bore_mm, found.inner_design, found.closure) == (65, "E", Closure("shield", 1))

    def test_6205_2rs_c3(self) -> None:
        found = explain("6205-2RS-C3")
        assert size("6205-2RS-C3") == (25, 52, 15)
        assert (found.closure, found.clearance) == (Closure("contact_seal", 2), "C3")

    def test_p626na(self) -> None:
        found = explain("NU1038 P626NA")
        assert (found.accuracy, found.clearance) == ("P6", "C2")

    @pytest.mark.parametrize(
        ("code", "bore_mm"), [("00", 10), ("01", 12), ("02", 15), ("03", 17), ("04", 20), ("20", 100)]
    )
    def test_bore_codes(self, code: str, bore_mm: float) -> None:
        assert explain(f"62{code}").bore_mm == bore_mm

    @pytest.mark.parametrize(
        ("name", "bore_mm"), [("62/22", 22), ("60/28", 28), ("63/32", 32), ("608", 8), ("618/500", 500)]
    )
    def test_bores_written_out(self, name: str, bore_mm: float) -> None:
        assert explain(name).bore_mm == bore_mm


class TestCommonPractice:
    """Facts of the trade: `common practice`, no document."""

    def test_6202_2rs_is_two_rubber_seals(self) -> None:
        assert explain("6202-2RS").closure == Closure("contact_seal", 2)

    def test_a_seal_of_16_28_7_is_a_standard_size(self) -> None:
        found = explain("16 x 28 x 7 NBR")
        assert (found.kind, found.standard_size, found.material) == ("shaft_seal", True, "NBR")

    @pytest.mark.parametrize("code", ["2RS", "2RSR", "2RS1", "2RSH", "DDU", "LLU"])
    def test_names_of_the_contact_seal(self, code: str) -> None:
        assert explain(f"6205 {code}").closure == Closure("contact_seal", 2)

    @pytest.mark.parametrize("code", ["2RZ", "VV", "LLB"])
    def test_names_of_the_non_contact_seal(self, code: str) -> None:
        assert explain(f"6205 {code}").closure == Closure("non_contact_seal", 2)

    @pytest.mark.parametrize("code", ["ZZ", "2Z"])
    def test_names_of_the_shield(self, code: str) -> None:
        assert explain(f"6205 {code}").closure == Closure("shield", 2)

    @pytest.mark.parametrize(
        ("trade", "iso"), [("6804", "61804"), ("6903", "61903"), ("688", "618/8"), ("5206", "3206")]
    )
    def test_two_numbers_of_one_size(self, trade: str, iso: str) -> None:
        assert size(trade) == size(iso) != (None, None, None)

    def test_inch_bores_in_a_metric_shell(self) -> None:
        assert size("6202-5/8") == size("6202-10") == (15.875, 35, 11)

    def test_a_spreadsheet_cell(self) -> None:
        assert explain("6202.0").basic == "6202"

    def test_p63_is_class_6_with_c3(self) -> None:
        assert (explain("6205 P63").accuracy, explain("6205 P63").clearance) == ("P6", "C3")

    def test_c6_is_no_clearance(self) -> None:
        assert explain("6205 C6").clearance == "CN"

    @pytest.mark.parametrize("prefix", ["S", "SS", "W", "W "])
    def test_stainless_prefixes(self, prefix: str) -> None:
        assert explain(f"{prefix}6205-2RS").material == "stainless steel"

    def test_unmarked_is_open_and_cn(self) -> None:
        assert (explain("6205").closure, explain("6205").clearance) == (Closure("open", 0), "CN")

    def test_closed_miniatures_are_wider(self) -> None:
        assert (explain("MR105").width_mm, explain("MR105ZZ").width_mm) == (3, 4)

    def test_fullwidth_dashes_and_cyrillic_letters(self) -> None:
        assert explain("6205–2RS С3").clearance == "C3"


class TestNothingIsGuessed:
    @pytest.mark.parametrize(("text", "field"), [("6205 DD", "closure"), ("6205 V", "closure"), ("6205 D", "closure")])
    def test_disputed_codes_leave_the_attribute_open(self, text: str, field: str) -> None:
        found = explain(text)
        assert getattr(found, field) is None
        assert found.ambiguous
        assert field in found.undecided

    def test_disputed_e_of_angular_contact(self) -> None:
        found = explain("7207 E")
        assert found.contact_angle_deg is None
        assert found.ambiguous

    def test_unknown_suffix_is_listed_and_closes_nothing(self) -> None:
        found = explain("6202-2RS1 C8")
        assert not found.understood
        assert found.not_understood == ("C8",)
        assert found.clearance is None
        assert found.closure == Closure("contact_seal", 2)

    def test_unknown_closure_is_not_taken_for_open(self) -> None:
        assert explain("6205-2RX").closure is None

    @pytest.mark.parametrize("word", ["SEAL", "STAINLESS", "DICHTUNGEN", "ROSTFREI"])
    def test_telling_words_are_not_passed_over(self, word: str) -> None:
        assert word in explain(f"6205 {word}").not_understood

    @pytest.mark.parametrize("word", ["SEALED", "SHIELDED", "ABGEDICHTET", "GEDECKT"])
    def test_trade_words_that_do_not_count_the_sides_leave_the_closure_open(self, word: str) -> None:
        # common practice: "sealed" says neither on how many sides nor whether the seal touches.
        found = explain(f"6205 {word.lower()} C3")
        assert (found.closure, found.clearance) == (None, "C3")
        assert "closure" in found.undecided
        assert any(word in reading for reading in found.ambiguous)
        assert explain(f"6205-2RS {word}").closure == Closure("contact_seal", 2)

    @pytest.mark.parametrize("word", ["SEALED", "SHIELDED", "STAINLESS"])
    def test_telling_words_before_the_number_are_not_passed_over(self, word: str) -> None:
        found = explain(f"{word} 6205")
        assert (found.understood, found.closure, found.basic) == (False, None, "6205")

    @pytest.mark.parametrize("word", ["open", "offen"])
    def test_open_is_open(self, word: str) -> None:
        assert explain(f"6205 {word}").closure == Closure("open", 0)

    def test_a_text_near_itself_ends(self) -> None:
        # "EA" behind a number counts pieces; what stands near such a text is itself such a text.
        assert not explain("608 EA C3").understood

    def test_suggestions_keep_the_bore(self) -> None:
        found = explain("6205-2R5")
        assert found.suggestions[0] == "6205 2RS"
        assert {explain(text).basic for text in found.suggestions} == {"6205"}

    def test_suggestions_for_a_misread_number_exist(self) -> None:
        found = explain("G2O5-2RS")
        assert not found.understood
        assert found.suggestions[0] == "6205-2RS"
        assert all(explain(text).understood for text in found.suggestions)

    def test_number_that_can_be_cut_two_ways(self) -> None:
        found = explain("6232RS")
        assert (found.understood, found.bore_mm) == (False, None)
        assert set(found.suggestions) == {"6232-RS", "623-2RS"}

    def test_contradicting_codes(self) -> None:
        found = explain("6205 ZZ 2RS")
        assert found.closure is None
        assert found.ambiguous

    def test_a_size_beside_it_that_differs(self) -> None:
        assert explain("6205 25x52x15").understood
        assert not explain("6205 20x47x14").understood

    def test_angle_ring_does_not_become_the_bearing(self) -> None:
        assert explain("NJ 2305 ECP + HJ 2305 EC").basic == "NJ2305"


class TestCodesInsideOtherCodes:
    """Short codes must not be cut out of longer ones of other houses (each of these was once read wrongly)."""

    def test_ndul_is_no_snap_ring_groove(self) -> None:
        assert explain("7005 C TYNDULP4").snap_ring is None

    def test_bs2_is_no_heat_treatment(self) -> None:
        assert explain("24024-BS2-2CS5/VT143").heat_stabilisation is None

    def test_sealed_spherical_roller_is_no_self_aligning_ball(self) -> None:
        assert explain("BS2-2210-2CS").family == "spherical roller"

    def test_mc4_depends_on_the_size(self) -> None:
        assert (explain("6330MC4").clearance, explain("6330MC4").cage) == ("C4", "machined brass")
        assert (explain("608 ZZ MC3").clearance_code, explain("608 ZZ MC3").cage) == ("MC3", None)

    def test_ta_is_not_in_stainless(self) -> None:
        assert explain("6205 STAINLESS").cage is None

    def test_a_second_bearing_is_not_a_suffix(self) -> None:
        found = explain("6205-2RS / 6306-ZZ")
        assert found.closure == Closure("contact_seal", 2)
        assert found.not_understood == ("6306-ZZ",)

    def test_seal_numbers_are_no_inch_bearing(self) -> None:
        assert explain("16-28-7").kind == "shaft_seal"


class TestWrittenInParts:
    @pytest.mark.parametrize(
        "text", ["6205 L L U C 3", "6205 2 RS C3", "6205-2-RS C 3", "6205 DD U C3", "62 05 2RS C3"]
    )
    def test_parts_of_one_code(self, text: str) -> None:
        found = explain(text)
        assert (found.bore_mm, found.closure, found.clearance) == (25, Closure("contact_seal", 2), "C3")

    @pytest.mark.parametrize(
        ("text", "bore_mm"),
        [
            ("6203-16MM", 16),
            ("6203 2RS 16 mm", 16),
            ('6205-1"', 25.4),
            ('6206-2RS-1 1/4"', 31.75),
            ("UC206-103", 30.1625),
        ],
    )
    def test_written_bores(self, text: str, bore_mm: float) -> None:
        assert explain(text).bore_mm == bore_mm

    @pytest.mark.parametrize("text", ["6205-25", "6204-20-2RS"])
    def test_a_bore_that_cannot_be_is_not_taken(self, text: str) -> None:
        found = explain(text)
        assert (found.understood, found.bore_mm) == (False, None)

    @pytest.mark.parametrize("text", ["2. 6205-2RS", "3) 6205-2RS", "6205-2RS 4 pcs.", "10x 6205 2RS", "6205 2RS x10"])
    def test_counts_and_list_numbers(self, text: str) -> None:
        found = explain(text)
        assert (found.understood, found.basic, found.closure) == (True, "6205", Closure("contact_seal", 2))


class TestInterstateNumbers:
    """76-180205 is 6205-2RS P63 (worked example of a printed list); a bare number is only suggested."""

    def test_suggested_not_taken(self) -> None:
        found = explain("76-180205")
        assert not found.understood
        assert found.suggestions[0] == "6205 2RS P63"

    def test_bare_number(self) -> None:
        assert explain("180205").suggestions[0] == "6205 2RS"


_COMBINATIONS = [
    (),
    *((code,) for code in ("2RS", "ZZ", "2Z", "LLU", "DDU", "2RS1", "Z", "RS", "C3", "C4", "P63")),
    *((code, group) for code in ("2RS", "ZZ", "2RSR", "Z") for group in ("C2", "C3", "C5")),
]
_STYLES = [
    lambda basic, codes: "-".join((basic, *codes)),
    lambda basic, codes: "/".join((basic, *codes)),
    lambda basic, codes: basic + "".join(codes),
    lambda basic, codes: f"{basic} {''.join(codes)}".lower(),
    lambda basic, codes: f"  {basic}-{' '.join(codes)} ",
    lambda basic, codes: f"olmira {basic} {'/'.join(codes)}",
]
_ATTRIBUTES = [
    field.name
    for field in dataclasses.fields(Explained)
    if field.name not in {"input", "sources", "notes", "not_understood", "ambiguous", "suggestions", "spans"}
]


@settings(max_examples=600, deadline=None)
@given(st.sampled_from(boundary_rows()), st.sampled_from(_COMBINATIONS), st.sampled_from(_STYLES))
def test_every_spelling_style_says_the_same(row, codes, style) -> None:
    plain, styled = explain(" ".join((row.designation, *codes))), explain(style(row.designation, codes))
    if styled.ambiguous and not styled.understood:
        assert styled.bore_mm is None, "6232RS: reported, never chosen"
        return
    for name in _ATTRIBUTES:
        assert getattr(styled, name) == getattr(plain, name), name


def test_every_row_of_the_table_is_read_with_its_size() -> None:
    for row in boundary_rows():
        found = explain(row.designation)
        assert (found.understood, found.bore_mm, found.od_mm) == (True, row.bore_mm, row.od_mm), row.designation


@settings(max_examples=500, deadline=None)
@given(st.text(max_size=60) | st.text(alphabet="0123456789RSZXCNUVBJKLP-/ .,x", max_size=24))
def test_no_text_raises(text: str) -> None:
    found = explain(text)
    assert found.input == text
    if any(char.isalnum() for char in text):
        assert found.understood or found.not_understood or found.ambiguous


def test_json_has_the_fields_of_the_contract() -> None:
    found = explained_as_json(explain("6205-2RS C3"))
    assert found["schema"] == "screener.explain/1"
    assert found["closure"] == {"kind": "contact_seal", "sides": 2}
    fields = (
        "input understood kind family basic bore_mm od_mm width_mm closure clearance accuracy cage snap_ring "
        "tapered_bore material mass_kg not_understood suggestions sources"
    )
    assert set(fields.split()) <= set(found)


def test_a_column_is_explained_in_order() -> None:
    assert [found.basic for found in explain_column(["6205", "35x52x7", ""])] == ["6205", "35x52x7", None]


@pytest.mark.slow
def test_ten_thousand_lines_take_little_time() -> None:
    """The goal is 100,000 mixed lines in 10 s on one core; half as slow again is allowed for a busy machine."""
    tails = ["", "-2RS1", "/C3", " ZZ C3", "DDUC3", "-2RSR C4", " ECP", "-2RX"]
    lines = [f"{row.designation}{tail}" for row in boundary_rows() for tail in tails][:10_000]
    explain("6205")
    start = time.process_time()
    assert sum(1 for _ in explain_column(lines)) == 10_000
    assert time.process_time() - start < 1.5


_SHARED = Path(__file__).resolve().parents[3] / "shared" / "standards" / "bearing_dimensions_consensus.csv"


@pytest.mark.skipif(not _SHARED.exists(), reason="the outside lists are not shipped")
def test_sizes_agree_with_the_outside_consensus() -> None:
    """Rows with three independent printed lists and a match with the interstate plan (outside values, not shipped)."""
    rows = [
        row
        for row in csv.DictReader(_SHARED.read_text("utf-8").splitlines())
        if row["matches_boundary_plan_S6"] == "yes" and int(row["independent_sources"]) >= 3
    ]
    assert len(rows) > 300
    for row in rows:
        found = explain(row["base_designation"])
        wanted = (float(row["d_mm"]), float(row["D_mm"]))
        assert (found.bore_mm, found.od_mm) == pytest.approx(wanted, abs=0.01), row["base_designation"]
