"""A delivery and a single part beside the shop's reference, from photo files to findings.

Packages are drawn and differences planted by `vision.reference.packages`, which says what was planted.
"""

from __future__ import annotations

import datetime as dt

import pytest
import vision.reference.packages as drawn

from screener.receiving.delivery import receive
from screener.receiving.verify import PartInHand, verify
from screener.records.record import Record
from screener.records.references import NewReference, References

SEED = 7003
TODAY = dt.date(2026, 11, 25)
PACK = drawn.package(SEED)
COMPARISON = {"package_differs", "package_misspelt", "element_missing", "code_missing", "colour_off", "print_poor"}


def photo(pack, seed, path, *, easy=False):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(drawn.photograph(pack, seed, most_tilt_deg=12, easy=easy).jpeg)
    return path


@pytest.fixture(scope="module")
def record(tmp_path_factory):
    folder = tmp_path_factory.mktemp("references")
    kept = photo(PACK, SEED, folder / "known good.jpg", easy=True)
    with Record.open(folder / "record.sqlite") as record:
        with References(record) as references:
            new = NewReference(
                maker=PACK.maker, product=PACK.product, kind="package", dated="2026-05-04", who="A. Clerk"
            )
            references.add(kept, new)
        yield record


@pytest.fixture(scope="module")
def items(record, tmp_path_factory):
    folder = tmp_path_factory.mktemp("delivery")
    good = drawn.package(SEED, batch_seed=5)
    planted = drawn.plant(drawn.package(SEED, batch_seed=6), "added", SEED + 1).package
    photo(good, SEED + 20, folder / "photos" / "1" / "box.jpg")
    photo(planted, SEED + 21, folder / "photos" / "2" / "box.jpg")
    order = folder / "order.csv"
    rows = "".join(f"{line},1,{PACK.product},{PACK.maker}\n" for line in (1, 2))
    order.write_text(f"line,quantity,designation,maker\n{rows}", encoding="utf-8")
    done = receive(order, folder / "photos", record, workers=1, today=TODAY)
    return {each.item.key: each for each in done.items}


@pytest.mark.slow
def test_a_good_box_looks_as_its_reference_and_raises_nothing(items):
    assert not COMPARISON & {f.code for f in items["1"].findings}
    assert any("looks as" in says for says in items["1"].agreed)
    assert {"PK3", "PK4"} <= set(items["1"].suspicion.looked_for)


@pytest.mark.slow
def test_a_planted_difference_is_a_finding_with_its_outline(items):
    found = {f.code: f for f in items["2"].findings if f.code in COMPARISON}["package_differs"]
    assert found.indicator == "PK4"
    assert "does not have" in found.says
    seen = {o.key: o for o in items["2"].item.observations}
    assert all(seen[key].source.region_px for key in found.observations)
    # A weak sign with ordinary causes holds nothing by itself and accuses nobody.
    assert items["2"].suspicion.level in {"none", "weak"}
    weighed = {w.indicator: w for w in items["2"].suspicion.indicators}
    assert "redesign" in weighed["PK4"].ordinary_causes


@pytest.mark.slow
def test_a_part_in_hand_is_compared_too(record, tmp_path):
    planted = drawn.plant(drawn.package(SEED, batch_seed=7), "text_misspelt", SEED + 2).package
    box = photo(planted, SEED + 22, tmp_path / "box.jpg")
    done = verify(PartInHand(PACK.product, photos=(box,), maker=PACK.maker), record, today=TODAY)
    found = {f.code: f for f in done.item.findings if f.code in COMPARISON}
    assert found.keys() & {"package_misspelt", "package_differs"}, [f.says for f in done.item.findings]
