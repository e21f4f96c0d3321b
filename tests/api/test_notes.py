"""Notes over HTTP: added, read, revised, taken back, listed; races and retries."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from api.security import Gate, RateLimit, check_listening
from graph.errors import InvalidInput
from graph.ledger.tokens import Tokens
from tests.api.notebooks import notebook_app, served

NOTE = {"text": "Input shaft stands out 182.4 mm.", "author": "bench", "evidence": "measured-on-these-parts"}
FACTS = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
shop:us a lay:Shop ; rdfs:label "us" ; lay:currency "GBP" ; lay:rate 60.00 .
shop:disc-240 a lay:Part ; rdfs:label "disc 240" ; lay:kind kind:clutch-disc ; lay:cash 45.00 ; lay:currency "GBP" ."""


@pytest.fixture
def client(tmp_path: Path) -> Iterator[httpx.Client]:
    with notebook_app(tmp_path) as (app, _), served(app) as address, httpx.Client(base_url=address) as made:
        yield made


def add(client: httpx.Client, **changes: Any) -> dict[str, Any]:
    answer = client.post("/notes", json=NOTE | changes)
    assert answer.status_code == 201, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_a_note_is_found_where_the_answer_says(client: httpx.Client) -> None:
    answer = client.post("/notes", json=NOTE)

    assert (answer.status_code, answer.headers["etag"]) == (201, '"1"')
    assert client.get(answer.headers["location"]).json() == answer.json()


def test_a_revision_needs_the_revision_that_was_read(client: httpx.Client) -> None:
    note = add(client)

    answer = client.put(f"/notes/{note['id']}", json=NOTE)

    assert answer.status_code == 428
    assert "If-Match" in answer.json()["detail"]


def test_the_loser_of_a_race_gets_412_and_both_texts(client: httpx.Client) -> None:
    note = add(client)
    path, read = f"/notes/{note['id']}", {"If-Match": '"1"'}
    assert client.put(path, json=NOTE | {"text": "winner"}, headers=read).headers["etag"] == '"2"'

    answer = client.put(path, json=NOTE | {"text": "loser"}, headers=read)

    assert (answer.status_code, answer.headers["etag"]) == (412, '"2"')
    body = answer.json()
    assert (body["sent"]["text"], body["stored"]["text"]) == ("loser", "winner")
    assert answer.headers["content-type"] == "application/problem+json"


def test_a_post_that_is_sent_again_writes_once(client: httpx.Client) -> None:
    key = {"Idempotency-Key": "7f0c"}

    first, second = (client.post("/notes", json=NOTE, headers=key) for _ in range(2))

    assert first.json() == second.json()
    assert client.get("/ledger").json()["position"] == 1


def test_the_same_key_with_another_note_is_a_conflict(client: httpx.Client) -> None:
    key = {"Idempotency-Key": "7f0c"}
    client.post("/notes", json=NOTE, headers=key)

    assert client.post("/notes", json=NOTE | {"text": "other"}, headers=key).status_code == 409


def test_a_note_taken_back_leaves_the_list_and_keeps_its_history(client: httpx.Client) -> None:
    note = add(client)
    path = f"/notes/{note['id']}"

    client.post(f"{path}/retraction", json={"text": "other box"}, headers={"If-Match": '"1"'})

    assert client.get("/notes").json()["notes"] == []
    assert [one["action"] for one in client.get(f"{path}/revisions").json()["notes"]] == ["note", "retract"]


def test_the_past_can_be_read_by_position_and_by_time(client: httpx.Client) -> None:
    note = add(client)
    path = f"/notes/{note['id']}"
    revised = client.put(path, json=NOTE | {"text": "182.6 mm"}, headers={"If-Match": '"1"'}).json()

    assert client.get(path, params={"as_of": "1"}).json()["text"] == NOTE["text"]
    assert client.get(path, params={"as_of": revised["recorded_at"]}).json()["text"] == "182.6 mm"
    assert client.get("/notes", params={"as_of": "2001-01-01"}).json()["notes"] == []


def test_lists_are_paged_and_filtered(client: httpx.Client) -> None:
    for number in range(5):
        add(client, text=f"note {number}", job="17" if number % 2 else "")

    first = client.get("/notes", params={"limit": 2}).json()
    second = client.get("/notes", params={"limit": 2, "after": first["next"]}).json()

    assert [one["text"] for one in first["notes"] + second["notes"]] == [f"note {n}" for n in range(4)]
    assert [one["text"] for one in client.get("/notes", params={"job": "17"}).json()["notes"]] == ["note 1", "note 3"]


def test_facts_in_a_note_answer_the_next_question(client: httpx.Client) -> None:
    assert client.get("/parts/disc-240").status_code == 404

    add(client, statements=FACTS)

    assert client.get("/parts/disc-240").json()["part"]["cash"] == 45


def test_facts_that_break_the_shapes_are_named_in_a_mechanics_words(client: httpx.Client) -> None:
    answer = client.post("/notes", json=NOTE | {"statements": FACTS.replace("45.00", "-45.00")})

    assert answer.status_code == 422
    assert "write 45.00" in answer.json()["problems"][0]["message"]


