"""The buyer's pages in a browser: WCAG rules as axe-core checks them; nothing fetched from anywhere."""

from __future__ import annotations

import pytest

from screener.audit.plans.planning import PlanRequest, plan_lot
from screener.audit.suppliers import SupplierItem, supplier_history
from screener.reports.plan_report import PageFacts, plan_html
from screener.reports.supplier_report import suppliers_html

FACTS = PageFacts("A page", "25 November 2026", "0")


def _suppliers() -> str:
    words = ("accept", "hold", "reject", "accept", "accept")
    items = [
        SupplierItem(
            name, 10 * ord(name[0]) + n // 4, f"2026-{n % 12 + 1:02d}-03", words[n % 5], "none", "ball", "BRENVOK"
        )
        for name in ("Mill Lane", "Northgate", "A supplier with quite a long name")
        for n in range(30)
    ]
    return suppliers_html(supplier_history(items), FACTS)


@pytest.mark.parametrize("width", [900, 380])
@pytest.mark.parametrize("kind", ["plan", "suppliers"])
def test_pages_are_accessible_and_fetch_nothing(browser, tmp_path, kind, width) -> None:
    Axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe
    page = tmp_path / "page.html"
    plan = plan_lot(PlanRequest(1200, boxes=12, per_box=100, limit_percent=5.0, history=("0", "1")))
    page.write_text(plan_html(plan, FACTS) if kind == "plan" else _suppliers(), encoding="utf-8")
    tab = browser.new_page(viewport={"width": width, "height": 900}, bypass_csp=True)
    asked: list[str] = []
    tab.on("request", lambda request: asked.append(request.url))
    tab.goto(page.as_uri())
    assert asked == [page.as_uri()]
    # axe-core: WCAG 2 A and AA and its good practices.
    found = Axe().run(tab)
    assert found.violations_count == 0, found.generate_report()
    assert tab.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), "nothing wider than the screen"
    tab.close()
