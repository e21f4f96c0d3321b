"""Answers follow the shop's record: what is imported or entered changes the next one (demo, invented)."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from fastapi.testclient import TestClient

from graph.answer.asking import answer_question
from graph.cli.question import DEMO_QUESTION
from graph.costing.following import FollowedCosts
from graph.costing.notes import EVIDENCE, CostNote, MemoryNotes, Provenance
from graph.costing.shop import rate_note, stock_note, take_back
from graph.counter.shop import Shop
from graph.lookups.index import CatalogueIndex
from tests.costing.test_costing_api import HEAD, QUESTION, client, currency, index, post, upload

__all__ = ["client", "index"]  # fixtures
SAID = Provenance("bench 1", made_on="2026-06-01T10:00:00+00:00")
TODAY = date(2026, 6, 30)


def best(client: Any) -> dict[str, Any]:
    found: dict[str, Any] = client.post("/routes", json=QUESTION).json()
    return found


def part_of(answer: dict[str, Any], part: str) -> dict[str, Any]:
    found: dict[str, Any] = next(line for line in answer["routes"][0]["parts"] if line["part"] == part)
    return found


def bought(answer: dict[str, Any]) -> dict[str, Any]:
    """A part of the best route that is bought in for more than a little."""
    found: dict[str, Any] = next(
        line for line in answer["routes"][0]["parts"] if not line["in_stock"] and line["price"] > 10
    )
    return found


def test_a_price_imported_changes_the_next_answer_by_just_that_and_says_where_it_is_from(client: TestClient) -> None:
    before = best(client)
    line = bought(before)
    cheaper = Decimal(str(line["price"])) - Decimal("7.50")
    today = date.today().isoformat()

    kept = upload(
        client, "/prices/import", HEAD + f"{line['part']},{cheaper},{before['currency']},new,{today}\n"
    ).json()
    after = best(client)

    assert before["routes"][0]["total"] - after["routes"][0]["total"] == 7.5
    assert part_of(after, line["part"])["price_source"] == f"new, price of {today}"
    assert line["price_source"] == "", "the facts state it"

    post(client, f"/batches/{kept['batch']}/retraction", reason="wrong list")
    assert best(client) == before


def test_a_stale_price_is_used_but_stands_under_the_assumptions(client: TestClient) -> None:
    before = best(client)
    line = bought(before)
    long_ago = date.today() - timedelta(days=400)

    upload(client, "/prices/import", HEAD + f"{line['part']},{line['price']},{before['currency']},new,{long_ago}\n")
    after = best(client)

    assert "STALE, 400 days old: ask again" in part_of(after, line["part"])["price_source"]
    assert any(text.startswith(line["label"]) and "STALE" in text for text in after["assumptions"])


def test_a_part_on_the_shelf_is_taken_at_book_value_without_waiting(client: TestClient) -> None:
    before = best(client)
    line = bought(before)

    post(client, "/shop/stock", part=line["part"], quantity=1, book="1", currency=before["currency"], place="rack 2")
    after = part_of(best(client), line["part"])

    assert (after["price"], after["in_stock"], after["lead_days"]) == (1, True, 0)
    assert after["price_source"] == "in stock (1 at rack 2), at book value"


def test_the_conversion_document_is_the_one_that_was_answered(client: TestClient) -> None:
    post(client, "/shop/rates", kind="bench", per_hour="500", currency=currency(client))

    assert client.post("/conversions", json=QUESTION).json()["rate"] == 500
    assert best(client)["rate"] == 500


def test_the_costed_index_is_kept_while_nothing_that_an_answer_reads_has_moved(index: CatalogueIndex) -> None:
    notes = MemoryNotes()
    costs = FollowedCosts(notes)
    notes.append([rate_note("bench", {"per_hour": "70", "currency": index.catalogue.currency}, SAID)])
    first = costs.costed(index, TODAY)[0]

    notes.append([CostNote(id="r-1", kind="job entry", about="J-1", body={"entry": "remark", "words": "-"}, job="J-1")])
    assert costs.costed(index, TODAY)[0] is first, "a remark on a job changes no answer"
    assert costs.costed(index, TODAY, {"mileage class": "high"})[0] is not first
    assert costs.costed(index, TODAY)[0] is first, "a question with signs does not drive it out"
    assert costs.costed(index, date(2026, 7, 1))[0] is not first, "prices age by the day"

    notes.append([rate_note("bench", {"per_hour": "80", "currency": index.catalogue.currency}, SAID)])
    assert costs.costed(index, TODAY)[0] is not first


def test_an_index_that_shares_answers_as_one_built_anew(index: CatalogueIndex) -> None:
    notes = MemoryNotes()
    part = answer_question(index, DEMO_QUESTION).routes[0].parts[0].part
    body = {"quantity": 1, "book": "2", "currency": index.catalogue.currency}
    notes.append([stock_note(part, body, SAID)])

    own, costed = FollowedCosts(notes).costed(index, TODAY)

    assert own._mating is index._mating, "what prices do not touch is shared"
    assert answer_question(own, DEMO_QUESTION) == answer_question(CatalogueIndex(costed.catalogue), DEMO_QUESTION)


def test_what_a_job_taught_about_an_edge_reaches_the_answer_and_leaves_it_again(index: CatalogueIndex) -> None:
    notes = MemoryNotes()
    shop = Shop(index, notes, today=lambda: TODAY)
    before = shop.ask(DEMO_QUESTION)
    step = next(s for s in before.routes[0].steps if s.edges)
    notes.append(
        [CostNote(id="e-1", kind=EVIDENCE, about=step.edges[0], evidence="contradicted", batch="b", job="J-1")]
    )

    assert shop.ask(DEMO_QUESTION) != before

    take_back(notes, "b", SAID)
    assert shop.ask(DEMO_QUESTION) == before


def test_a_jobs_paper_prints_its_plan_and_tells_what_has_changed(client: TestClient) -> None:
    before = best(client)["routes"][0]
    post(client, "/jobs", question=QUESTION, title="pick-up", number="J-1")
    post(client, "/shop/rates", kind="bench", per_hour="500", currency=currency(client))
    body = {"question": QUESTION, "details": {"number": "J-1", "dated": "2026-06-30"}, "job": "J-1"}

    kept = client.post("/papers/estimate.html", json=body)
    gone = client.post("/papers/estimate.html", json={**body, "question": {**QUESTION, "gearbox": "scrapped-5"}})

    assert f"{before['total']:.2f}" in kept.text and "Changed since it was planned" in kept.text
    assert gone.status_code == 200 and "can no longer be asked" in gone.text


def test_closing_a_job_takes_its_part_off_the_shelf_until_it_is_taken_back(client: TestClient) -> None:
    line = bought(best(client))
    post(client, "/shop/stock", part=line["part"], quantity=1, book="1", currency=currency(client))
    post(client, "/jobs", question=QUESTION, title="pick-up", number="J-1")

    closed = post(client, "/jobs/J-1/closing", outcome="done")
    assert [item["quantity"] for item in client.get("/shop").json()["stock"]] == [0]
    assert part_of(best(client), line["part"])["price"] == line["price"], "bought again"

    post(client, f"/batches/{closed['closing']}/retraction", reason="reopened")
    assert [item["quantity"] for item in client.get("/shop").json()["stock"]] == [1]
