"""A gearbox that is not in hand: its price from a price list counts in the answer, on the pages and on the estimate."""

from __future__ import annotations

from decimal import Decimal

from fastapi.testclient import TestClient

from tests.pages.html import Page

LIST = (
    "part,price,currency,condition,date,supplier,lead days,deposit,deposit lost\n"
    "hollin-5,1450,EUR,reconditioned,{today},Brookend,15,200,0.2\n"
)
ASKED = {"gearbox": "hollin-5", "engine": "pipit-16", "objective": "total", "alternatives": 0}
ADDRESS = "gearbox=hollin-5&engine=pipit-16&objective=total&alternatives=0"


def price_the_box(pages: TestClient) -> None:
    from datetime import date

    listed = LIST.format(today=date.today().isoformat())
    sent = pages.post(
        "/prices/import", files={"file": ("l.csv", listed.encode(), "text/csv")}, data={"author": "owner"}
    )
    assert sent.status_code == 200


def test_a_box_behind_its_own_engine_costs_its_price_and_what_of_the_deposit_is_lost(pages: TestClient) -> None:
    """270 for taking it out and in, 108 for lengths and road test; 1450 and a fifth of 200 for the box; 15 days and
    6.3 of 8 hours."""
    before = pages.post("/routes", json=ASKED).json()["routes"][0]
    price_the_box(pages)

    bought = pages.post("/routes", json=ASKED).json()
    in_hand = pages.post("/routes", json={**ASKED, "own": ["hollin-5"]}).json()["routes"][0]

    (route,) = bought["routes"]
    assert before["total"] == in_hand["total"] == 378
    assert route["total"] == 378 + 1450 + 40
    assert route["on_the_day"] == 1450 + 200
    assert Decimal(str(route["days"])) == 15 + Decimal("6.3") / 8
    assert [unit["state"] for unit in bought["asked_units"]] == ["to buy", "price not known"]
    assert bought["verdict"] == "direct"


def test_its_line_price_deposit_and_wait_stand_on_route_page_and_estimate(pages: TestClient) -> None:
    price_the_box(pages)

    route, compare, estimate = (
        Page(pages.get(f"{path}?{ADDRESS}").text).text for path in ("/route", "/compare", "/paper/estimate")
    )

    for text in (route, estimate):
        assert "Buy Hollin 5" in text
        assert "core deposit 200.00 EUR on the day, of which 40.00 EUR are counted as lost on average" in text
    assert all("a box of parts is not a core" in text for text in (route, estimate))
    assert "Cash on the day, with core deposits" in route and "1650.00 EUR" in route
    assert "It is in hand" in compare
    assert "Hollin 5: to be bought, 1490.00 EUR, 15 days, in every sum" in compare
    assert "Pipit 16, 1.6 litres, petrol: taken as in hand; no price of it is noted" in compare
