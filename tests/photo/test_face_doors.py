"""A face over HTTP, on the page and by command: from the sheet to a pattern that plate design and ranking use."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest
from fastapi.testclient import TestClient
from numpy.typing import NDArray

from api.pages.face_view import FacePage
from graph.cli.main import main
from graph.cli.question import DEMO_FACTS
from graph.guarded.bounds import LOOK
from graph.guarded.reader import read
from graph.ledger import attachments
from graph.ledger.notebook import Notebook
from graph.photo import task
from graph.photo.corners import find_sheet
from graph.photo.model import PhotoFound, Printed
from graph.photo.reading import read_grey
from graph.photo.task import decoded, read_photo
from tests.api.pictures import photo as picture
from tests.guarded.tasks import who
from tests.pages.note_app import hidden, paged_app
from tests.pages.templates import undocumented
from tests.photo.drawn import BELL

pytestmark = pytest.mark.takes_turns(8)  # a photo is read in each, some several times
LINES = {"across": "140 mm", "along": "140 mm", "under": "0 mm"}
ABOUT = {"part": "bell-tansy-spare", "joint": "engine-face", "seen_from": "front", "datum": "input shaft axis",
         "author": "bench 1"}  # fmt: skip
# What the photo's holes are, by number (row by row from the top): hole 4 is the bore.
ROLES = ["4 = bore", "1 = clearance", "3 = clearance", "5 = thread M10", "6 = clearance 11 mm", "2 = dowel 12 mm"]
HAND = {
    "holes": "1; 11 mm\n2; 11 mm\n3; 11 mm",
    "entries": "1; axis; 100 mm\n1; angle; 90 deg\n2; axis; 100 mm\n2; angle; 0 deg\n3; axis; 100 mm\n3; angle; 200 deg"
    "\n1; 2; 141.42 mm",
}
EXACT = Printed(across_mm=140.0, along_mm=140.0, line_u_mm=0.05, under_mm=0.0)
Reads = Callable[[bytes, Printed], PhotoFound]
BORE_AT = (150.0, 12.0)


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, Notebook]]:
    with paged_app(tmp_path_factory.mktemp("faces"), DEMO_FACTS) as (made, notebook), TestClient(made) as client:
        yield client, notebook


@pytest.fixture
def read_here(monkeypatch: pytest.MonkeyPatch) -> Reads:
    """Photos are read here and once each, which is quicker; that a child reads them is held by the other tests."""
    monkeypatch.setattr("graph.notes.faces.read_photo", lambda content, printed, name: _found(content, printed))
    return _found


@cache
def _found(content: bytes, printed: Printed) -> PhotoFound:
    return read_grey(decoded(content), printed)


def test_a_face_goes_from_kept_photos_to_the_plate_and_the_ranking(
    app: tuple[TestClient, Notebook], bell_photo: bytes
) -> None:
    client, notebook = app
    kept = client.post("/attachments", params={"name": "bell.jpg"}, content=bell_photo).json()
    photos = LINES | {"photos": [kept["hash"]]}
    seen = client.post("/faces/read", json=photos)
    assert seen.status_code == 200, seen.text
    assert [hole["ticked"] for hole in seen.json()["holes"]] == [True] * len(BELL)

    answer = client.post("/faces", json=ABOUT | {"photos": photos, "choices": ROLES})

    assert answer.status_code == 201, answer.text
    note = answer.json()
    assert (note["evidence"], note["method"], note["document"]) == ("measured-on-these-parts", "photo", kept["iri"])
    assert "5 holes about the input shaft axis, seen from the front" in note["text"]
    ranked = client.post("/patterns/which", json={"face": "bell-tansy-spare"}).json()["patterns"][0]
    assert ranked["known"] == "bell-tansy-spare/engine-face" and ranked["certain"] and ranked["met"] == 5
    plate = client.get("/plates/design.json", params={"a": "block-pipit", "b": "bell-tansy-spare"}).json()
    assert plate["verdict"] == "designed" and any("M10" in str(piece) for piece in plate["design"]["pieces"])
    face = client.get("/parts/bell-tansy-spare/measurements").json()["bolt_faces"]
    places = {hole["id"]: hole for one in face if one["note"] for hole in one["holes"]}
    for x, y, _ in BELL:
        if (x, y) == BORE_AT:
            continue
        gaps = [
            abs(float(h["x"][:-3]) - x + BORE_AT[0]) + abs(float(h["y"][:-3]) - y + BORE_AT[1]) for h in places.values()
        ]
        assert min(gaps) < 0.3
    client.post(f"/notes/{note['id']}/retract", json={"text": "only tried"}, headers={"If-Match": '"1"'})
    assert attachments.find(notebook.ledger, kept["iri"])


def test_a_photo_is_tried_without_keeping_it(app: tuple[TestClient, Notebook], bell_photo: bytes) -> None:
    client, notebook = app
    before = notebook.ledger.list_notes(limit=1000)
    found = client.post("/faces/photo", params=LINES, content=bell_photo).json()

    assert len(found["holes"]) == len(BELL) and found["photos"][0]["corners"] == 80
    assert notebook.ledger.list_notes(limit=1000) == before
    asked = client.post("/faces/photo", content=bell_photo)
    assert asked.status_code == 422
    assert [one["path"] for one in asked.json()["problems"]] == ["across", "along"]
    bad = client.post("/faces/photo", params=LINES, content=b"GIF89a" + b"\0" * 99)
    assert bad.status_code == 422 and "expected a JPEG, PNG or WebP photo" in bad.text


def test_by_hand_over_http(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app
    solved = client.post("/faces/by-hand", json=HAND).json()
    assert solved["settled"] and solved["has_axis"]
    assert {h["name"]: (round(h["x_mm"]), round(h["y_mm"])) for h in solved["holes"]}["1"] == (0, 100)

    choices = ["1 = clearance", "2 = clearance", "3 = thread M10"]
    once = {"Idempotency-Key": "one"}
    kept = client.post("/faces", json=ABOUT | {"by_hand": HAND, "choices": choices}, headers=once)
    assert client.post("/faces", json=ABOUT | {"by_hand": HAND, "choices": choices}, headers=once).json() == kept.json()
    assert kept.status_code == 201 and kept.json()["method"] == "by hand", kept.text
    slip = HAND | {"entries": HAND["entries"].replace("141.42", "151.42") + "\n1; 3; 163.83 mm\n2; 3; 196.96 mm"}
    odd = client.post("/faces", json=ABOUT | {"by_hand": slip, "choices": choices})
    assert odd.status_code == 422 and "1 to 2, 151.42 mm centre to centre does not agree" in odd.text
    neither = client.post("/faces", json=ABOUT | {"choices": choices})
    assert neither.status_code == 422 and "photos, or readings by hand" in neither.text
    client.post(f"/notes/{kept.json()['id']}/retract", json={"text": "only tried"}, headers={"If-Match": '"1"'})


def test_what_is_not_said_of_a_face_is_asked_at_its_field(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app
    body = {"by_hand": HAND, "choices": ["1 = clearance"], "part": "no such thing", "joint": "no-joint",
            "seen_from": "front"}  # fmt: skip
    told = client.post("/faces", json=body)
    assert told.status_code == 422
    assert {one["path"] for one in told.json()["problems"]} >= {"part", "joint", "author", "datum", "holes"}


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_sheet_comes_over_http(app: tuple[TestClient, Notebook], paper: str) -> None:
    client, _ = app
    sheet = client.get("/faces/sheet.pdf", params={"paper": paper})
    assert sheet.status_code == 200 and sheet.content.startswith(b"%PDF")
    assert sheet.headers["content-type"] == "application/pdf"


@pytest.mark.usefixtures("read_here")
def test_the_page_reads_shows_and_keeps_without_scripts(app: tuple[TestClient, Notebook], bell_photo: bytes) -> None:
    client, notebook = app
    empty = client.get("/bench/face", params={"part": "bell-tansy-spare", "joint": "engine-face"})
    assert "/faces/sheet.pdf?paper=A4" in empty.text and "/faces/sheet.pdf?paper=Letter" in empty.text
    unread = client.post("/bench/face", data=hidden(empty.text), files={"photo": ("f.jpg", bell_photo, "image/jpeg")})
    assert unread.status_code == 422 and "say what the check line across measures" in unread.text

    sent = hidden(unread.text) | LINES | {"tool": "calliper"}  # the photo stays with the form
    shown = client.post("/bench/face", data=sent)
    assert shown.status_code == 200, shown.text
    boxes = re.findall(r'<input type="checkbox" id="take-(\d)" name="take.\1" value="yes"( checked)?>', shown.text)
    assert boxes == [(str(number), " checked") for number in range(1, 7)]
    assert 'href="data:image/jpeg;base64,' in shown.text and "<script>" not in shown.text

    form = hidden(shown.text) | LINES | ABOUT | {f"take.{n}": "yes" for n in range(1, 7)} | {"role": "clearance"}
    early = client.post("/bench/face/keep", data=form | {"seen_from": ""}, follow_redirects=False)
    assert early.status_code == 422 and "from where it was seen" in early.text and "the axis is not known" in early.text
    assert 'name="take.6" value="yes" checked' in early.text
    kept = client.post("/bench/face/keep", data=form | {"role.4": "bore", "role.2": "dowel", "size.2": "12 mm"},
                       follow_redirects=False)  # fmt: skip
    assert kept.status_code == 303, kept.text
    again = client.post("/bench/face/keep", data=form | {"role.4": "bore", "role.2": "dowel", "size.2": "12 mm"},
                        follow_redirects=False)  # fmt: skip
    assert again.headers["location"] == kept.headers["location"]  # sent again after a lost answer, it wrote once
    page = client.get(kept.headers["location"])
    assert "Kept as measured on these parts" in page.text and "/plates/which?part=bell-tansy-spare" in page.text
    newest = notebook.ledger.list_notes(limit=1000)[-1]
    assert newest.method == "photo" and newest.document and newest.statements.count("holeName") == 5
    which = client.get("/plates/which", params={"part": "bell-tansy-spare"})
    assert "The same, within what was read." in which.text


def test_a_further_photo_loses_nothing_that_was_typed_and_is_kept_with_the_note(
    app: tuple[TestClient, Notebook], bell_photo: bytes, bell_grey: NDArray[np.uint8], read_here: Reads
) -> None:
    """The first photo has the upper two holes painted over; the second, with them, numbers all holes anew."""
    painted = bell_grey.copy()
    camera = find_sheet(bell_grey, EXACT).camera
    for hole in read_here(bell_photo, EXACT).holes[:2]:
        at = camera.to_picture(np.array([[hole.x_mm, hole.y_mm]]))[0]
        cv2.circle(painted, (int(at[0]), int(at[1])), 45, 165, -1)
    client, notebook = app
    first = cv2.imencode(".jpg", painted, [cv2.IMWRITE_JPEG_QUALITY, 92])[1].tobytes()
    form = hidden(client.get("/bench/face").text) | LINES
    shown = client.post("/bench/face", data=form, files={"photo": ("a.jpg", first, "image/jpeg")}).text
    assert len(re.findall('name="at[.]', shown)) == 4
    said = {"role.2": "bore", "size.3": "M10", "role.3": "thread", "role": "clearance", "level": "3, 4", "text": "so"}
    typed = hidden(shown) | LINES | ABOUT | said | {f"take.{n}": "yes" for n in "123"}

    bad = client.post("/bench/face", data=typed, files={"photo": ("n.jpg", picture("JPEG"), "image/jpeg")})
    assert bad.status_code == 422 and "the photo sent last is left out" in bad.text
    assert value_of(bad.text, "level") == "3, 4" and hidden(bad.text)["kept"] == hidden(shown)["kept"]
    early = client.post("/bench/face/keep", data=typed, files={"photo": ("b.jpg", bell_photo, "image/jpeg")})
    assert early.status_code == 422 and "look at the holes below, then keep them" in early.text
    both = client.post("/bench/face", data=typed, files={"photo": ("b.jpg", bell_photo, "image/jpeg")}).text

    assert re.findall(r'name="take[.](\d)" value="yes" checked', both) == ["1", "2", "3", "4", "5"]  # the 6th was left
    assert [value_of(both, name) for name in ("level", "size.5", "size.3", "datum", "text", "author")] == [
        "5, 6", "M10", "", "input shaft axis", "so", "bench 1"]  # fmt: skip
    assert re.search('name="role[.]4">.*?value="bore" selected', both) and "All 2 photos are kept" in both
    moved = hidden(both) | LINES | ABOUT | {"level": "5, 6", "role": "clearance", "role.4": "bore"}
    form = moved | {f"take.{n}": "yes" for n in "123456"}
    other = client.post("/bench/face/keep", data=form | {"kept": hidden(shown)["kept"]})
    assert other.status_code == 422 and "are others than those shown before" in other.text
    kept = client.post("/bench/face/keep", data=form, follow_redirects=False)
    assert kept.status_code == 303, kept.text
    newest = notebook.ledger.list_notes(limit=1000)[-1]
    assert "Photo 2: " in newest.text
    assert client.get(f"/notebook/{newest.note_id}").text.count("/thumbnail") == 2


def value_of(page: str, name: str) -> str:
    """What stands in a field that is seen."""
    found = re.search(f'<input id="[^"]*" name="{re.escape(name)}" value="([^"]*)"', page)
    assert found, name
    return found[1]


def test_the_page_by_hand_solves_says_what_is_missing_and_keeps(app: tuple[TestClient, Notebook]) -> None:
    client, notebook = app
    form = hidden(client.get("/bench/face/by-hand").text)
    short = client.post("/bench/face/by-hand", data=form | {"holes": "1\n2\n3", "entries": "1; 2; 100 mm\n2; 3; 80 mm"})
    assert short.status_code == 200 and "measure also" in short.text
    bad = client.post("/bench/face/by-hand", data=form | {"holes": "1\n2\n3", "entries": "1; 2"})
    assert bad.status_code == 422 and "entries line 1" in bad.text and "1; 2</textarea>" in bad.text
    shown = client.post("/bench/face/by-hand", data=form | HAND)
    assert "Each entry against the answer" in shown.text and 'id="take-3"' in shown.text

    said = hidden(shown.text) | HAND | ABOUT | {f"take.{n}": "yes" for n in "123"} | {"role": "clearance"}
    more = HAND | {"holes": HAND["holes"] + "\n4", "entries": HAND["entries"] + "\n4; axis; 50 mm\n4; angle; 10 deg"}
    again = client.post(
        "/bench/face/by-hand", data={n: v for n, v in said.items() if n != "take.2"} | more | {"size.3": "M10"}
    ).text
    assert re.findall(r'name="take[.](\d)" value="yes" checked', again) == ["1", "3", "4"]
    assert value_of(again, "datum") == "input shaft axis" and value_of(again, "size.3") == "M10"
    slip = hidden(client.post("/bench/face/by-hand", data=said | {"entries": "1; 2"}).text)  # carried past a fault
    assert {name: slip.get(name) for name in ("datum", "take.2", "role")} == {
        "datum": "input shaft axis", "take.2": "yes", "role": "clearance"}  # fmt: skip
    unseen = client.post("/bench/face/by-hand/keep", data=said | more)
    assert unseen.status_code == 422 and "are others than those shown before" in unseen.text
    kept = client.post("/bench/face/by-hand/keep", data=said, follow_redirects=False)
    assert kept.status_code == 303, kept.text
    assert notebook.ledger.list_notes(limit=1000)[-1].method == "by hand"


def test_a_photo_of_no_sheet_is_told_on_the_page(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app
    form = hidden(client.get("/bench/face").text) | LINES
    told = client.post("/bench/face", data=form, files={"photo": ("f.jpg", picture("JPEG"), "image/jpeg")})
    assert told.status_code == 422 and "send the photo itself, not a small copy" in told.text
    many = [("photo", (f"{n}.jpg", picture("JPEG") + bytes([n]), "image/jpeg")) for n in range(5)]
    again = client.post("/bench/face", data=hidden(told.text) | LINES | {"kept": " ".join(["0" * 64] * 2)}, files=many)
    assert again.status_code == 422


def test_the_view_says_what_its_fields_are() -> None:
    assert undocumented(FacePage) == []


def test_the_command_writes_the_sheet_reads_a_photo_and_keeps_a_face(
    tmp_path: Path, bell_photo: bytes, capsys: pytest.CaptureFixture[str]
) -> None:
    data, photo, sheet = tmp_path / "data", tmp_path / "bell.jpg", tmp_path / "s.pdf"
    photo.write_bytes(bell_photo)
    assert main(["face", "sheet", "--out", str(sheet), "--paper", "Letter"]) == 0
    assert sheet.read_bytes().startswith(b"%PDF")
    lines = ["--across", "140 mm", "--along", "140 mm", "--under", "0 mm"]
    capsys.readouterr()
    assert main(["face", "photo", str(photo), *lines]) == 0
    assert capsys.readouterr().out.count("mm across, within") == len(BELL)
    assert main(["face", "photo", str(photo)]) == 2
    assert "across: say what the check line across measures" in capsys.readouterr().err

    takes = [word for line in ROLES for word in ("--take", line.replace(" = ", "="))]
    about = ["--keep", "bell-tansy-spare", "--seen-from", "front", "--datum", "input shaft axis", "--author", "ab"]
    assert main(["face", "photo", str(photo), *lines, *takes, *about, "--data", str(data)]) == 0
    assert "written: " in capsys.readouterr().out
    assert main(["pattern", "bell-tansy-spare", "--data", str(data)]) == 0
    assert "the same, 5 of 5 holes" in capsys.readouterr().out
    hand = ["face", "by-hand", *(word for n in "123" for word in ("--hole", f"{n}; 11 mm"))]
    entries = [word for line in HAND["entries"].splitlines() for word in ("--entry", line)]
    assert main([*hand, *entries]) == 0
    assert re.search("1: 0.00 mm (left|right), 100.00 mm up", capsys.readouterr().out)
    assert main([*hand, *entries[:4]]) == 0
    assert "measure also" in capsys.readouterr().out


@pytest.mark.usefixtures("read_here")
def test_the_command_prints_what_the_api_answers(
    app: tuple[TestClient, Notebook], bell_photo: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "bell.jpg"
    file.write_bytes(bell_photo)
    lines = [word for name, said in LINES.items() for word in (f"--{name}", said)]

    assert main(["face", "photo", str(file), *lines, "--json"]) == 0

    assert json.loads(capsys.readouterr().out) == app[0].post("/faces/photo", params=LINES, content=bell_photo).json()


def test_a_photos_child_stays_warm_and_reads_no_other_file(bell_photo: bytes) -> None:
    """Its libraries alone reserve more than a table may take (LOOK): it reads the next photo, never a table."""
    first = read_photo(bell_photo, EXACT)
    (kept,) = task._READERS._idle

    again = read_photo(bell_photo, EXACT)
    (other,) = read(who, b"", "f", {}, LOOK)

    assert [one.process.pid for one in task._READERS._idle] == [kept.process.pid] and kept.uses >= 2
    assert other != kept.process.pid
    assert [(one.x_mm, one.y_mm) for one in again.holes] == [(one.x_mm, one.y_mm) for one in first.holes]
