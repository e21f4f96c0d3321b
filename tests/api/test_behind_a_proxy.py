"""Behind a proxy: who asks, over what, under which name; only a named proxy is believed.

What is right: RFC 7239 (its own examples, sections 4, 6 and 7.1), RFC 9110, 15.5.20 (421), RFC 6265 (cookies); common
practice for X-Forwarded-For. Addresses are of RFC 5737 and RFC 3849: nobody's.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from fastapi import FastAPI, Request
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st

from api.front import Front, Hop, ReachedThroughProxy, UnreadableForwarding, forwarded
from api.roles import needs
from api.security import Gate, check_listening
from api.settings import PREFIX, Settings
from graph.errors import InvalidInput
from graph.ledger.tokens import Tokens
from tests.api.notebooks import notebook_app

PROXY, CLIENT = "192.0.2.43", "198.51.100.17"
FRONT = Front.of(Settings(proxies=f"{PROXY}, 203.0.113.0/24"))
README = Path(__file__).parents[2] / "README.md"


def told(front: Front = FRONT, **headers: str) -> Hop | None:
    return forwarded([(name.replace("_", "-").encode(), value.encode()) for name, value in headers.items()], front)


@pytest.mark.parametrize(
    ("header", "hop"),
    [
        ('For="[2001:db8:cafe::17]:4711"', Hop("2001:db8:cafe::17")),  # section 4
        ("for=192.0.2.60;proto=http;by=203.0.113.43", Hop("192.0.2.60", "http")),
        ("for=192.0.2.43, for=198.51.100.17", Hop("198.51.100.17")),
        ('for="_gazonk"', Hop("_gazonk")),
        ('for="192.0.2.60:8080" ; host="Shop.example"', Hop("192.0.2.60", "", "Shop.example")),
        ("for=unknown;proto=HTTPS", Hop("unknown", "https")),  # section 6.2
        ("for=198.51.100.1;proto=http, for=198.51.100.17;proto=https, for=203.0.113.9", Hop(CLIENT, "https")),
        ("for=203.0.113.9, for=192.0.2.43", Hop("203.0.113.9")),  # all of them proxies: the first
    ],
)
def test_the_client_is_the_rightmost_hop_that_is_no_named_proxy(header: str, hop: Hop) -> None:
    assert told(forwarded=header) == hop


@pytest.mark.parametrize(
    "header",
    ["", "for", "for=", "for=1;for=2", 'for="', "for=192.0.2.1 junk", 'for="[::1"', "for=1.2.3.4;proto=gopher"],
)
def test_what_is_no_forwarded_header_is_refused(header: str) -> None:
    with pytest.raises(UnreadableForwarding):
        told(forwarded=header)


def test_the_headers_of_common_practice_say_the_same() -> None:
    assert told(x_forwarded_for=f"198.51.100.1, {CLIENT}, 203.0.113.9", x_forwarded_proto="https") == Hop(
        CLIENT, "https"
    )
    assert told(x_forwarded_for="2001:db8::1") == Hop("2001:db8::1")
    assert told(x_forwarded_for=f"{CLIENT}:4711", x_forwarded_host="a.example") == Hop(CLIENT, "", "a.example")
    assert told() is None


def test_two_headers_that_disagree_are_refused_and_that_agree_are_read() -> None:
    """One of them may be the client's own, passed on by a proxy that does not know it."""
    with pytest.raises(UnreadableForwarding, match="different things"):
        told(forwarded="for=127.0.0.1", x_forwarded_for=CLIENT)

    assert told(forwarded=f"for={CLIENT}", x_forwarded_for=CLIENT) == Hop(CLIENT)


@given(st.text(st.characters(max_codepoint=255), max_size=60), st.sampled_from(["forwarded", "x_forwarded_for"]))
def test_no_text_does_more_than_be_refused(text: str, name: str) -> None:
    try:
        forwarded([(name.replace("_", "-").encode(), text.encode("latin-1"))], FRONT)
    except UnreadableForwarding as error:
        assert len(str(error)) < 300


# In the service


@contextmanager
def shop(folder: Path, settings: Settings, required: bool = True) -> Iterator[tuple[FastAPI, Tokens]]:
    with notebook_app(folder) as (app, notebook):
        tokens = Tokens(notebook.ledger.engine)
        app.add_middleware(Gate, tokens=tokens, required=required)
        app.add_middleware(ReachedThroughProxy, front=Front.of(settings))

        @app.get("/who")
        @needs("read")
        async def who(request: Request) -> list[str]:
            return [request.client.host if request.client else "", str(request.base_url)]

        yield app, tokens


def from_(app: FastAPI, address: str, host: str = "shop.example") -> TestClient:
    return TestClient(app, base_url=f"http://{host}", client=(address, 50_000), follow_redirects=False)


