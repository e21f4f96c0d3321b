"""`python -m api --host`: no login on loopback, whatever its number; elsewhere an access token, or no service."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from graph.ledger.book import Ledger
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.tokens import Tokens

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name

ROOT = Path(__file__).parents[2]
START = [sys.executable, "-u", "-m", "api", "--port", "0"]
NOTE = {"text": "Disc slides on the shaft.", "author": "bench", "evidence": "measured-on-these-parts"}


@contextmanager
def running(data: Path, host: str) -> Iterator[int]:
    """The service in a process of its own; yields its port."""
    service = subprocess.Popen(
        [*START, "--data", str(data), "--host", host], stdout=subprocess.PIPE, text=True, cwd=ROOT
    )
    try:
        assert service.stdout is not None
        printed = next(line for line in service.stdout if line.startswith("Open http"))
        yield int(re.search(r":(\d+) ", printed)[1])  # type: ignore[index]
    finally:
        service.terminate()
        service.communicate(timeout=20)


def token_in(data: Path, role: str) -> str:
    data.mkdir(exist_ok=True)
    engine = open_database(sqlite_url(data / "ledger.db"))
    Ledger(engine)
    _, secret = Tokens(engine).add(f"tablet that may {role}", role)
    engine.dispose()
    return secret


def test_another_loopback_address_asks_for_no_login(tmp_path: Path) -> None:
    with running(tmp_path, "127.0.0.2") as port:
        assert httpx.post(f"http://127.0.0.2:{port}/notes", json=NOTE).status_code == 201
        with pytest.raises(httpx.ConnectError):
            httpx.get(f"http://127.0.0.1:{port}/healthz")


def test_an_address_that_others_can_reach_needs_a_token_to_start(tmp_path: Path) -> None:
    done = subprocess.run([*START, "--data", str(tmp_path), "--host", "0.0.0.0"], capture_output=True, text=True,
                          cwd=ROOT, timeout=60, check=False)  # fmt: skip

    assert done.returncode == 2
    printed = done.stderr.partition("is needed: ")[2].strip()
    assert "python -m graph token add NAME --role manage" in printed
    as_printed = subprocess.run(printed, shell=True, capture_output=True, text=True, cwd=ROOT, timeout=60, check=False)
    assert as_printed.stdout.startswith("lay_"), as_printed.stderr
    engine = open_database(sqlite_url(tmp_path / "ledger.db"))
    assert [token.name for token in Tokens(engine).list_tokens()] == ["NAME"]
    engine.dispose()
    assert "Serving" not in done.stdout


def test_an_address_that_is_not_this_machines_is_told_in_words(tmp_path: Path) -> None:
    token_in(tmp_path, "read")

    done = subprocess.run(
        [*START, "--data", str(tmp_path), "--host", "192.0.2.7"],
        capture_output=True,
        text=True,
        cwd=ROOT,
        timeout=60,
        check=False,
    )  # fmt: skip  (RFC 5737: nobody's address)

    assert done.returncode == 2
    assert "cannot listen on 192.0.2.7" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str, str]]:
    """A service that others can reach: its address, a token that may note, one that may read."""
    data = tmp_path_factory.mktemp("data")
    may_note, may_read = token_in(data, "note"), token_in(data, "read")
    with running(data, "0.0.0.0") as port:
        yield f"http://127.0.0.1:{port}", may_note, may_read


def test_every_request_needs_the_token_and_its_role(shop: tuple[str, str, str]) -> None:
    address, may_note, may_read = shop

    assert httpx.get(f"{address}/notes").status_code == 401
    assert httpx.get(f"{address}/healthz").status_code == 200
    assert httpx.get(f"{address}/notes", headers={"Authorization": f"Bearer {may_read}"}).status_code == 200
    for secret, status in ((may_read, 403), (may_note, 201)):
        sent = httpx.post(f"{address}/notes", json=NOTE, headers={"Authorization": f"Bearer {secret}"})
        assert sent.status_code == status


def test_a_browser_is_led_to_the_sign_in_page_and_on_to_what_it_wanted(shop: tuple[str, str, str]) -> None:
    address, may_note, _ = shop
    with httpx.Client(base_url=address, headers={"Accept": "text/html"}) as browser:
        led = browser.get("/notebook?words=box")
        assert (led.status_code, led.headers["location"]) == (303, "/sign-in?wanted=/notebook%3Fwords%3Dbox")
        page = browser.get(led.headers["location"])
        assert "parts" not in page.text  # nothing of the workshop is shown
        form = {"form_token": re.search(r'name="form_token" value="([^"]+)"', page.text)[1],  # type: ignore[index]
                "wanted": "/notebook?words=box", "token": may_note}  # fmt: skip

        assert browser.post("/sign-in", data={**form, "token": "lay_wrong"}).status_code == 401
        signed = browser.post("/sign-in", data=form, headers={"Origin": address})

        assert (signed.status_code, signed.headers["location"]) == (303, "/notebook?words=box")
        assert "HttpOnly" in signed.headers["set-cookie"]
        assert browser.get("/notebook?words=box").status_code == 200
        assert browser.post("/notes", json=NOTE, headers={"Origin": address}).status_code == 201
        assert browser.post("/notes", json=NOTE, headers={"Origin": "https://else.example"}).status_code == 403
        assert browser.post("/notes", json=NOTE).status_code == 401  # neither from our page nor with its token
        browser.post("/sign-out", headers={"Origin": address})
        assert browser.get("/notebook").status_code == 303


def test_nobody_is_sent_to_another_site_after_signing_in(shop: tuple[str, str, str]) -> None:
    page = httpx.get(f"{shop[0]}/sign-in", params={"wanted": "//else.example/"})

    assert 'name="wanted" value="/"' in page.text
