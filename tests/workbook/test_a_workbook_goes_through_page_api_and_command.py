"""The three doors: a page without scripts, the API, the command line."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from httpx import Response
from openpyxl import load_workbook

from graph.cli.main import main
from graph.cli.workshop import NewWorkshop, start_workshop
from tests.pages.note_app import hidden, paged_app
from tests.workbook.books import filled, saved

PART = {"Parts": [{"name": "Linnet lid", "kind": "gearbox case", "cash": 12}]}
WRONG = {"Parts": [{"name": "Linnet lid", "kind": "gearbox case", "cash": "dear"}]}
WHO = {"author": "bench 2", "evidence": "measured-on-these-parts", "name": "ours.xlsx"}


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with paged_app(tmp_path_factory.mktemp("shop")) as (app, _):
        yield TestClient(app)


def test_the_template_offers_words_to_choose_from(client: TestClient) -> None:
    answer = client.get("/workbook/template")
    book = load_workbook(io.BytesIO(answer.content))

    assert answer.headers["content-type"].endswith("spreadsheetml.sheet")
    assert book.sheetnames[:3] == ["How to fill this in", "Workshop", "Units"]
    rules = {str(rule.sqref): rule for rule in book["Joints known"].data_validations.dataValidation}
    assert rules["A2:A5000"].type == "list"
    column = [cell.value for cell in book["Choices"][rules["A2:A5000"].formula1.split("$")[1]] if cell.value]
    assert column == ["fits", "requires machining", "does not fit"]


def test_the_api_shows_takes_in_once_and_takes_back(client: TestClient) -> None:
    book = saved(filled(PART))

    shown = client.post("/workbook/preview", params=WHO, content=book).json()
    wrong = client.post("/workbook", params=WHO, content=saved(filled(WRONG)))
    taken = client.post("/workbook", params=WHO, content=book, headers={"Idempotency-Key": "a"})
    again = client.post("/workbook", params=WHO, content=book, headers={"Idempotency-Key": "a"})

    assert [fate["name"] for fate in shown["fates"]] == ["Linnet lid"] and shown["problems"] == []
    assert wrong.status_code == 422 and "sheet 'Parts' row 2 column C (cash)" in wrong.text
    assert taken.status_code == 201 and again.json()["batch"] == taken.json()["batch"]
    assert client.post("/workbook", params=WHO, content=book).json()["batch"] is None
    batch = taken.json()["batch"]["id"]
    assert [one["id"] for one in client.get("/workbook/batches").json()] == [batch]
    assert client.get("/parts/linnet-lid").status_code == 200
    back = f"/workbook/batches/{batch}/back"
    assert client.post(back, params={"author": "bench 2"}).json()["taken_back"] is True
    assert client.post(back, params={"author": "bench 2"}).status_code == 409
    assert client.post("/workbook/batches/nobody/back", params={"author": "x"}).status_code == 404


def test_a_body_beyond_the_limit_is_refused_before_it_is_read(client: TestClient) -> None:
    answer = client.post("/workbook", params=WHO, content=b"PK", headers={"content-length": str(100 << 20)})

    assert answer.status_code == 413


def test_the_page_shows_first_then_takes_in_then_back(client: TestClient) -> None:
    def send(to: str, data: dict[str, str], book: bytes | None = None) -> Response:
        files = {"file": ("ours.xlsx", book)} if book else None
        answer: Response = client.post(to, data=data, files=files, follow_redirects=False)
        return answer

    token = hidden(client.get("/workbook/page").text)
    wrong = send("/workbook/page", token | WHO, saved(filled(WRONG)))
    nobody = send("/workbook/page", token, saved(filled(PART)))
    shown = send("/workbook/page", token | WHO, saved(filled(PART)))
    taken = send("/workbook/take", hidden(shown.text))

    assert wrong.status_code == 422 and "sheet &#39;Parts&#39; row 2 column C (cash)" in wrong.text
    assert "Take it in" not in wrong.text and "say who says so" in nobody.text
    assert "Take it in" in shown.text
    assert taken.status_code == 303 and "1+rows" in taken.headers["location"]
    assert send("/workbook/take", hidden(shown.text)).status_code == 422  # the file has gone with the first
    assert "Linnet lid" in client.get("/part/linnet-lid").text
    fields = hidden(client.get("/workbook/page").text)
    batch = client.get("/workbook/batches").json()[0]["id"]
    assert send("/workbook/back", fields | {"batch": batch, "author": ""}).status_code == 422
    assert send("/workbook/back", fields | {"batch": batch, "author": "bench 3"}).status_code == 303
    assert "taken back by <bdi>bench 3</bdi>" in client.get("/workbook/page").text
    assert client.get("/part/linnet-lid").status_code == 404


def test_the_command_writes_takes_in_and_takes_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    start_workshop(tmp_path, NewWorkshop("Ours", "EUR", "60.00"))
    file, at = tmp_path / "ours.xlsx", ["--data", str(tmp_path)]
    file.write_bytes(saved(filled(PART)))

    who = ["--author", "bench 2", "--evidence", "measured-on-these-parts"]
    assert main(["workbook", "preview", str(file), *who, *at]) == 0
    assert main(["workbook", "preview", str(file), *at]) == 2  # nor how it is known
    assert main(["workbook", "import", str(file), *at]) == 2  # nobody says so
    assert main(["workbook", "import", str(file), *who, *at]) == 0
    told = capsys.readouterr()
    assert (
        "Parts: 1 new" in told.out
        and "--author: say who says so" in told.err
        and "say how it is known: once" in told.err
    )
    assert main(["workbook", "export", str(tmp_path / "out.xlsx"), *at]) == 0
    assert load_workbook(tmp_path / "out.xlsx")["Parts"]["A2"].value == "Linnet lid"
    batch = told.out.rpartition("taken in: ")[2].split()[0]
    assert main(["workbook", "back", batch, "--author", "bench 2", *at]) == 0
    assert main(["workbook", "batches", *at]) == 0
    assert "taken back" in capsys.readouterr().out
