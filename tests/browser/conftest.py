"""The whole service on loopback, and a real Chromium (Debian's) that drives its pages.

Screenshots go to LAYSHAFT_SCREENSHOTS, or to a temporary folder. Skipped with the reason where there is no Chromium.
"""

from __future__ import annotations

import os
import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import BrowserContext, Page, Playwright, expect, sync_playwright

from api.service import opened_service
from api.settings import Settings
from tests.rotating import todays

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
PHONE, BENCH = (390, 844), (1280, 800)
_ALL = [(BENCH, "light"), (PHONE, "dark"), (BENCH, "dark"), (PHONE, "light")]


def _looks(chosen: tuple[tuple[int, int], str]) -> pytest.MarkDecorator:
    every = os.environ.get("LAYSHAFT_ALL_LOOKS")
    return pytest.mark.parametrize(
        ("size", "scheme"),
        _ALL if every else [chosen],
        ids=lambda value: value if isinstance(value, str) else f"{value[0]} wide",
    )


# Layout hangs on the size, colours on the scheme: some pages are looked at large and light, others small and dark; with
# LAYSHAFT_ALL_LOOKS all of them in every way.
LARGE_AND_LIGHT, SMALL_AND_DARK = _looks(_ALL[0]), _looks(_ALL[1])
_WITH = [(PHONE, False), (BENCH, True), (PHONE, True), (BENCH, False)]
# Likewise each size once and scripts on and off once.
WAYS = pytest.mark.parametrize(
    ("size", "scripts"),
    _WITH if os.environ.get("LAYSHAFT_ALL_LOOKS") else _WITH[:2],
    ids=["phone, no scripts", "bench, scripts", "phone, scripts", "bench, no scripts"][
        : 4 if os.environ.get("LAYSHAFT_ALL_LOOKS") else 2
    ],
)
A_WAY_A_DAY = pytest.mark.parametrize(("size", "scripts"), todays(_WITH[:2], 2), ids=lambda value: str(value))
PATIENCE_MS = int(os.environ.get("PAT", "20000"))  # a busy machine may be slow; nothing here is about speed
expect.set_options(timeout=PATIENCE_MS)


@pytest.fixture(scope="session")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Where the service listens: the demo workshop over a fresh data folder."""
    with served(tmp_path_factory.mktemp("data")) as where:
        yield where


@contextmanager
def served(data: Path) -> Iterator[str]:
    """The address of a service over a data folder, in a thread of this process."""
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    listener.listen(128)
    with opened_service(data, Settings()) as (app, _):
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.02)
        yield f"http://127.0.0.1:{listener.getsockname()[1]}"
        server.should_exit = True
        thread.join(timeout=10)
    listener.close()


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    if CHROMIUM is None:
        pytest.skip("no Chromium on this machine: apt-get install chromium")
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def screenshots(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder for screenshots."""
    named = os.environ.get("LAYSHAFT_SCREENSHOTS")
    folder = Path(named) if named else tmp_path_factory.mktemp("screenshots")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


class Visit:
    """A page in a fresh profile; everything that a page complains of is kept in `complaints`."""

    def __init__(self, context: BrowserContext, address: str, screenshots: Path, name: str):
        self.page: Page = context.pages[0] if context.pages else context.new_page()
        self.address, self.screenshots, self.name = address, screenshots, name
        self.complaints: list[str] = []
        self.page.on("console", lambda said: self._complain(said.type in ("error", "warning"), said.text))
        self.page.on("pageerror", lambda error: self._complain(True, str(error)))
        self.page.on("request", lambda asked: self._complain(not asked.url.startswith((address, "data:")), asked.url))
        self.page.on("response", lambda got: self._complain(got.status >= 400, f"{got.status} {got.url}"))

    def _complain(self, really: bool, text: str) -> None:
        if really:
            self.complaints.append(text)

    def go(self, path: str) -> Page:
        self.page.goto(self.address + path, wait_until="load")
        return self.page

    def keep(self, name: str) -> None:
        """A screenshot of the whole page, looked at by people."""
        self.page.screenshot(path=self.screenshots / f"{self.name}-{name}.png", full_page=True)
        # A screenshot that is taller than the screen leaves the next click off by what it had scrolled.
        self.page.mouse.wheel(0, 1)
        self.page.mouse.wheel(0, -1)

    def fits_the_screen(self) -> bool:
        """Whether nothing but what may be slid sideways is wider than the screen."""
        self.page.wait_for_load_state()  # after a click the document may be there before it has anything in it
        return bool(self.page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"))


Open = Callable[..., Visit]


@pytest.fixture
def visit(
    playwright: Playwright, address: str, screenshots: Path, tmp_path: Path, request: pytest.FixtureRequest
) -> Iterator[Open]:
    """Opens a browser: `visit(size, scripts=True, scheme="light")`."""
    opened: list[BrowserContext] = []

    def open_browser(size: tuple[int, int] = BENCH, scripts: bool = True, scheme: str = "light") -> Visit:
        context = playwright.chromium.launch_persistent_context(
            tmp_path / f"profile-{len(opened)}", executable_path=CHROMIUM, headless=True, args=list(FLAGS),
            viewport={"width": size[0], "height": size[1]}, java_script_enabled=scripts,
            color_scheme=scheme,  # type: ignore[arg-type]
        )  # fmt: skip
        context.set_default_timeout(PATIENCE_MS)
        opened.append(context)
        name = f"{request.node.name.partition('[')[0].removeprefix('test_')[:40]}-{size[0]}"
        return Visit(context, address, screenshots, name if scripts else f"{name}-no-scripts")

    yield open_browser
    for context in opened:
        context.close()
