"""Asking: the form, and the question that stands in the address bar."""

from __future__ import annotations

from fractions import Fraction

import pytest
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st
from starlette.datastructures import QueryParams

from api.app import create_app
from api.pages.asked import address, parameters_of, question_of
from graph.catalogue.model import Catalogue, Part
from graph.catalogue.terms import PartKind
from graph.cli.question import DEMO_QUESTION
from graph.errors import InvalidQuestion
from graph.reading.question import Question
from tests.pages.html import Page

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name

ids = st.text("abcxyz-059", min_size=1, max_size=12)
many = st.lists(ids, max_size=3, unique=True).map(tuple)
QUESTIONS = st.builds(
    Question,
    gearbox=ids, engine=ids, vehicle=ids | st.just(""), avoid=many, own=many, features=many, demands=many,
    context=st.dictionaries(ids, ids | st.lists(ids, min_size=2, max_size=3, unique=True).map(tuple), max_size=3),
    assembly=ids | st.just(""),
    evidence_floor=ids | st.just(""), refuse_disputed=st.booleans(), without_machining=st.booleans(),
    from_shelf=st.booleans(), objective=st.sampled_from(["expected", "cash"]),
    rate_hundredths=st.none() | st.integers(0, 10**6),
    deadline=st.none() | st.integers(0, 1000).map(lambda tenths: Fraction(tenths, 10)),
    alternatives=st.integers(0, 20),
)  # fmt: skip


@given(QUESTIONS)
def test_whoever_has_the_address_has_the_whole_question(question: Question) -> None:
    assert question_of(QueryParams(parameters_of(question))) == question


def test_an_address_says_only_what_is_not_usual() -> None:
    assert address("/compare", Question(gearbox="marl", engine="ouzel")) == "/compare?gearbox=marl&engine=ouzel"


def test_a_decimal_comma_and_several_tools_in_one_field_are_understood() -> None:
    asked = question_of(QueryParams("gearbox=a&engine=b&deadline=2,5&known.tools=press,%20lathe&avoid="))

    assert (asked.deadline, asked.context, asked.avoid) == (Fraction(5, 2), {"tools": ("press", "lathe")}, ())


def test_what_cannot_be_read_is_named_field_by_field() -> None:
    with pytest.raises(InvalidQuestion) as raised:
        question_of(QueryParams("gearbox=a&engine=b&deadline=soon&rate=-3&objective=prettiest"))

    assert {problem.path for problem in raised.value.problems} == {"deadline", "rate", "objective"}


def test_the_form_offers_every_kind_of_finished_job_and_keeps_the_chosen_one(pages: TestClient) -> None:
    form = Page(pages.get("/ask?assembly=tractor-split").text)

    jobs = next(one for one in form.all("select") if one.get("id") == "assembly")
    options = {option["value"]: "selected" in option for option in form.all("option")}
    assert jobs["name"] == "assembly"
    assert {"clutch-and-propshaft", "marine-gear-on-damper", "motor-on-a-coupler"} <= set(options)
    assert options["tractor-split"]


def test_an_assembly_that_nobody_knows_is_told_with_those_that_are_near(pages: TestClient) -> None:
    answer = pages.get("/compare?gearbox=hollin-5&engine=ouzel-20&assembly=transaxel")

    assert answer.status_code == 404
    assert "transaxle" in answer.text


def test_the_form_offers_every_unit_that_can_be_asked_about_by_family(pages: TestClient) -> None:
    form = Page(pages.get("/ask").text)

    offered = {option["value"] for option in form.all("option")}
    assert {"hollin-5", "tansy-5r", "ouzel-20", "sorrel-pick-up"} <= offered
    assert not {"hollin", "tansy"} & offered  # a family cannot stand behind an engine


def test_the_form_comes_back_filled_with_the_question_of_its_address(pages: TestClient) -> None:
    filled = Page(pages.get(address("/ask", DEMO_QUESTION, [("avoid", "bush-extended"), ("deadline", "9")])).text)

    chosen = {option["value"] for option in filled.all("option") if "selected" in option}
    assert {"hollin-5", "ouzel-20", "sorrel-pick-up"} <= chosen
    fields = {(field.get("name"), field.get("value")) for field in filled.all("input") if field.get("value")}
    assert {("known.torque_nm", "180"), ("known.duty", "road"), ("avoid", "bush-extended"), ("deadline", "9")} <= fields


def test_sending_the_form_leads_to_an_address_without_empty_fields(pages: TestClient) -> None:
    sent = "/answer?gearbox=hollin-5&engine=ouzel-20&vehicle=&deadline=&avoid=&own=&objective=expected&evidence_floor="

    answer = pages.get(sent)

    assert (answer.status_code, answer.headers["location"]) == (303, "/compare?gearbox=hollin-5&engine=ouzel-20")


def test_words_typed_for_a_unit_find_the_one_that_is_meant(pages: TestClient) -> None:
    answer = pages.get("/answer?gearbox=hollin 5&engine=two litres")

    assert answer.headers["location"] == "/compare?gearbox=hollin-5&engine=ouzel-20"


