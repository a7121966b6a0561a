"""Commercial signs: from the order list to a low weight. Medians are counted by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from screening.items import GOOD_6205, TODAY, item, need

from screener.receiving.delivery import requirement_of
from screener.receiving.surroundings import surroundings_of
from screener.records.model import ItemRecord, PriceRef
from screener.records.orders import read_order
from screener.records.record import Record
from screener.screening.checks.commercial import check, part_key, supplier_class
from screener.screening.model import Trade
from screener.screening.screen import screen
from screener.specs.screening_rules import suspicion_settings

PART = need("6205-2RS C3", duty=["dry"])
ORDER = """pos;bezeichnung;menge;preis;währung;bekannt seit;chain of sale;papers;signs
1;6205-2RS C3;4;2,10;EUR;2026;no;ja;PK6 CO9
2;6205-2RS C3;4;5,00;EUR;;;;ZZ9
"""


def codes(prices=(), **trade):
    around = replace(TODAY, prices_before=tuple(prices))
    return [f.code for f in check(item(replace(PART, trade=Trade(**trade))), around).findings]


def test_price_against_the_shops_own_median():
    paid = [4, 5, 5, 6, 50]  # median 5, whatever the one dear one cost; 60 % of it is 3
    assert codes(paid, unit_price=2.99, currency="EUR") == ["price_low"]
    assert codes(paid, unit_price=3.0, currency="EUR") == []
    assert codes(paid[:4], unit_price=1.0, currency="EUR") == []


def test_what_the_order_tells():
    assert codes(chain_of_sale=False, papers=False) == ["seller_new", "papers_missing"]
    assert codes(lead_days=2, usual_days=14) == ["delivered_fast"]
    assert codes(lead_days=2, usual_days=3) == []
    assert codes(chain_of_sale=True, papers=True) == codes() == []


def test_all_commercial_signs_together_hold_nothing():
    trade = Trade(1.0, "EUR", chain_of_sale=False, papers=False, lead_days=1, usual_days=20)
    done = screen(item(replace(PART, trade=trade), *GOOD_6205), replace(TODAY, prices_before=(5.0,) * 9))
    assert {w.indicator for w in done.suspicion.indicators} == {"PA1", "PA2", "PA3", "PA5"}
    assert done.disposition.word == "accept"
    assert done.suspicion.ratio_db < suspicion_settings().strong_from_db


@pytest.mark.parametrize(
    ("trade", "kind"),
    [
        (Trade(seller_authorised=True, seller_known_since=2026), "authorised"),
        (Trade(seller_known_since=2026), "new"),
        (Trade(seller_known_since=2019), ""),
        (None, ""),
    ],
)
def test_the_seller_moves_what_is_expected_not_what_was_seen(trade, kind):
    part = item(replace(PART, trade=trade), *GOOD_6205)
    assert supplier_class(part, TODAY) == kind
    assert screen(part, TODAY).suspicion.ratio_db == 0


def test_order_list_and_history(tmp_path):
    path = tmp_path / "order.csv"
    path.write_text(ORDER, encoding="utf-8")
    order = read_order(path)
    cheap, odd = order.lines
    assert (cheap.currency, cheap.seller_known_since, cheap.chain_of_sale, cheap.papers) == ("EUR", 2026, False, True)
    assert cheap.signs == ("PK6", "CO9")
    assert odd.signs == ()
    assert any("ZZ9" in problem for problem in order.problems)
    part, today = item(requirement_of(cheap)), date.fromisoformat(TODAY.today)
    with Record.open(tmp_path / "r.db") as record:
        earlier, now = record.start_run("receive"), record.start_run("receive")
        for n, (currency, price) in enumerate([("Eur", 5.0), ("EUR", 6.0), ("USD", 9.0)]):
            kept = ItemRecord(str(n), "f", {}, "accept", "none", price=PriceRef(part_key(part), currency, price))
            record.add_item(earlier.id, kept)
        assert sorted(surroundings_of(part, [part], record, now, today).prices_before) == [5.0, 6.0]
        assert surroundings_of(part, [part], record, earlier, today).prices_before == ()
