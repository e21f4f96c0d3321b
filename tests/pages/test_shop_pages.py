"""Prices, rates, shelf, work sent out and odds by pages: kept, listed, refused beside their field, taken back."""

from __future__ import annotations

import re
from datetime import date

import pytest
from fastapi.testclient import TestClient
from httpx import Response

from graph.costing.shop import list_prices, list_rates, list_stock, list_sublets
from tests.pages.note_app import hidden, send

PRICE = {
    "part": "Tansy input shaft, 25 wide", "cash": "135,50", "condition": "new", "dated": "2024-05-17",
    "supplier": "counter", "lead_days": "4", "author": "bench 1",
}  # fmt: skip


def test_a_typed_price_counts_at_once_has_its_history_and_is_taken_back(pages: TestClient) -> None:
    notes = pages.app.state.workshop.shop.notes  # type: ignore[attr-defined]

    kept = send(pages, "/shop/prices/page", "/shop/prices/page", **PRICE | {"part": "shaft-tansy-25"})

    assert kept.status_code == 303, kept.text
    [price] = list_prices(notes)
    assert (price.part, price.cash_hundredths, price.condition, price.dated) == (
        "shaft-tansy-25", 13550, "new", date(2024, 5, 17),
    )  # fmt: skip
    page = pages.get(kept.headers["location"]).text
    assert "135.50 EUR" in page and "2024-05-17 (old: ask again)" in page
    history = page[page.index("<h2>History") :]
    batch = re.search(r'name="batch" value="([^"]+)"', history)
    assert batch
    pages.post("/shop/prices/back", data=hidden(history) | {"batch": batch[1], "author": "counter"})
    assert list_prices(notes) == []
    assert "taken back" in pages.get("/shop/prices/page").text


def test_a_price_list_is_read_in_whole_or_not_at_all(pages: TestClient) -> None:
    notes = pages.app.state.workshop.shop.notes  # type: ignore[attr-defined]
    head = "part,price,currency,condition,date\n"
    fields = hidden(pages.get("/shop/prices/page").text)

    def sent(rows: str) -> int:
        files = {"file": ("list.csv", (head + rows).encode(), "text/csv")}
        answer: Response = pages.post("/shop/prices/page", data=fields, files=files)
        return answer.status_code

    assert sent("disc-ouzel,80.00,EUR,new,2024-01-02\ndisc-pipit,eighty,EUR,new,2024-01-02\n") == 422
    assert list_prices(notes) == []
    assert sent("disc-ouzel,80.00,EUR,new,2024-01-02\ndisc-pipit,81.00,EUR,new,2024-01-02\n") == 303
    assert len(list_prices(notes)) == 2


def test_rates_shelf_and_work_sent_out_are_kept_by_their_pages(pages: TestClient) -> None:
    notes = pages.app.state.workshop.shop.notes  # type: ignore[attr-defined]
    forms = {
        "rates": {"per_hour": "61,50"},
        "shelf": {"part": "disc-ouzel", "quantity": "2", "book": "40", "condition": "used-tested", "place": "rack 3"},
        "sublets": {"id": "machine-shop-visit", "label": "Grinding", "cash": "45", "lead_days": "2,5"},
    }

    for what, fields in forms.items():
        answer = send(pages, f"/shop/{what}/page", f"/shop/{what}/page", **fields, author="owner")
        assert answer.status_code == 303, answer.text

    assert [(rate.kind, rate.hundredths) for rate in list_rates(notes)] == [("bench", 6150)]
    assert [(item.part, item.quantity, item.place) for item in list_stock(notes)] == [("disc-ouzel", 2, "rack 3")]
    assert [(one.id, one.cash_hundredths, float(one.lead_days)) for one in list_sublets(notes)] == [
        ("machine-shop-visit", 4500, 2.5)
    ]