def test_a_missing_unit_is_asked_for_and_nothing_typed_is_lost(pages: TestClient) -> None:
    answer = pages.get("/answer?gearbox=&engine=ouzel-20&deadline=7&known.torque_nm=180")

    assert answer.status_code == 422
    form = Page(answer.text)
    assert "Choose one, please." in form.text
    assert {field["value"] for field in form.all("input") if field.get("name") in ("deadline", "known.torque_nm")} == {
        "7",
        "180",
    }


def test_an_unknown_unit_offers_those_that_look_alike(pages: TestClient) -> None:
    form = Page(pages.get("/answer?gearbox=tansi-5&engine=ouzel-20").text)

    assert "Nothing is called “tansi-5”" in form.text
    assert "tansy-5" in {option["value"] for option in form.all("option")}


def test_every_field_of_the_form_has_a_label(pages: TestClient) -> None:
    form = Page(pages.get("/ask").text)

    labelled = {label["for"] for label in form.all("label") if "for" in label}
    named = [one for tag in ("input", "select", "textarea") for one in form.all(tag)]
    bare = [one for one in named if one.get("type") not in ("checkbox", "radio") and one.get("id") not in labelled]
    assert bare == []


def test_an_empty_workshop_says_what_to_do_first() -> None:
    with TestClient(create_app(Catalogue()), base_url="http://127.0.0.1") as empty:
        for path in ("/", "/ask"):
            told = Page(empty.get(path).text)
            assert "What to do first" in told.text and "no gearbox and no engine" in told.text


def test_what_is_typed_finds_units_and_parts_misspelt_ones_too(pages: TestClient) -> None:
    def found(what: str, text: str) -> list[str]:
        return [one["id"] for one in pages.get("/ask/choices", params={"what": what, "text": text}).json()]

    assert {"hollin-5", "hollin-5c", "hollin-5l"} <= set(found("gearbox", "hollin"))
    assert "hollin-5" in found("gearbox", "holin")
    assert "plate-15" in found("part", "adapter plate 15")
    assert "hollin-5" in found("part", "hollin")  # a unit may be in hand as well
    assert pages.get("/ask/choices?what=anything").status_code == 422


def test_with_more_units_than_a_list_can_hold_the_form_is_typed_into_and_stays_small() -> None:
    kinds = {"gearbox": PartKind("gearbox", "gearbox"), "engine": PartKind("engine", "engine")}
    boxes = {f"box-{n}": Part(id=f"box-{n}", label=f"Box {n}", kind="gearbox") for n in range(2000)}
    engine = Part(id="motor", label="Motor", kind="engine")
    catalogue = Catalogue(currency="EUR", part_kinds=kinds, parts=boxes | {"motor": engine})
    with TestClient(create_app(catalogue), base_url="http://127.0.0.1", follow_redirects=False) as large:
        form = large.get("/ask")
        sent = large.get("/answer?gearbox=box 1999&engine=motor")

    typed = {field["id"]: field for field in Page(form.text).all("input") if "id" in field}
    assert "gearbox" in typed and "engine" not in typed and len(form.content) < 100_000
    assert sent.headers["location"] == "/compare?gearbox=box-1999&engine=motor"


def test_a_demand_goes_from_the_form_to_the_route_with_its_sum(pages: TestClient) -> None:
    sent = pages.get("/answer?gearbox=hollin-5&engine=ouzel-20&demands=first+gear+at+least+3,3&demands=")
    route = pages.get(sent.headers["location"].replace("/compare", "/route"))

    assert sent.headers["location"].endswith("&demands=first+gear+at+least+3%2C3")
    assert "i first = driven / driving, in series = 35/20 x 32/16 = 3.5" in route.text
    assert "must come to: first gear at least 3,3" in route.text
    fields = {
        field.get("value")
        for field in Page(pages.get(sent.headers["location"].replace("/compare", "/ask")).text).all("input")
    }
    assert "first gear at least 3,3" in fields


def test_a_demand_that_cannot_be_read_comes_back_with_what_can_be_asked(pages: TestClient) -> None:
    answer = pages.get("/answer?gearbox=hollin-5&engine=ouzel-20&demands=quick")

    assert answer.status_code == 422
    assert "cannot read &#39;quick&#39; as a demand; write it such as" in answer.text
    assert "first gear at least 3.3" in answer.text


@pytest.mark.parametrize("field", ["own", "avoid"])
def test_a_part_named_in_words_is_understood(pages: TestClient, field: str) -> None:
    """It gave a 404: only ids were."""
    asked = {"gearbox": "tansy-5", "engine": "ouzel-20", field: "lever extension, 20 FORWARD"}

    answer = pages.get("/answer", params=asked)

    assert answer.status_code == 303 and f"{field}=lever-extension" in answer.headers["location"]


def test_a_kind_of_part_to_do_without_is_understood_by_its_name(pages: TestClient) -> None:
    answer = pages.get("/answer", params={"gearbox": "tansy-5", "engine": "ouzel-20", "avoid": "Adapter plate"})

    assert answer.headers["location"].endswith("avoid=adapter-plate")


def test_a_part_that_is_not_known_is_said_on_the_form_with_what_it_may_mean(pages: TestClient) -> None:
    asked = {"gearbox": "tansy-5", "engine": "ouzel-20", "own": "lever extenshun"}

    answer = pages.get("/answer", params=asked)

    assert answer.status_code == 422
    assert "No one part is called “lever extenshun”; did you mean Lever extension, 20 forward" in Page(answer.text).text
