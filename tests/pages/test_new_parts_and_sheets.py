"""From a workshop without a part to an answer, by pages alone: parts, units, what is in them, what joins them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from html import unescape
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from httpx import Response

from graph.ledger.notebook import Notebook
from tests.pages.note_app import hidden, paged_app, send

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name

KNOWN = {"author": "bench 1", "evidence": "measured-on-these-parts"}
NOTHING_YET = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix shop: <https://shop.example/> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
shop:works a lay:Shop ; rdfs:label "Rushy Lane (invented)" ; lay:currency "EUR" ; lay:rate 58.00 ; lay:dayHours 8 ."""


@pytest.fixture
def app(tmp_path: Path) -> Iterator[tuple[TestClient, Notebook]]:
    (tmp_path / "shop.ttl").write_text(NOTHING_YET, encoding="utf-8")
    with paged_app(tmp_path / "data", tmp_path / "shop.ttl") as (made, notebook), TestClient(made) as client:
        yield client, notebook


def added(client: TestClient, **fields: str) -> str:
    """Where the form of a new part leads."""
    answer = send(client, "/new-part", "/new-part", **KNOWN | fields)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def sheet(client: TestClient, unit: str, **places: str) -> Response:
    """The sheet of a unit sent with these places; `bell_housing="Reed bell"`, and `new=` names of new parts."""
    page = client.get(unit).text
    fields = hidden(page) | standing(page) | KNOWN
    for place, words in places.items():
        name = f"at.at-{place.replace('_', '-')}"
        fields[name] = words.removeprefix("new: ")
        if words.startswith("new: "):
            fields[f"{name}/new"] = "yes"
    answer: Response = client.post(unit, data=fields, follow_redirects=False)
    return answer


def standing(page: str) -> dict[str, str]:
    """What the places of a sheet hold as it is shown."""
    return {
        name: unescape(value)
        for name, value in re.findall(r'<input id="at[^"]*" name="(at[^"]*)" value="([^"]*)"', page)
    }


