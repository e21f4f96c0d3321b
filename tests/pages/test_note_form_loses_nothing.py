"""What the note form is sent stands in the saved note, or in an error beside its field; and lands on the part meant."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from html import unescape

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from graph.errors import InvalidInput
from graph.fits.decimals import decimal_of
from graph.ledger.drafts import moment
from graph.ledger.notebook import Notebook
from graph.notes.form import LABELS
from graph.notes.relations import RELATIONS
from tests.pages.note_app import SHOP, hidden, paged_app, send

KNOWN = {"author": "bench 1", "evidence": "measured-on-these-parts"}
OWN_JOINT = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
shop:bush-in-nose a lay:JointKind ; skos:prefLabel "bush in our nose"@en ;
    skos:definition "A joint that this shop has named."@en ;
    lay:firstPosition kind:at-clutch-disc ; lay:secondPosition kind:at-input-shaft .
shop:spare-7 a lay:Part ; rdfs:label "Elm disc spare" ; lay:kind kind:clutch-disc ; lay:number "AB-7" ."""


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, Notebook]]:
    folder = tmp_path_factory.mktemp("form")
    (folder / "own.ttl").write_text(OWN_JOINT, encoding="utf-8")
    with paged_app(folder / "data", SHOP, folder / "own.ttl") as (made, notebook), TestClient(made) as client:
        yield client, notebook


def written(app: tuple[TestClient, Notebook], **fields: str) -> tuple[str, str]:
    """Text and statements of the note that the form wrote."""
    client, notebook = app
    answer = send(client, "/notebook/new", "/notebook", **KNOWN | fields)
    assert answer.status_code == 303, answer.text
    entry = notebook.ledger.get_note(re.findall(r"[0-9a-f-]{36}", answer.headers["location"])[0])
    return entry.text, entry.statements


def test_a_unit_has_no_part_at_a_place_and_its_page_says_so(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    written(app, a="birch-4", relation="made-for", assembly="clutch-and-propshaft")
    assert ">not known<" in places_on(client, "birch-4")

    text, _ = written(app, a="birch-4", relation="has-none", place="at-speed-sensor", hours="1")

    edge = next(one for one in notebook.catalogue().edges.values() if one.kind == "has-none")
    assert text == "Birch 4 has no part at this place: speed sensor.\nHours it took: 1"
    assert (edge.source, edge.target, edge.position) == ("birch-4", "", "at-speed-sensor")
    assert edge.evidence == "measured-on-these-parts"
    assert "has none" in places_on(client, "birch-4")
    assert "has no part at" in client.get("/notebook?part=birch-4").text


def test_a_unit_was_made_for_a_kind_of_job(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app

    text, _ = written(app, a="birch-4", relation="made-for", assembly="clutch-and-propshaft")

    assert text == "Birch 4 was made for: clutch and propshaft."
    assert set(notebook.catalogue().parts["birch-4"].made_for) == {"by-hand", "clutch-and-propshaft"}
    assert "clutch and propshaft" in places_on(client, "birch-4").partition("Made for:")[2]
    assert "was made for:" in client.get("/notebook?part=birch-4").text


def test_a_part_is_found_in_the_one_place_that_can_hold_it(app: tuple[TestClient, Notebook]) -> None:
    written(app, a="birch-4", relation="contains", b="spare-7")

    _, notebook = app
    held = [(one.source, one.position) for one in notebook.catalogue().edges.values() if one.target == "spare-7"]
    assert held == [("birch-4", "at-clutch-disc")]


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"relation": "has-none"}, "place", "at which place? Choose one"),
        ({"relation": "has-none", "place": "at-pilt"}, "place", "did you mean at-pilot"),
        ({"relation": "has-none", "place": "at-input-shaft"}, "place", "cannot have a part and none at at-input-shaft"),
        ({"relation": "made-for"}, "assembly", "say for which kind of job it was made"),
        ({"relation": "made-for", "assembly": "transaxel"}, "assembly", "did you mean transaxle"),
        ({"relation": "made-for", "assembly": "transaxle", "a": "disc-30"}, "a", "is no gearbox, engine or vehicle"),
    ],
)
def test_what_is_wrong_with_a_place_or_a_job_is_told_at_its_field(
    app: tuple[TestClient, Notebook], fields: dict[str, str], field: str, said: str
) -> None:
    client, notebook = app
    before = len(list(notebook.ledger.iter_current()))

    answer = send(client, "/notebook/new", "/notebook", **KNOWN | {"a": "birch-4"} | fields)

    assert answer.status_code == 422
    fault = re.search(rf'id="{field}-fault"[^>]*>(.*?)</p>', answer.text, re.DOTALL)
    assert fault, answer.text
    assert said in unescape(fault[1])
    assert len(list(notebook.ledger.iter_current())) == before


