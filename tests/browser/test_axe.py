"""axe-core, an accessibility engine by others, finds no violation on any page, light and dark.

It comes from the npm registry at test time and is not kept in the repository. Source of the rules: WCAG 2.2, A and AA.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import LARGE_AND_LIGHT, Open
from tests.rotating import todays

AXE = "axe-core@4.10.3"
QUESTION = "gearbox=tansy-5&engine=ouzel-20&vehicle=sorrel-pick-up&known.torque_nm=180"
PATHS = {
    "home": "/", "ask": "/ask", "ask refilled": f"/ask?{QUESTION}&avoid=plate-15&own=lever-extension", "tour": "/tour",
    "in words": "/ask/in-words?words=tansy+five+speed+behind+a+zebra,+no+plate,+under+9",
    "words": "/words?text=shoulder",
    "unknown unit": "/answer?gearbox=tansi&engine=ouzel-20", "compare": f"/compare?{QUESTION}&changes=yes",
    "route": f"/route?{QUESTION}", "impossible": "/route?gearbox=tansy-5&engine=pipit-16",
    "no route": "/compare?gearbox=hollin-5&engine=ouzel-20&known.torque_nm=260&known.tools=puller",
    "used gearbox": "/used-box?gearbox=tansy-5&t.shaft-rocks=yes&asking=300",
    "while it is out": "/while-it-is-out?gearbox=tansy-5&engine=pipit-16&warranty=24",
    "error": "/compare?gearbox=nothing&engine=like-it",
}  # fmt: skip
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture(scope="session")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The engine's source."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("no npm on this machine to fetch axe-core with: apt-get install npm")
    folder: Path = tmp_path_factory.mktemp("axe")
    command = [npm, "install", "--prefix", str(folder), "--no-audit", "--no-fund", "--ignore-scripts", AXE]
    done = subprocess.run(command, capture_output=True, text=True, timeout=180, check=False)
    if done.returncode:
        pytest.skip(f"axe-core could not be fetched from the npm registry: {done.stderr.strip()[-200:]}")
    return (folder / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")


def violations(page: Page, axe: str, name: str) -> list[str]:
    """What the engine finds on the page as it stands, with all that can be folded out open."""
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    page.wait_for_load_state("networkidle")
    page.evaluate(axe)
    result = page.evaluate("rules => axe.run({ runOnly: rules })", RULES)
    return [
        f"{name}: {rule['id']}: {rule['help']}: {node['html'][:200]} {node['failureSummary'][:300]}"
        for rule in result["violations"]
        for node in rule["nodes"][:3]
    ]


@LARGE_AND_LIGHT
def test_no_page_has_a_violation(visit: Open, axe: str, scheme: str, size: tuple[int, int]) -> None:
    browser = visit(size, scheme=scheme)
    found = []
    for name, path in todays(list(PATHS.items()), 2):
        found += violations(browser.go(path), axe, name)
        browser.keep(f"{scheme}-{name.replace(' ', '-')}")

    assert found == []