def test_a_named_proxy_is_believed_and_nobody_else_is(tmp_path: Path) -> None:
    with shop(tmp_path, Settings(proxies=PROXY)) as (app, tokens):
        bearer = {"Authorization": f"Bearer {tokens.add('desk', 'read')[1]}"}
        said = bearer | {"Forwarded": f"for={CLIENT};proto=https;host=a.example"}

        by_proxy = from_(app, PROXY).get("/who", headers=said).json()
        by_another = from_(app, "198.51.100.1").get("/who", headers=said).json()

    assert by_proxy == [CLIENT, "https://a.example/"]
    assert by_another == ["198.51.100.1", "http://shop.example/"]


def test_the_address_outside_stands_in_what_the_service_says_of_itself(tmp_path: Path) -> None:
    settings = Settings(proxies=PROXY, address="https://layshaft.shop.example")
    with shop(tmp_path, settings) as (app, tokens):
        secret = tokens.add("desk", "note")[1]
        client = from_(app, PROXY, "layshaft.shop.example")
        client.headers["X-Forwarded-For"] = CLIENT

        who = client.get("/who", headers={"Authorization": f"Bearer {secret}"}).json()
        signed = client.post("/session", json={"token": secret}, headers={"Origin": "https://layshaft.shop.example"})
        foreign = client.post("/session", json={"token": secret}, headers={"Origin": "https://else.example"})

    assert who == [CLIENT, "https://layshaft.shop.example/"]
    assert (signed.status_code, foreign.status_code) == (200, 403)
    assert {"Secure", "HttpOnly", "SameSite=strict"} <= set(signed.headers["set-cookie"].split("; "))


def test_only_the_named_hosts_are_answered(tmp_path: Path) -> None:
    settings = Settings(hosts="shop.example", address="https://layshaft.shop.example", proxies=PROXY)
    with shop(tmp_path, settings) as (app, _):
        asked = {
            host: from_(app, address, host).get("/healthz").status_code
            for host, address in (("shop.example", CLIENT), ("layshaft.shop.example:443", PROXY),
                                  ("else.example", CLIENT), ("127.0.0.1", CLIENT))
        }  # fmt: skip
        at_the_machine = from_(app, "127.0.0.1", "localhost").get("/healthz").status_code

    assert asked == {"shop.example": 200, "layshaft.shop.example:443": 200, "else.example": 421, "127.0.0.1": 421}
    assert at_the_machine == 200


def test_loopback_gives_no_rights_once_a_proxy_is_named(tmp_path: Path) -> None:
    with shop(tmp_path, Settings(proxies="127.0.0.1")) as (app, tokens):
        front = Front.of(Settings(proxies="127.0.0.1"))
        with pytest.raises(InvalidInput, match="python -m graph token add"):
            check_listening("127.0.0.1", tokens, front)
        tokens.add("owner", "manage")

        assert check_listening("127.0.0.1", tokens, front)
        assert not check_listening("127.0.0.1", tokens)
        assert from_(app, "127.0.0.1").get("/who").status_code == 401


def test_a_proxy_that_nobody_named_gets_no_rights_of_loopback(tmp_path: Path) -> None:
    with shop(tmp_path, Settings(), required=False) as (app, _):
        client = from_(app, "127.0.0.1", "127.0.0.1")

        refused = client.get("/who", headers={"X-Forwarded-For": CLIENT})

        assert (refused.status_code, client.get("/who").status_code) == (403, 200)
        assert "LAYSHAFT_PROXIES" in refused.json()["detail"]


def test_what_a_named_proxy_garbles_is_a_problem_not_a_crash(tmp_path: Path) -> None:
    with shop(tmp_path, Settings(proxies=PROXY)) as (app, _):
        answer = from_(app, PROXY).get("/healthz", headers={"Forwarded": "for"})

    assert (answer.status_code, answer.headers["content-type"]) == (400, "application/problem+json")


# Settings


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("PROXIES", "the proxy"), ("PROXIES", "192.0.2.1/8"), ("HOSTS", "https://a.example"), ("HOSTS", "a.example:80"),
        ("ADDRESS", "a.example"), ("ADDRESS", "https://a.example/layshaft"), ("ADDRESS", "ftp://a.example"),
        ("MOST_UNDER_WAY", "0"),
    ],
)  # fmt: skip
def test_a_setting_that_is_not_as_it_should_be_is_named(name: str, text: str) -> None:
    with pytest.raises(ValueError, match=PREFIX + name):
        Settings.from_environment({PREFIX + name: text})


def test_every_setting_stands_in_the_readme() -> None:
    names = [PREFIX + field.name.upper() for field in dataclasses.fields(Settings)]
    names += ["LAYSHAFT_DATA", "LAYSHAFT_DATABASE", "LAYSHAFT_WORKERS"]

    text = README.read_text(encoding="utf-8")

    assert [name for name in names if f"`{name}" not in text] == []
