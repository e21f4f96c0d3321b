"""Photos on notes, parts and jobs: the place is never stored, what is no picture is refused, nothing typed is lost."""

from __future__ import annotations

import os
import re
import struct
import zlib
from collections.abc import Iterator
from io import BytesIO

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from PIL import Image

from graph.ledger import attachments
from graph.ledger.notebook import Notebook
from tests.api.pictures import GPS, MAKE, photo, png
from tests.pages.note_app import hidden, paged_app

KNOWN = {"author": "bench 1", "evidence": "measured-on-these-parts", "relation": "remark", "text": "as it came off"}


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, Notebook]]:
    with paged_app(tmp_path_factory.mktemp("photos")) as (made, notebook), TestClient(made) as client:
        yield client, notebook


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">L", len(data)) + kind + data + struct.pack(">L", zlib.crc32(kind + data))


def of_size(wide: int, high: int) -> bytes:
    """A PNG (ISO/IEC 15948) that says that it has this size, a few dozen bytes long."""
    head = chunk(b"IHDR", struct.pack(">LLBBBBB", wide, high, 8, 6, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0" * 10)) + chunk(b"IEND", b"")


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_where_a_photo_was_taken_is_not_stored(app: tuple[TestClient, Notebook], form: str) -> None:
    client, notebook = app
    taken = photo(form)
    with Image.open(BytesIO(taken)) as before:
        assert before.getexif().get_ifd(GPS) and before.size == (64, 48)

    answer = client.post("/attachments", params={"name": "box.jpg"}, content=taken)

    assert answer.status_code == 201, answer.text
    _, stored = attachments.get(notebook.ledger, answer.json()["hash"])
    with Image.open(BytesIO(stored)) as kept:
        assert kept.size == (48, 64)  # turned upright, since what says so is gone too
        assert dict(kept.getexif()) == {} and not kept.getexif().get_ifd(GPS)
        red, blue = (kept.convert("RGB").getpixel((24, y)) for y in (8, 56))
    assert isinstance(red, tuple) and red[0] > 200 > 60 > red[2]
    assert isinstance(blue, tuple) and blue[2] > 200 > 60 > blue[0]
    assert b"Exif" not in stored and b"Rushy" not in stored and MAKE


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (of_size(31_623, 31_623), "31,623 by 31,623 points; at most 64,000,000"),  # 10^9 of them
        (png((40, 30))[:60], "damaged, or cut off"),
        (b"\xff\xd8\xff" + b"no photo at all" * 9, "cannot be read as one"),
        (b"GIF89a" + b"\0" * 40, "expected a JPEG, PNG or WebP picture or a PDF"),
    ],
)
def test_what_is_no_picture_or_far_too_large_is_refused_and_nothing_is_kept(
    app: tuple[TestClient, Notebook], content: bytes, told: str
) -> None:
    client, notebook = app
    before = notebook.ledger.head().position

    by_api = client.post("/attachments", params={"name": "p.png"}, content=content)
    page = client.get("/notebook/new?relation=remark").text
    by_page = client.post("/notebook", data=hidden(page) | KNOWN, files={"photo": ("p.png", content)})

    assert by_api.status_code == by_page.status_code == 422
    assert told in by_api.json()["problems"][0]["message"]
    assert 'id="document-fault"' in by_page.text and told in by_page.text and "as it came off" in by_page.text
    assert notebook.ledger.head().position == before


def test_a_photo_stands_small_on_its_note_and_on_the_part_s_page(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app
    page = client.get("/notebook/new?relation=remark&a=birch-4").text
    assert 'capture="environment"' in page

    # Without who says so it is not written yet; the photo is kept meanwhile and need not be taken again.
    lost = client.post(
        "/notebook", data=hidden(page) | KNOWN | {"a": "birch-4", "author": ""}, files={"photo": ("box.jpg", photo())}
    )  # fmt: skip
    assert lost.status_code == 422 and "is kept with it" in lost.text
    again = client.post("/notebook", data=hidden(lost.text) | KNOWN | {"a": "birch-4"}, follow_redirects=False)

    assert again.status_code == 303, again.text
    note = client.get(again.headers["location"]).text
    small = re.search(r'<img class="photo" src="([^"]+)" alt="Photo: box.jpg"', note)
    assert small is not None
    assert small[1] in client.get("/part/birch-4").text
    shown = client.get(small[1])
    assert shown.headers["content-type"] == "image/jpeg"
    with Image.open(BytesIO(shown.content)) as picture:
        assert max(picture.size) <= 320 and dict(picture.getexif()) == {}


def test_a_paper_is_kept_as_it_is_and_two_files_at_once_are_told(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app
    page = client.get("/notebook/new?relation=remark").text
    paper = ("order.pdf", b"%PDF-1.7 an order of the shop", "application/pdf")

    both = client.post("/notebook", data=hidden(page) | KNOWN, files={"photo": ("a.png", png((2, 2))), "paper": paper})
    kept = client.post("/notebook", data=hidden(page) | KNOWN, files={"paper": paper})

    assert both.status_code == 422 and "a note has one" in both.text
    assert "Paper: <bdi>order.pdf</bdi>" in kept.text


def test_a_photo_as_large_as_phones_take_them_is_taken_by_the_page(app: tuple[TestClient, Notebook]) -> None:
    client, _ = app
    taken = png((40, 40)) + b"\0" * 6_000_000  # beyond what other forms may send; what follows a picture is dropped

    kept = client.post("/attachments", params={"name": "large.png"}, content=taken)

    assert kept.status_code == 201, kept.text
    assert kept.json()["size"] < 1_000


PICTURE, PAPER, NO_PICTURE = png((2, 2)), b"%PDF-1.7 an order of the shop", b"GIF89 no picture"
EACH = {PICTURE: ("a.png", "image/png"), PAPER: ("order.pdf", "application/pdf"), NO_PICTURE: ("b.png", "image/png")}
SENT_FILES = st.lists(st.tuples(st.sampled_from(("photo", "paper", "scan")), st.sampled_from(sorted(EACH))), max_size=2)


@settings(max_examples=int(os.environ.get("LAYSHAFT_FORM_EXAMPLES", "12")), deadline=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture])  # fmt: skip
@given(
    files=SENT_FILES, document=st.sampled_from(("", "order 4711")), text=st.sampled_from(("as found", "a & <b>", ""))
)
@example(files=[("photo", PICTURE), ("photo", PAPER)], document="", text="as found")
@example(files=[("photo", PICTURE)], document="order 4711", text="as found")
@example(files=[("scan", PICTURE)], document="", text="as found")
def test_every_file_and_word_sent_with_a_note_is_kept_or_named(
    app: tuple[TestClient, Notebook], files: list[tuple[str, bytes]], document: str, text: str
) -> None:
    client, notebook = app
    fields = hidden(client.get("/notebook/new?relation=remark").text) | KNOWN | {"text": text, "document": document}
    uploads = [(name, (EACH[data][0], data, EACH[data][1])) for name, data in files]

    answer = client.post("/notebook", data=fields, files=uploads or None, follow_redirects=False)

    if answer.status_code == 303:
        note = notebook.ledger.get_note(answer.headers["location"].partition("?")[0].rpartition("/")[2])
        kept = attachments.find(notebook.ledger, note.document)
        assert note.text == text and [upload[1][0] for upload in uploads] == ([kept.name] if kept else [])
        return
    told = answer.text.partition('role="alert"')[2].partition("</div>")[0]
    assert answer.status_code == 422 and told
    for _, (name, _, _) in uploads:
        assert name in answer.text, f"{name} is neither kept nor named"
    assert not document or document in answer.text
