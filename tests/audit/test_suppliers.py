from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
from scipy import integrate, special, stats
from typer.testing import CliRunner

from screener.audit.supplier_compare import Pair, groups_of, pair_chances, pairs_of
from screener.audit.supplier_rates import (
    Count,
    Prior,
    beta_quantile,
    log_gamma,
    own_span,
    rate_of,
    shared_prior,
    spread_of,
)
from screener.audit.supplier_trend import Delivered, trend_p
from screener.audit.supplier_words import groups_says, rate_says, shared_says, suppliers_as_json
from screener.audit.suppliers import SupplierItem, quarter_of, supplier_history
from screener.cli.main import app
from screener.records.model import ItemRecord
from screener.records.record import Record
from screener.records.supplier_items import supplier_items
from screener.reports.plan_report import PageFacts
from screener.reports.supplier_report import suppliers_html


@pytest.mark.parametrize(("count", "items"), [(1, 3), (3, 3), (0, 3), (0, 1), (5, 50), (0, 200), (1, 1000), (700, 900)])
def test_own_interval_against_scipy(count, items) -> None:
    # Jeffreys interval with its ends at 0 and n as Brown, Cai and DasGupta (2001) modify it.
    low, high = stats.beta.ppf([0.025, 0.975], count + 0.5, items - count + 0.5)
    found = own_span(count, items)
    assert found.low == pytest.approx(0.0 if count == 0 else low, rel=1e-6)
    assert found.high == pytest.approx(1.0 if count == items else high, rel=1e-6)


def test_quantiles_against_scipy() -> None:
    for a in (0.2, 0.7, 1.0, 5.5, 80.0, 4000.0):
        for b in (0.2, 1.0, 12.0, 900.0):
            for share in (0.025, 0.5, 0.975):
                assert beta_quantile(share, a, b) == pytest.approx(float(stats.beta.ppf(share, a, b)), rel=1e-5)


def test_log_gamma_against_scipy() -> None:
    x = np.geomspace(1e-4, 1e6, 200)
    assert log_gamma(x) == pytest.approx(special.gammaln(x), rel=1e-10, abs=1e-10)


@pytest.mark.parametrize("spread", [1.0, 2.5])
def test_shared_interval_against_scipy(spread) -> None:
    prior = Prior(0.06, 20.0)
    rate = rate_of(Count(4, 30), prior, spread)
    posterior = stats.beta(1.2 + 4 / spread, 18.8 + 26 / spread)
    assert (rate.shared.low, rate.shared.high) == pytest.approx(tuple(posterior.ppf([0.025, 0.975])), rel=1e-6)
    assert rate.shared_mean == pytest.approx(posterior.mean())


def test_the_shared_prior_against_scipys_beta_binomial() -> None:
    # The same integral on scipy's betabinom over a row of points of its own: flat in the mean and in log worth.
    counts = [(2, 40), (0, 15), (7, 60), (1, 80), (12, 90)]
    means, worths = np.linspace(0.0005, 0.9995, 1000)[:, None], np.geomspace(2, 500, 120)[None, :]
    weight = sum(stats.betabinom.logpmf(k, n, means * worths, (1 - means) * worths) for k, n in counts)
    weight = np.exp(weight - weight.max())
    weight /= weight.sum()
    odds = float((weight * np.log(means / (1 - means))).sum())
    found = shared_prior(counts)
    assert np.log(found.mean / (1 - found.mean)) == pytest.approx(odds, abs=0.03)
    assert found.worth_items == pytest.approx(float(np.exp((weight * np.log(worths)).sum())), rel=0.03)


def test_pair_probabilities_by_integration() -> None:
    counts, prior = [(0.0, 3.0), (4.0, 49.0), (29.0, 105.0), (15.0, 177.0)], Prior(0.1, 12.0)
    chances = pair_chances(counts, prior)
    laws = [stats.beta(prior.alpha + k, prior.beta + n - k) for k, n in counts]
    for i, one in enumerate(laws):
        for j, other in enumerate(laws):
            theirs = integrate.quad(lambda x, a=one, b=other: a.pdf(x) * b.cdf(x), 0, 1, limit=400)[0]
            assert chances[i, j] == pytest.approx(theirs, abs=2e-5)


def test_many_items_do_not_break_the_row_of_points() -> None:
    chances = pair_chances([(3e6, 1e8), (0.0, 1.0), (1.0, 10.0)], Prior(0.03, 100.0))
    assert np.isfinite(chances).all()
    assert chances[0, 1] + chances[1, 0] == pytest.approx(1.0, abs=1e-6)