def test_what_is_stated_already_is_told_with_its_author_and_written_again_only_as_a_confirmation(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    said = {"a": "disc-30", "relation": "fits", "b": "shaft-long", "joint": "bush-in-nose"}
    written(app, **said, text="it went in")
    client.get("/browse")
    before = len(list(notebook.ledger.iter_current()))

    twice = send(client, "/notebook/new", "/notebook", **KNOWN, **said)
    turned = send(client, "/notebook/new", "/notebook", **KNOWN, **said | {"a": "shaft-long", "b": "disc-30"})

    assert twice.status_code == turned.status_code == 422
    fault = re.search(r'id="again-fault"[^>]*>(.*?)</p>', twice.text, re.DOTALL)
    assert fault and "stated already, by bench 1 (measured on these parts" in unescape(fault[1])
    assert "Revise that note" in twice.text and re.search(r'href="/notebook/[0-9a-f-]{36}"', twice.text)
    assert len(list(notebook.ledger.iter_current())) == before
    written(app, **said, again="yes")
    assert len(list(notebook.ledger.iter_current())) == before + 1
    written(app, **said | {"joint": "clutch-spline"})  # another joint is another statement


def places_on(client: TestClient, unit: str) -> str:
    """The part of a unit's page that lists its places."""
    found = re.search(r'<section aria-labelledby="places">.*?</section>', client.get(f"/part/{unit}").text, re.DOTALL)
    assert found
    return found[0]


def test_a_remark_keeps_the_part_the_joint_and_what_it_cost(app: tuple[TestClient, Notebook]) -> None:
    text, statements = written(
        app, relation="remark", a="disc-30", joint="clutch-spline", hours="1/2", cash="17,50", text="Rattles.",
        work="bush the hub",
    )  # fmt: skip

    assert text == "Rattles.\nWhere they meet: clutch spline\nAfter what work: bush the hub\n" \
        "Hours it took: 0.5\nWhat it cost: 17.5"  # fmt: skip
    assert "<https://shop.example/disc-30>" in statements
    client, _ = app
    assert "Rattles." in client.get("/notebook?part=disc-30").text
    assert "is what this is about" in client.get("/notebook?part=disc-30").text


def test_a_shops_own_joint_is_written_under_its_own_name(app: tuple[TestClient, Notebook]) -> None:
    _, statements = written(app, a="disc-20", relation="fits", b="shaft-long", joint="bush-in-nose", text="it does")

    assert "<https://shop.example/bush-in-nose>" in statements


@pytest.mark.parametrize("typed", ["Elm disc", "elm  DISC", "elm"])
def test_an_exact_name_or_number_is_the_part_itself(app: tuple[TestClient, Notebook], typed: str) -> None:
    client, _ = app
    answer = send(client, "/notebook/new", "/notebook", **KNOWN, a=typed, relation="replaces", b="disc-20")

    if typed == "elm":  # two parts have the word, none is named so
        assert "which part is meant?" in answer.text
    else:
        assert answer.status_code == 303, answer.text
    by_number = written(app, relation="remark", a="ab-7", text="by its number")[1]
    assert "<https://shop.example/spare-7>" in by_number


def test_of_several_parts_none_is_chosen_beforehand(app: tuple[TestClient, Notebook]) -> None:
    """Sent again as it came back, the form asks again: nothing lands on the first of the list."""
    client, _ = app
    asked = send(client, "/notebook/new", "/notebook", **KNOWN, relation="remark", a="disc", text="which?")
    again = client.post("/notebook", data=hidden(asked.text) | KNOWN | {"relation": "remark", "a": "disc",
                        "a_chosen": "", "text": "which?"}, follow_redirects=False)  # fmt: skip

    assert asked.status_code == again.status_code == 422
    assert 'id="a_chosen"' in again.text and '<option value="">none chosen yet</option>' in again.text
    fields = hidden(again.text) | KNOWN | {"relation": "remark", "a": "disc", "text": "which?"}
    chosen = client.post("/notebook", data=fields | {"a_chosen": "disc-30"}, follow_redirects=False)
    other_words = client.post("/notebook", data=fields | {"a": "shaft", "a_chosen": "disc-30"}, follow_redirects=False)
    assert chosen.status_code == 303
    assert other_words.status_code == 422 and 'id="a-fault"' in other_words.text


def test_a_draft_belongs_to_the_part_that_its_form_was_opened_for(app: tuple[TestClient, Notebook]) -> None:
    """The device keeps what is typed under this name, and forgets it once that note is written."""
    client, _ = app
    one, other = client.get("/notebook/new?a=disc-20").text, client.get("/notebook/new?a=disc-30").text

    assert 'data-keep="note disc-20"' in one and 'data-keep="note disc-30"' in other
    fields = hidden(one) | KNOWN | {"relation": "remark", "text": "done"}
    done = client.post("/notebook", data=fields)
    assert 'data-clear="note disc-20"' in done.text


@pytest.mark.parametrize("typed", ["1,500", "1.500", "1,234.5", "-3", "2 h", "ten", "1e3"])
def test_an_amount_that_can_be_read_in_two_ways_or_none_is_refused(typed: str) -> None:
    with pytest.raises(InvalidInput) as raised:
        decimal_of(typed, "cash")
    assert raised.value.problems[0].path == "cash"


@given(st.integers(0, 99_999_999), st.sampled_from(".,"))
def test_every_amount_to_a_hundredth_is_read_with_comma_and_point(hundredths: int, mark: str) -> None:
    typed = f"{hundredths // 100}{mark}{hundredths % 100:02d}"

    assert round(float(decimal_of(typed, "cash")) * 100) == hundredths


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), max_size=12)
PARTS = st.sampled_from(["", "disc-30", "Elm disc", "disc", "shaft-long", "birch input shaft", "no such", "AB-7"])
NUMBERS = st.sampled_from(["", "2", "3,5", "1/2", "1½", "two", "1,500", "-1"]) | WORDS
FORMS = st.fixed_dictionaries(
    {
        "a": PARTS | WORDS, "b": PARTS, "relation": st.sampled_from([*RELATIONS, *["remark"] * 4, "nonsense"]),
        "joint": st.sampled_from(["", "clutch-spline", "bush-in-nose", "nonsense"]),
        "work": st.sampled_from(["", "grind it\nream it"]) | WORDS, "reason": st.just("") | WORDS,
        "hours": NUMBERS, "cash": NUMBERS, "text": WORDS,
        "evidence": st.sampled_from(["measured-on-these-parts"] * 6 + ["hearsay", "", "nonsense"]),
        "author": st.sampled_from(["bench 1"] * 6 + [""]), "method": st.just("") | WORDS, "job": st.just("") | WORDS,
        "made_at": st.sampled_from([""] * 4 + ["2024-05-17", "yesterday"]),
        "shareable": st.sampled_from(["", "yes", "maybe"]), "a_chosen": st.sampled_from([""] * 5 + ["disc-20", "?"]),
    }
)  # fmt: skip