@pytest.mark.parametrize(
    ("what", "fields", "field"),
    [
        ("prices", PRICE | {"cash": "1,500"}, "cash"), ("prices", PRICE | {"dated": "2999-01-01"}, "dated"),
        ("prices", PRICE | {"part": "disc"}, "part"), ("prices", PRICE | {"author": ""}, "author"),
        ("rates", {"per_hour": "", "author": "x"}, "per_hour"),
        ("shelf", {"part": "disc-ouzel", "quantity": "1,5", "book": "4", "condition": "new"}, "quantity"),
        ("sublets", {"cash": "4", "author": "x"}, "id"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_at_its_field_and_what_was_typed_stays(
    pages: TestClient, what: str, fields: dict[str, str], field: str
) -> None:
    answer = send(pages, f"/shop/{what}/page", f"/shop/{what}/page", **fields)

    assert answer.status_code == 422
    assert f'id="{field}-fault"' in answer.text
    assert answer.text.count(" autofocus") == 1
    for name, value in fields.items():
        assert value in answer.text, name


def test_odds_are_shown_with_their_sources(pages: TestClient) -> None:
    page = pages.get("/shop/odds/page").text

    assert "engine face, other families" in page and "none looked at yet; 85% before, estimate" in page
    assert "Counted, and from where" in page and " %</td>" in page


def test_a_form_of_another_site_keeps_no_price(pages: TestClient) -> None:
    assert pages.post("/shop/prices/page", data=PRICE).status_code == 403
    assert pages.post("/shop/prices/back", data={"batch": "x"}).status_code == 403


def test_a_form_that_is_sent_twice_is_kept_once_and_other_words_are_asked_about(pages: TestClient) -> None:
    notes = pages.app.state.workshop.shop.notes  # type: ignore[attr-defined]
    before = len(list_prices(notes))
    fields = hidden(pages.get("/shop/prices/page").text) | PRICE | {"part": "disc-dunlin"}

    answers = [pages.post("/shop/prices/page", data=fields, follow_redirects=False) for _ in range(2)]
    other = pages.post("/shop/prices/page", data=fields | {"cash": "99"}, follow_redirects=False)

    assert [answer.status_code for answer in answers] == [303, 303]
    assert len(list_prices(notes)) == before + 1
    assert other.status_code == 422 and "something else was kept from this form or key already" in other.text
    again = hidden(other.text) | PRICE | {"part": "disc-dunlin", "cash": "99"}
    assert pages.post("/shop/prices/page", data=again, follow_redirects=False).status_code == 303
    assert len(list_prices(notes)) == before + 2


def test_of_several_prices_the_one_that_answers_go_by_is_marked_and_comes_first(pages: TestClient) -> None:
    for cash, day in (("90", "2024-01-01"), ("80", ""), ("85", "2024-06-01")):
        fields = PRICE | {"part": "disc-pipit", "cash": cash, "dated": day, "supplier": f"of {cash}"}
        assert send(pages, "/shop/prices/page", "/shop/prices/page", **fields).status_code == 303

    page = pages.get("/shop/prices/page").text
    listed = pages.get("/prices", params={"part": "disc-pipit"}).json()["prices"]

    assert [line["cash"] for line in listed if line["in_force"]] == [80]
    assert listed[-1]["dated"] == date.today().isoformat()
    rows = page[page.index("<tbody>") : page.index("</tbody>")].split("<tr>")[1:]
    assert "80.00 EUR" in rows[0] and ">yes<" in rows[0]
    assert not any(">yes<" in row for row in rows[1:])


@pytest.mark.parametrize(
    ("what", "said"), [("rates", "Which route is cheapest hangs on it"), ("prices", "Type first"), ("tax", "never 0 %"),
                       ("shelf", "reckoned as bought"), ("sublets", "Put in first")],
)  # fmt: skip
def test_an_empty_list_says_what_to_do_first_and_what_hangs_on_it(pages: TestClient, what: str, said: str) -> None:
    page = pages.get(f"/shop/{what}/page").text

    assert said in page and "Nothing yet." not in page


def test_the_tax_is_stated_by_its_page_and_told_by_the_api(pages: TestClient) -> None:
    assert pages.get("/shop").json()["tax"] is None
    assert "Tax: not stated" in pages.get("/shop/rates/page").text

    assert send(pages, "/shop/tax/page", "/shop/tax/page", percent="7,7 %", author="owner").status_code == 303

    assert pages.get("/shop").json()["tax"]["percent"] == 7.7
    assert "Tax: 7.7 %" in pages.get("/shop/rates/page").text
    said = pages.post("/shop/tax", json={"percent": "19", "author": "owner"})
    assert said.status_code == 200 and pages.get("/shop").json()["tax"]["percent"] == 19


def test_a_family_lies_on_no_shelf_and_the_parts_that_may_are_named(pages: TestClient) -> None:
    fields = {"part": "shaft-hollin", "quantity": "1", "book": "40", "condition": "new", "author": "bench 1"}

    page = send(pages, "/shop/shelf/page", "/shop/shelf/page", **fields)
    api = pages.post("/shop/stock", json=fields | {"quantity": 1, "currency": "EUR"})

    for answer in (page, api):
        assert answer.status_code == 422, answer.text
        assert "Hollin input shafts is a family, of which no piece can lie there; name the one that does" in answer.text


def test_more_signs_than_count_are_told_and_none_is_dropped(pages: TestClient) -> None:
    asked = "/new-job?gearbox=hollin-5&engine=ouzel-20&vehicle=sorrel-pick-up"
    signs = {f"sign.{number}": "mileage class=high" for number in range(21)}

    answer = send(pages, asked, asked, title="pick-up", author="bench 1", **signs)

    assert answer.status_code == 422 and "21 signs were chosen; at most 20 count" in answer.text