def test_spread_is_pearsons_chi_square_over_its_freedom() -> None:
    counts = [Count(k, n) for k, n in ((0, 8), (6, 10), (1, 12), (0, 9), (5, 11), (0, 7), (2, 6))]
    table = [[each.count, each.items - each.count] for each in counts]
    theirs = stats.chi2_contingency(table, correction=False)
    assert spread_of([counts]) == pytest.approx(theirs.statistic / theirs.dof)
    assert spread_of([counts[:4]]) is None, "too few deliveries to tell"
    assert spread_of([[Count(1, 10)] * 9]) == 1.0, "never below one"


def test_equal_suppliers_are_seldom_told_apart() -> None:
    # The bar: false "suppliers differ" in under 5 % of simulations, over all pairs of one look. Seeded.
    chance, times = np.random.default_rng(11), 160
    false = 0
    for _ in range(times):
        items = chance.integers(3, 200, size=6)
        counts = [(float(k), float(n)) for k, n in zip(chance.binomial(items, 0.06), items, strict=True)]
        (pairs,) = pairs_of("ABCDEF", [pair_chances(counts, shared_prior(counts))])
        false += any(pair.differ for pair in pairs)
    assert false < 0.05 * times


def _items(name: str, rates: list[float], size: int, chance: np.random.Generator, alike: float = 0.0):
    """Deliveries of a supplier, one a month; ``alike``: share of deliveries in which all parts go one way."""
    for delivery, rate in enumerate(rates):
        whole = chance.random() < alike
        bad = np.full(size, chance.random() < rate) if whole else chance.random(size) < rate
        date = f"{2024 + delivery // 12}-{delivery % 12 + 1:02d}-10"
        key = sum(map(ord, name)) * 1000 + delivery
        for each in bad:
            yield SupplierItem(name, key, date, "hold" if each else "accept", "none", "deep groove ball")


def test_equal_suppliers_whose_boxes_are_alike_are_seldom_told_apart() -> None:
    chance, times = np.random.default_rng(5), 50
    false = 0
    for _ in range(times):
        items = [item for name in ("AB", "CD", "EF", "GH") for item in _items(name, [0.15] * 8, 8, chance, alike=0.7)]
        found = supplier_history(items)
        false += any(pair.differ for pair in found.pairs["held"])
        assert (found.spreads["held"] or 1.0) > 1.5
    assert false <= 0.05 * times


def test_a_real_difference_is_told() -> None:
    chance = np.random.default_rng(3)
    rates = {"AB": 0.03, "CD": 0.03, "EF": 0.35}
    found = supplier_history([item for name, rate in rates.items() for item in _items(name, [rate] * 10, 12, chance)])
    assert found.groups["held"] == (("AB", "CD"), ("EF",))
    assert {(pair.first, pair.second) for pair in found.pairs["held"] if pair.differ} == {("AB", "EF"), ("CD", "EF")}
    assert found.groups["sent_back"] == (("AB", "CD", "EF"),)
    assert any("More was held of EF than of AB" in text for text in groups_says("held", found))