@settings(max_examples=int(os.environ.get("LAYSHAFT_FORM_EXAMPLES", "20")), deadline=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture])  # fmt: skip
@given(form=FORMS)
def test_whatever_is_sent_stands_in_the_note_or_in_an_error_beside_its_field(
    app: tuple[TestClient, Notebook], form: dict[str, str]
) -> None:
    client, notebook = app

    answer = send(client, "/notebook/new", "/notebook", **form)

    given_fields = {name: value.strip() for name, value in form.items() if value.strip()}
    if answer.status_code == 303:
        entry = notebook.ledger.get_note(re.findall(r"[0-9a-f-]{36}", answer.headers["location"])[0])
        known = notebook.catalogue()
        for name, value in given_fields.items():
            assert is_in(entry, known, name, value, form), (name, value, entry)
        return
    assert answer.status_code == 422, answer.text
    page = unescape(answer.text)
    for name, value in given_fields.items():  # nothing was written, and all of it is still there to be mended
        told = f'id="{name}-fault"' in page or name.endswith("_chosen")
        assert told or value.splitlines()[0].strip() in page, (name, value)
    for field in set(re.findall(r'<a class="target" href="#(\w+)">', answer.text)):
        assert field in LABELS and f'id="{field}-fault"' in answer.text, field


def is_in(entry: object, known: object, name: str, value: str, form: dict[str, str]) -> bool:
    """Whether the note holds what was typed: in its own fields, its statements, or its words."""
    text, statements = entry.text, entry.statements  # type: ignore[attr-defined]
    if name in ("a", "b", "a_chosen"):
        return statements.count("<https://shop.example/") >= 1 or "about" in text
    if name in ("hours", "cash"):
        amount = decimal_of(value, name)
        return f'"{amount}"' in statements or amount in text
    if name == "joint":
        return value in statements or known.joint_kinds[value].label in text  # type: ignore[attr-defined]
    if name in ("work", "reason", "text"):
        said = [line.strip() for line in value.splitlines() if line.strip()]
        return all(line in text or line in bytes(statements, "ascii").decode("unicode_escape") or line in statements
                   for line in said)  # fmt: skip
    if name == "relation":
        return value == "remark" or "vocabulary#" in statements
    if name == "shareable":
        return bool(entry.shareable)  # type: ignore[attr-defined]
    if name == "made_at":
        return moment(value) == moment(entry.made_at)  # type: ignore[attr-defined]
    return bool(getattr(entry, name) == value)