def test_a_dispute_shows_both_sides(client: httpx.Client) -> None:
    shaft = FACTS.partition("60.00 .")[2].replace("disc-240", "shaft-23").replace("clutch-disc", "input-shaft")
    prefixes = FACTS.partition("shop:us")[0]
    add(client, statements=FACTS + shaft)
    edge = "lay:source shop:disc-240 ; lay:target shop:shaft-23 ; lay:joint kind:clutch-spline"
    add(client, statements=f"{prefixes} shop:e1 a lay:Fits ; {edge} .", evidence="hearsay")
    add(client, statements=f'{prefixes} shop:e2 a lay:DoesNotFit ; {edge} ; lay:reason "loose" .')

    (dispute,) = client.get("/disputes").json()

    assert [(claim["says"], claim["rank"]) for claim in dispute["claims"]] == [("does-not-fit", 1), ("fits", 8)]


@pytest.mark.parametrize(
    ("path", "status"),
    [("/notes/none", 404), ("/notes?limit=0", 422), ("/notes?as_of=yesterday", 422), ("/notes/x/revisions", 404)],
)
def test_what_cannot_be_read_is_a_problem_not_a_crash(client: httpx.Client, path: str, status: int) -> None:
    answer = client.get(path)

    assert (answer.status_code, answer.headers["content-type"]) == (status, "application/problem+json")


@pytest.fixture
def gated(tmp_path: Path) -> Iterator[tuple[httpx.Client, Tokens]]:
    with notebook_app(tmp_path) as (app, notebook):
        tokens = Tokens(notebook.ledger.engine)
        app.add_middleware(Gate, tokens=tokens, required=True)
        with served(app) as address, httpx.Client(base_url=address) as made:
            yield made, tokens


def bearer(secret: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {secret}"}


def test_without_a_token_nothing_is_read_but_health(gated: tuple[httpx.Client, Tokens]) -> None:
    client, _ = gated

    assert client.get("/notes").status_code == 401
    assert client.get("/notes").headers["www-authenticate"].startswith("Bearer")
    assert client.get("/healthz").status_code == 200


def test_a_reader_may_not_write_and_a_note_names_its_token(gated: tuple[httpx.Client, Tokens]) -> None:
    client, tokens = gated
    _, reader = tokens.add("front desk", "read")
    _, writer = tokens.add("bench 2", "note")

    assert client.get("/notes", headers=bearer(reader)).status_code == 200
    assert client.post("/notes", json=NOTE, headers=bearer(reader)).status_code == 403
    assert client.post("/notes", json=NOTE, headers=bearer(writer)).json()["recorded_by"] == "bench 2"


def test_a_revoked_token_opens_nothing(gated: tuple[httpx.Client, Tokens]) -> None:
    client, tokens = gated
    token, secret = tokens.add("bench", "note")
    assert client.get("/notes", headers=bearer(secret)).status_code == 200

    tokens.revoke(token.id)

    assert client.get("/notes", headers=bearer(secret)).status_code == 401


def test_a_browser_signs_in_and_its_changes_carry_the_csrf_token(gated: tuple[httpx.Client, Tokens]) -> None:
    client, tokens = gated
    token, secret = tokens.add("front desk", "note")
    assert client.post("/session", json={"token": "guess"}).status_code == 401

    signed_in = client.post("/session", json={"token": secret})

    assert {"HttpOnly", "SameSite=strict"} <= set(signed_in.headers["set-cookie"].split("; "))
    assert client.get("/notes").status_code == 200
    assert client.post("/notes", json=NOTE).status_code == 401
    csrf = {"X-CSRF-Token": signed_in.json()["csrf_token"]}
    assert client.post("/notes", json=NOTE, headers=csrf).json()["recorded_by"] == "front desk"
    tokens.revoke(token.id)
    assert client.get("/notes").status_code == 401


def test_listening_to_others_without_a_token_is_refused(gated: tuple[httpx.Client, Tokens]) -> None:
    _, tokens = gated

    with pytest.raises(InvalidInput, match="python -m graph token add"):
        check_listening("0.0.0.0", tokens)

    assert [check_listening(host, tokens) for host in ("127.0.0.1", "::1", "localhost")] == [False] * 3
    tokens.add("desk", "manage")
    assert check_listening("192.0.2.7", tokens)


def test_a_client_that_hurries_is_asked_to_slow_down(tmp_path: Path) -> None:
    with notebook_app(tmp_path) as (app, notebook):
        app.add_middleware(Gate, tokens=Tokens(notebook.ledger.engine), required=False, rate=RateLimit(0.01, burst=3))
        with served(app) as address:
            statuses = [httpx.get(f"{address}/ledger").status_code for _ in range(4)]

    assert statuses == [200, 200, 200, 429]


@pytest.mark.parametrize("headers", [{"Host": "evil.example"}, {"Origin": "https://evil.example"}, {"Origin": "null"}])
def test_another_web_site_cannot_make_the_browser_write(tmp_path: Path, headers: dict[str, str]) -> None:
    with notebook_app(tmp_path) as (app, notebook):
        app.add_middleware(Gate, tokens=Tokens(notebook.ledger.engine), required=False)
        with served(app) as address:
            assert httpx.post(f"{address}/notes", json=NOTE, headers=headers).status_code == 403
            assert httpx.post(f"{address}/notes", json=NOTE, headers={"Origin": address}).status_code == 201