def test_a_trend_by_chance_is_seldom_called() -> None:
    chance, times = np.random.default_rng(8), 200
    called = 0
    for _ in range(times):
        counts = chance.binomial(10, 0.2, size=16)
        called += (trend_p([Delivered(n // 2, 10, int(k)) for n, k in enumerate(counts)]).p or 1.0) < 0.05
    # Binomial with 5 %: above 5 % + 3 standard errors only once in a thousand times.
    assert called <= times * 0.05 + 3 * (times * 0.05 * 0.95) ** 0.5


def test_the_trend_of_single_parts_in_two_quarters_against_the_exact_distribution() -> None:
    # Deliveries of one part each, two quarters: the count in the second one is hypergeometric.
    first, second = [1] + [0] * 19, [1] * 7 + [0] * 13
    deliveries = [Delivered(quarter, 1, count) for quarter, counts in enumerate((first, second)) for count in counts]
    law = stats.hypergeom(40, 8, 20)
    support = np.arange(9)
    exact = law.pmf(support)[np.abs(support - 4) >= 3].sum()
    found = trend_p(deliveries)
    assert found.direction == "rising"
    assert found.p == pytest.approx(exact, abs=4 * (exact * (1 - exact) / 9999) ** 0.5 + 1e-4)


def test_a_real_change_is_found_and_too_little_is_said() -> None:
    chance = np.random.default_rng(2)
    rising = list(_items("AB", [0.02] * 8 + [0.4] * 8, 12, chance))
    calm = list(_items("CD", [0.1] * 16, 12, chance))
    found = supplier_history([*rising, *calm, *_items("EF", [0.5] * 2, 12, chance)])
    by_name = {each.name: each for each in found.histories}
    assert by_name["AB"].trends["held"].changed
    assert by_name["AB"].trends["held"].direction == "rising"
    assert not by_name["CD"].trends["held"].changed
    assert by_name["EF"].trends["held"].p is None


def test_groups_overlap_where_the_middle_one_cannot_be_told_from_either() -> None:
    pairs = [Pair("low", "mid", 0.2, 0.4), Pair("low", "top", 0.0, 0.001), Pair("mid", "top", 0.2, 0.4)]
    assert groups_of(["top", "low", "mid"], [0.5, 0.1, 0.3], pairs) == (("low", "mid"), ("mid", "top"))


def test_small_numbers_are_said_to_be_small() -> None:
    (only,) = supplier_history([SupplierItem("AB", 1, "2026-01-05", "accept", "none")] * 3).histories
    # scipy.stats.beta(0.5, 3.5).ppf(0.975) = 0.5361…
    says = "0 of 3 held; 3 parts are too few to say how often: anything from 0 to 54 in 100 would fit"
    assert rate_says("held", only.rates["held"]) == says


def test_the_true_share_of_many_parts_is_told_with_its_interval() -> None:
    items = [SupplierItem("AB", 1, "2026-01-05", "hold" if n < 4 else "accept", "none") for n in range(49)]
    (only,) = supplier_history(items).histories
    # scipy.stats.beta(4.5, 45.5).ppf([0.025, 0.975]) = 0.0281…, 0.1813…
    low, high = stats.beta(4.5, 45.5).ppf([0.025, 0.975]) * 100
    says = f"4 of 49 held, 8.2 in 100; the true share is probably between {low:.1f} and {high:.0f} in 100"
    assert rate_says("held", only.rates["held"]) == says


@pytest.mark.parametrize("held", [0, 4, 8])
def test_few_parts_say_nothing_whatever_their_count(held: int) -> None:
    items = [SupplierItem("AB", 1, "2026-01-05", "hold" if n < held else "accept", "none") for n in range(8)]
    (only,) = supplier_history(items).histories
    assert rate_says("held", only.rates["held"]).startswith(
        f"{held} of 8 held; 8 parts are too few to say how often: anything from "
    )


def test_what_few_suppliers_have_in_common_is_told_of_none_of_them() -> None:
    """Between-supplier spread from three groups is hardly known (Gelman and Hill 2007, 12.9, advise five or more)."""
    items = [
        SupplierItem(name, 1, "2026-01-05", "hold" if n < 4 else "accept", "none")
        for name in ("AB", "CD", "EF", "GH", "IJ")
        for n in range(8)
    ]
    found = supplier_history(items[:24])
    rate = found.histories[0].rates["held"]
    assert rate.shared.high - rate.shared.low < rate.own.high - rate.own.low, "else this shows nothing"
    assert shared_says(rate, found) == "too few other suppliers (2) to say what to expect of the next parts"
    page = suppliers_html(found, PageFacts("Suppliers", "today", "0"))
    assert "all suppliers" not in page, "no line through the plot for what is not known"
    five = supplier_history(items)
    rate = five.histories[0].rates["held"]
    low, high = f"{rate.shared.low * 100:.0f}", f"{rate.shared.high * 100:.0f}"
    assert shared_says(rate, five).startswith("if it is like the 4 other suppliers, expect ")
    assert f"between {low} and {high} in 100" in shared_says(rate, five)
    assert "all suppliers" in suppliers_html(five, PageFacts("Suppliers", "today", "0"))
    alone = supplier_history(items[:8])
    assert shared_says(alone.histories[0].rates["held"], alone) == "no other supplier to learn from"


@pytest.mark.parametrize(
    ("ordered", "read", "counted"),
    [
        ("KEDRUNA", "KEDDRUNA", "KEDRUNA"),
        (None, "KEDDRUNA", "KEDRUNA"),
        (None, "WUMBLEX", "maker not known by the shop (read: WUMBLEX)"),
        (None, None, ""),
    ],
)
def test_a_misread_word_makes_no_maker(tmp_path: Path, ordered, read, counted) -> None:
    result = {"order_line": {"maker": ordered}, "observations": [{"attribute": "maker", "value": read}]}
    with Record.open(tmp_path / "r.sqlite") as record:
        run = record.start_run("receive")
        record.add_item(run.id, ItemRecord("1", "1", result, "hold", "none", supplier="AB"))
        assert [each.maker for each in supplier_items(record)] == [counted]


def test_what_counts_for_what() -> None:
    items = [
        SupplierItem("Mill  Lane", 1, "2026-01-05", "hold", "strong", "deep groove ball", "BRENVOK", "nonconforming"),
        SupplierItem("mill lane", 1, "2026-03-31", "reject", "weak", "deep groove ball", "TALQUIST"),
        SupplierItem("Mill Lane", 2, "2026-04-01", "accept", "none", "rotary shaft seal", "", "conforming", True),
        SupplierItem("Mill Lane", 2, "2026-04-01", "accept", "moderate"),
        SupplierItem("  ", 3, "2026-04-01", "hold", "none"),
    ]
    found = supplier_history(items)
    (mill,) = found.histories
    assert found.unnamed_items == 1
    assert (mill.name, mill.items, mill.deliveries) == ("Mill Lane", 4, 2)
    assert {each: mill.rates[each].count for each in mill.rates} == {"held": 1, "sent_back": 1, "suspect": 2}
    assert [(each.name, each.items) for each in mill.quarters] == [("2026-Q1", 2), ("2026-Q2", 2)]
    assert [(each.name, each.items) for each in mill.families] == [("deep groove ball", 2), ("rotary shaft seal", 1)]
    assert [each.name for each in mill.makers] == ["BRENVOK", "TALQUIST"]
    assert (mill.outcomes.nonconforming, mill.outcomes.conforming, mill.outcomes.released) == (1, 1, 1)


@pytest.mark.parametrize(
    ("date", "quarter"), [("2026-01-01", "2026-Q1"), ("2026-03-31", "2026-Q1"), ("2026-12-01", "2026-Q4")]
)
def test_quarters(date, quarter) -> None:
    assert quarter_of(date) == quarter


def test_no_order_of_merit_anywhere() -> None:
    chance = np.random.default_rng(1)
    rates = {"Zed": 0.01, "Alpha": 0.6, "Mid": 0.2}
    found = supplier_history([item for name, rate in rates.items() for item in _items(name, [rate] * 8, 10, chance)])
    assert [each["supplier"] for each in suppliers_as_json(found)["suppliers"]] == ["Alpha", "Mid", "Zed"]
    page = suppliers_html(found, PageFacts("Suppliers <&>", "25 November 2026", "0"))
    assert re.findall(r"<h2>(Alpha|Mid|Zed)</h2>", page) == ["Alpha", "Mid", "Zed"]
    assert not re.search(r"\b(rank|best|worst|score|league|fake|genuine|counterfeit)\b", page, re.IGNORECASE)
    assert "<script" not in page
    assert "Suppliers &lt;&amp;&gt;" in page
    assert not re.search(r"(?:src|href)\s*=", page)


def test_nobody_at_all_is_no_error() -> None:
    found = supplier_history([])
    assert found.histories == ()
    assert "Suppliers" in suppliers_html(found, PageFacts("Suppliers", "today", "0"))
    json.dumps(suppliers_as_json(found))


def _record(path) -> None:
    with Record.open(path) as record:
        run = record.start_run("receive", order_name="o.csv")
        for number, word in enumerate(("accept", "hold", "hold", "reject")):
            result = {"order_line": {"maker": "BRENVOK"}, "suspicion": {}}
            item = ItemRecord(str(number), f"f{number}", result, word, "strong", "6205-2RS", "Mill Lane", str(number))
            last = record.add_item(run.id, item)
            if number == 1:
                record.add_event("release", run_id=run.id, item_id=last, who="Ana", why="right after all")
            if number == 2:
                record.add_event("outcome", item_id=last, who="Ana", data={"confirmed": "nonconforming"})
        check = record.start_run("verify")
        record.add_item(check.id, ItemRecord("9", "f9", {}, "reject", "none", "6205-2RS", "Mill Lane", "9"))


def test_the_command_reads_the_record(tmp_path) -> None:
    place, out = tmp_path / "r.sqlite", tmp_path / "s.html"
    _record(place)
    done = CliRunner().invoke(app, ["suppliers", "--record", str(place), "--json", "--html", str(out)])
    assert done.exit_code == 0, done.output
    told = json.loads(next(line for line in done.output.splitlines() if line.startswith("{")))
    (mill,) = told["suppliers"]
    assert told["schema"] == "screener.suppliers/1"
    assert mill["items"] == 4, "a part verified before use is not received again"
    assert mill["rates"]["held"]["count"] == 1, "the released one no longer waits"
    assert mill["rates"]["suspect"]["count"] == 3
    assert mill["outcomes"] == {"nonconforming": 1, "conforming": 0, "released": 1}
    assert mill["families"][0]["name"] == "deep groove ball"
    assert mill["makers"][0]["name"] == "BRENVOK"
    assert "Mill Lane" in out.read_text(encoding="utf-8")
    plain = CliRunner().invoke(app, ["suppliers", "--record", str(place)])
    assert "1 of 4 held" in plain.output
    late = CliRunner().invoke(app, ["suppliers", "--record", str(place), "--since", "2199-01-01"])
    assert "Nothing was received" in late.output
