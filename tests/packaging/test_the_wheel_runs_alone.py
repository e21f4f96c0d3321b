"""The wheel carries facts, templates and static files, and runs where there is no checkout."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
CONVERSION = ROOT / "tests" / "conversions" / "hand-0.35.json"


def _run(*command: str, cwd: Path, path: str = "") -> subprocess.CompletedProcess[str]:
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "LAYSHAFT"))}
    if path:
        environment["PYTHONPATH"] = path
    return subprocess.run(command, cwd=cwd, env=environment, text=True, capture_output=True, timeout=300)


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built from what git knows or would take in, in a folder of its own, so that nothing else can slip in."""
    source, target = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("dist")
    wanted = ("graph", "api", "facts", "pyproject.toml", "README.md")
    listing = ["git", "ls-files", "-coz", "--exclude-standard", *wanted]
    names = subprocess.run(listing, cwd=ROOT, capture_output=True, check=True).stdout
    for name in filter(None, names.decode().split("\0")):
        if (ROOT / name).is_file():
            (source / name).parent.mkdir(parents=True, exist_ok=True)
            (source / name).write_bytes((ROOT / name).read_bytes())
    command = (sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(target), str(source))
    built = _run(*command, cwd=target)
    if built.returncode and "No matching distribution" in built.stdout + built.stderr:
        pytest.skip("the build backend cannot be fetched here")
    assert built.returncode == 0, built.stderr
    return next(target.glob("layshaft-*.whl"))


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    """A search path with the wheel unpacked (as an installer does) and this environment's other packages."""
    site = tmp_path_factory.mktemp("site")
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(site)
    return f"{site}{os.pathsep}{sysconfig.get_path('purelib')}"


def test_it_holds_every_file_that_is_read_at_run_time(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as packed:
        held = set(packed.namelist())

    for folder in ("facts", "graph", "api"):
        for file in (ROOT / folder).rglob("*"):
            if file.suffix in (".ttl", ".csv", ".html", ".css", ".js", ".mako") and _is_known(file):
                assert str(file.relative_to(ROOT)) in held
    assert not any(name.startswith(("tests/", "scripts/")) for name in held)


def _is_known(file: Path) -> bool:
    command = ["git", "ls-files", "--error-unmatch", str(file.relative_to(ROOT))]
    return subprocess.run(command, cwd=ROOT, capture_output=True).returncode == 0


def test_it_solves_outside_the_checkout(installed: str, tmp_path: Path) -> None:
    """The hand example: 767 is 641 + 361 x 0.35 = 767.35, looking first; 844.20 = 581 + 752 x 0.35, blind."""
    done = _run(sys.executable, "-m", "graph", "solve", str(CONVERSION), cwd=tmp_path, path=installed)

    answer = json.loads(done.stdout)
    assert answer["routes"][0]["expected"] == 844.2
    assert answer["look_first"]["expected"] == 767.35


def test_it_answers_a_question_of_the_demo_outside_the_checkout(installed: str, tmp_path: Path) -> None:
    done = _run(
        sys.executable, "-m", "graph", "ask", "hollin-5", "ouzel-20", "--json", cwd=tmp_path, path=installed
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["status"] == "if it holds"


def test_the_service_starts_outside_the_checkout_and_keeps_its_data_where_it_was_started(
    installed: str, tmp_path: Path
) -> None:
    done = _run(sys.executable, "-m", "api", "--no-serve", cwd=tmp_path, path=installed)

    assert done.returncode == 0, done.stderr
    assert (tmp_path / "data").is_dir()