def test_a_workshop_without_a_part_gets_to_an_answer_without_an_id_or_a_line_of_turtle(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    first = client.get("/").text
    assert 'href="/new-part?kind=gearbox"' in first and "Turtle in the folder" not in first

    gearbox = added(client, name="Reed 5, late", kind="gearbox", number="R5-L")
    engine = added(client, name="Knot 1.8", kind="engine")
    assert (gearbox, engine) == ("/unit/reed-5-late", "/unit/knot-1-8")
    assert sheet(client, gearbox, bell_housing="new: Reed bell", input_shaft="new: Reed shaft").status_code == 303
    assert sheet(client, engine, block="new: Knot block", clutch_disc="new: Knot disc").status_code == 303
    for a, b in (("Knot block", "Reed bell"), ("Knot disc", "Reed shaft")):
        joined = send(client, "/notebook/new", "/notebook", **KNOWN, a=a, relation="fits", b=b)
        assert joined.status_code == 303, joined.text

    answer = client.get("/compare?gearbox=reed-5-late&engine=knot-1-8").text
    assert "Reed 5, late behind Knot 1.8" in unescape(answer)
    known = notebook.catalogue()
    assert {"reed-bell", "reed-shaft", "knot-block", "knot-disc"} <= set(known.parts)
    assert known.parts["reed-5-late"].number == "R5-L"


def test_a_place_written_again_is_a_revision_and_the_whole_sheet_goes_in_one_click(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    added(client, name="Other bell", kind="bell-housing", price="80,50", condition="used-tested")
    sheet(client, unit, bell_housing="new: Reed bell")

    changed = sheet(client, unit, bell_housing="other bell", lever="new: Reed lever")

    assert changed.status_code == 303, changed.text
    inside = {edge.position: edge.target for edge in notebook.catalogue().edges.values()}
    assert inside == {"at-bell-housing": "other-bell", "at-lever": "reed-lever"}
    assert notebook.catalogue().parts["other-bell"].cash_hundredths == 8050
    page = client.get(unit).text
    note = re.search(r'action="/notebook/([0-9a-f-]{36})/retract"', page)
    assert note and notebook.ledger.get_note(note[1]).revision == 2
    back = page[page.index("Take the whole sheet back") :]
    client.post(f"/notebook/{note[1]}/retract", data=hidden(back), follow_redirects=False)
    assert not notebook.catalogue().edges
    assert standing(client.get(unit).text)["at.at-bell-housing"] == ""


def test_that_a_unit_has_none_at_a_place_is_said_and_kept_and_other_jobs_places_stay(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    sheet(client, unit, bell_housing="new: Reed bell")
    page = client.get(unit).text

    said = client.post(unit, data=hidden(page) | KNOWN | {"at.at-lever": "", "at.at-lever/none": "yes"},
                       follow_redirects=False)  # fmt: skip
    both = client.post(unit, data=hidden(client.get(unit).text) | KNOWN | {"at.at-bell-housing": "Reed bell",
                       "at.at-bell-housing/none": "yes"}, follow_redirects=False)  # fmt: skip

    assert said.status_code == 303, said.text
    found = {(edge.kind, edge.position, edge.target) for edge in notebook.catalogue().edges.values()}
    assert found == {("contains", "at-bell-housing", "reed-bell"), ("has-none", "at-lever", "")}
    assert both.status_code == 422 and "leave one of them" in both.text


def stale_sheet(client: TestClient, unit: str) -> dict[str, str]:
    """The fields of a sheet as a phone has loaded them, before anything else is written."""
    page = client.get(unit).text
    return hidden(page) | standing(page) | KNOWN


def held(notebook: Notebook, unit: str) -> dict[str, str]:
    """Which part a unit holds, by position."""
    return {edge.position: edge.target for edge in notebook.catalogue().edges.values() if edge.source == unit}


def test_two_phones_that_write_different_places_of_one_sheet_are_both_kept(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    mine = stale_sheet(client, unit) | {"at.at-lever": "My lever", "at.at-lever/new": "yes", "author": "bench 2"}
    sheet(client, unit, bell_housing="new: First bell")

    both = client.post(unit, data=mine, follow_redirects=False)
    again = client.post(unit, data=mine, follow_redirects=False)  # the answer was lost on its way

    assert both.status_code == again.status_code == 303, again.text
    assert held(notebook, "reed-5") == {"at-bell-housing": "first-bell", "at-lever": "my-lever"}
    page = client.get(both.headers["location"]).text
    assert "Somebody else had written on this sheet meanwhile" in page
    assert "Said by <bdi>bench 1</bdi>" in page and "Said by <bdi>bench 2</bdi>" in page
    assert len(notebook.ledger.get_history(hidden(page)["note"])) == 2


def test_a_place_that_two_phones_change_is_shown_with_both_and_chosen_never_overwritten(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    sheet(client, unit, bell_housing="new: Old bell", lever="new: Old lever")
    typed = {"at.at-bell-housing": "My bell", "at.at-bell-housing/new": "yes", "author": "bench 2"}
    mine = stale_sheet(client, unit) | typed
    sheet(client, unit, bell_housing="new: Their bell", lever="new: Their lever")

    clash = client.post(unit, data=mine, follow_redirects=False)
    unread = client.post(unit, data=mine, follow_redirects=False)
    page = clash.text
    shown = (
        hidden(page)
        | standing(page)
        | KNOWN
        | {"at.at-bell-housing/new": "yes"}
        | {"at.at-bell-housing/against": "yes"}
    )
    unchosen = client.post(unit, data=shown, follow_redirects=False)

    assert clash.status_code == unread.status_code == 409
    fault = re.search(r'id="at.at-bell-housing-fault"[^>]*>(.*?)</p>', page, re.DOTALL)
    assert fault and "Their bell (bench 1, measured on these parts); yours is: My bell" in unescape(fault[1])
    assert "before, it was: Old bell" in unescape(fault[1])
    assert 'value="My bell"' in page and standing(page)["at.at-lever"] == "Their lever"
    assert unchosen.status_code == 422 and "choose which holds" in unchosen.text
    assert held(notebook, "reed-5") == {"at-bell-housing": "their-bell", "at-lever": "their-lever"}

    chosen = client.post(unit, data=shown | {"at.at-bell-housing/keep": "mine"}, follow_redirects=False)

    assert chosen.status_code == 303, chosen.text
    assert held(notebook, "reed-5") == {"at-bell-housing": "my-bell", "at-lever": "their-lever"}


def test_two_first_sheets_at_once_are_one_sheet(app: tuple[TestClient, Notebook]) -> None:
    """Both phones had found none; the note of the second becomes a revision of the first's."""
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    first, second = (
        stale_sheet(client, unit) | {f"at.at-{place}": f"{place} of mine", f"at.at-{place}/new": "yes"}
        for place in ("lever", "tail-housing")
    )

    with ThreadPoolExecutor(2) as pool:
        sent = list(pool.map(lambda data: client.post(unit, data=data, follow_redirects=False), (first, second)))

    assert [one.status_code for one in sent] == [303, 303]
    assert set(held(notebook, "reed-5")) == {"at-lever", "at-tail-housing"}
    assert sum(one.method == "unit sheet" for one in notebook.ledger.iter_current()) == 1


def test_who_says_so_and_how_it_is_known_stand_at_their_place(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    more = {"at.at-lever": "Reed lever", "at.at-lever/new": "yes", "at.at-lever/evidence": "hearsay",
            "at.at-lever/author": "owner", "at.at-bell-housing": "Reed bell",
            "at.at-bell-housing/new": "yes"}  # fmt: skip
    assert client.post(unit, data=stale_sheet(client, unit) | more, follow_redirects=False).status_code == 303

    known = {edge.position: edge.evidence for edge in notebook.catalogue().edges.values()}
    assert known == {"at-lever": "hearsay", "at-bell-housing": "measured-on-these-parts"}
    page = client.get(unit).text
    assert "Said by <bdi>owner</bdi>: hearsay" in page
    assert re.search(r'id="author" name="author" value="bench 1"', page), "the last writer on this phone"

    late = stale_sheet(client, unit) | {"author": "bench 3", "evidence": "word-of-the-trade",
                                        "at.at-tail-housing": "Reed tail", "at.at-tail-housing/new": "yes"}  # fmt: skip
    assert client.post(unit, data=late, follow_redirects=False).status_code == 303
    known = {edge.position: edge.evidence for edge in notebook.catalogue().edges.values()}
    assert known == {"at-lever": "hearsay", "at-bell-housing": "measured-on-these-parts",
                     "at-tail-housing": "word-of-the-trade"}  # fmt: skip
    page = client.get(unit).text
    for who in ("owner", "bench 1", "bench 3"):
        assert f"Said by <bdi>{who}</bdi>" in page


def test_a_part_found_damaged_is_no_longer_taken_as_it_is_and_its_like_elsewhere_stays_sound(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    added(client, name="Reed lever", kind="gear-lever", condition="used-tested")
    unit = added(client, name="Reed 5", kind="gearbox")
    sheet(client, unit, lever="Reed lever", bell_housing="new: Reed bell")

    page = stale_sheet(client, unit) | {"at.at-lever/condition": "damaged", "at.at-bell-housing/condition": "worn-out"}
    found = client.post(unit, data=page, follow_redirects=False)

    assert found.status_code == 303, found.text
    known = notebook.catalogue()
    lever = known.parts[held(notebook, "reed-5")["at-lever"]]
    assert (lever.label, lever.condition, lever.variant_of) == ("Reed lever, damaged", "damaged", "reed-lever")
    assert known.parts["reed-lever"].condition == "used-tested"
    assert known.parts["reed-bell"].condition == "worn-out"  # brought in by this sheet: it is that very part


def test_the_kind_of_job_chosen_on_the_sheet_is_kept_as_what_the_unit_was_made_for(
    app: tuple[TestClient, Notebook],
) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    assert f'href="{unit}#made_for"' in client.get("/part/reed-5").text

    page = client.get(f"{unit}?job=clutch-and-propshaft").text
    assert re.search(r'<option value="clutch-and-propshaft" selected>', page[page.index('id="made_for"') :])
    sent = hidden(page) | KNOWN | {"made_for": "clutch-and-propshaft"}
    assert client.post(unit, data=sent, follow_redirects=False).status_code == 303

    assert notebook.catalogue().parts["reed-5"].made_for == ("clutch-and-propshaft",)
    assert "clutch and propshaft" in client.get("/part/reed-5").text.partition("Made for:")[2][:200]
    sheet(client, unit, lever="new: Reed lever")  # the select is not in this little form: it stays
    assert notebook.catalogue().parts["reed-5"].made_for == ("clutch-and-propshaft",)


def test_a_standard_part_is_entered_by_its_number_or_sizes_and_an_unknown_number_is_told(
    app: tuple[TestClient, Notebook],
) -> None:
    """6309: 45 x 100 x 25 mm, ISO 15. 32008 is a tapered roller bearing (ISO 355), which no table here has."""
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")

    unknown = sheet(client, unit, input_bearing="32008")
    assert sheet(client, unit, input_bearing="45x100x25").status_code == 303
    form = send(client, "/new-part", "/new-part", **KNOWN, name="11,5", kind="flywheel")
    no_size = send(client, "/new-part", "/new-part", **KNOWN, name="SAE 12", kind="flywheel")

    assert unknown.status_code == 422
    assert "tapered roller bearing" in unknown.text and "add it as a new part by its name" in unescape(unknown.text)
    bearing = notebook.catalogue().parts[held(notebook, "reed-5")["at-input-bearing"]]
    assert (bearing.number, bearing.label) == ("6309", "Bearing 6309 (45 x 100 x 25 mm)")
    assert "Read as <bdi>6309: 45 x 100 x 25 mm (ISO 15)</bdi>" in client.get(unit).text
    assert form.status_code == 303 and form.headers["location"] == "/part/flywheel-sae-11-5", form.text
    assert no_size.status_code == 422 and "is no SAE clutch size; there are 6.5" in no_size.text


def test_the_sheet_tells_who_wrote_what_and_goes_back_in_one_click(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    sheet(client, unit, lever="new: Reed lever")
    sheet(client, unit, lever="new: Other lever", tail_housing="new: Reed tail")

    page = client.get(unit).text
    turns = unescape(page[page.index("Who wrote what") :])
    undo = re.search(r'name="to" value="(\d+)" class="plain">Undo this', turns)
    assert undo
    fields = hidden(page[page.index("Who wrote what") :]) | {"to": undo[1]}
    assert "Reed lever (bench 1, measured on these parts) → Other lever" in turns
    nobody = client.post("/unit-sheet/back", data=fields, follow_redirects=False)
    assert nobody.status_code == 422 and "say who takes it back" in nobody.text
    fields["undo_author"] = "foreman"
    assert client.post("/unit-sheet/back", data=fields, follow_redirects=False).status_code == 303

    assert held(notebook, "reed-5") == {"at-lever": "reed-lever"}
    page = client.get(unit).text
    assert "<strong><bdi>foreman</bdi></strong>" in page  # who went back; who said so of the place stays
    assert "Said by <bdi>bench 1</bdi>" in page
    late = client.post("/unit-sheet/back", data=fields, follow_redirects=False)
    assert late.status_code == 409 and "meanwhile somebody wrote this sheet" in late.text


def test_what_cannot_be_is_told_at_its_place_and_nothing_typed_is_gone(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    unit = added(client, name="Reed 5", kind="gearbox")
    before = notebook.ledger.head().position
    page = client.get(unit).text
    typed = {
        "at.at-lever": "no such lever", "at.at-bell-housing": "Bell", "at.at-bell-housing/new": "yes",
        "at.at-bell-housing/price": "1,500", "at.at-input-shaft/number": "77", "at.at-flywheel": "in the wrong unit",
    }  # fmt: skip

    answer = client.post(unit, data=hidden(page) | KNOWN | typed, follow_redirects=False)

    assert answer.status_code == 422
    assert notebook.ledger.head().position == before
    for field in ("at.at-lever", "at.at-bell-housing/price", "at.at-input-shaft"):
        assert f'id="{field}-fault"' in answer.text
    for value in ("no such lever", "1,500", "77", "in the wrong unit"):
        assert value in answer.text


def test_two_parts_of_one_name_are_two_only_when_told(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app
    added(client, name="Reed lever", kind="gear-lever")

    asked = send(client, "/new-part", "/new-part", **KNOWN, name="Reed lever", kind="gear-lever")
    twice = added(client, name="Reed lever", kind="gear-lever", another="yes")

    assert asked.status_code == 422 and 'id="another"' in asked.text
    assert twice == "/part/reed-lever-2"


def test_a_new_part_sent_twice_is_added_once(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    fields = hidden(client.get("/new-part").text) | KNOWN | {"name": "Reed fork", "kind": "gear-lever"}

    first = client.post("/new-part", data=fields, follow_redirects=False)
    second = client.post("/new-part", data=fields | {"another": ""}, follow_redirects=False)

    assert first.headers["location"] == "/part/reed-fork"
    assert len([part for part in notebook.catalogue().parts if part.startswith("reed-fork")]) == 1
    assert second.status_code in (303, 422)


def test_the_note_of_a_new_part_speaks_the_trades_words(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    added(
        client, name="Reed fork", kind="gear-lever", number="R-1", condition="used-tested", price="12,50", hours="0,5"
    )
    note = next(one for one in notebook.ledger.iter_current() if "Reed fork" in one.statements)

    pages = [client.get(f"/notebook/{note.note_id}").text, client.get("/notebook").text]

    for page in pages:
        assert not re.search(r"\b(lay|rdf|rdfs|kind|shop):\w", page)
    for words in ("kind: gear lever", "part number: R-1", "condition of the part: used, tested", "hours (h): 0.5"):
        assert words in " ".join(re.sub(r"<[^>]+>", " ", unescape(pages[0])).split()), words


def test_a_form_of_another_site_adds_nothing(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app

    assert client.post("/new-part", data=KNOWN | {"name": "Forged", "kind": "gear-lever"}).status_code == 403


def test_a_gearbox_is_only_like_a_gearbox(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    added(client, name="Reed 5", kind="gearbox")
    added(client, name="Reed 1.9", kind="engine")
    client.get("/browse")

    engine = send(client, "/new-part", "/new-part", **KNOWN, name="Reed 6", kind="gearbox", like="Reed 1.9")
    named = send(client, "/new-part", "/new-part", **KNOWN, name="Reed 6", kind="gearbox", like="reed-1-9")
    added(client, name="Reed 6", kind="gearbox", like="reed")  # two have the word, one is a gearbox

    for refused in (engine, named):
        assert refused.status_code == 422
        fault = re.search(r'id="like-fault"[^>]*>(.*?)</p>', refused.text, re.DOTALL)
        assert fault and "Reed 1.9 is of another kind (engine); name one of this kind: gearbox" in unescape(fault[1])
    assert notebook.catalogue().parts["reed-6"].variant_of == "reed-5"
