"""The source archive holds what the wheel is made from, and nothing of the workshop it was made in."""

from __future__ import annotations

import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
BUILD = "import sys; from setuptools import build_meta; print(build_meta.build_{kind}(sys.argv[1]))"
MOST_BYTES = 3_000_000  # far above the sum of the facts and the code, far below any environment or database


def _run(*command: str, cwd: Path, path: Path | None = None) -> subprocess.CompletedProcess[str]:
    environment = {"PATH": "/usr/bin:/bin", "HOME": str(cwd), **({"PYTHONPATH": str(path)} if path else {})}
    return subprocess.run(command, cwd=cwd, env=environment if path else None, text=True, capture_output=True)


@pytest.fixture(scope="module")
def builder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The build backend that pyproject.toml asks for, in a folder of its own."""
    folder = tmp_path_factory.mktemp("builder")
    command = (sys.executable, "-m", "pip", "install", "--quiet", "--target", str(folder), "setuptools>=77")
    if _run(*command, cwd=folder).returncode:
        pytest.skip("the build backend cannot be fetched here")
    return folder


@pytest.fixture(scope="module")
def archive(builder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built from a copy of what git would take in, beside an environment and a ledger that must stay out."""
    source, target = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("dist")
    names = subprocess.run(["git", "ls-files", "-coz", "--exclude-standard"], cwd=ROOT, capture_output=True, check=True)
    for name in filter(None, names.stdout.decode().split("\0")):
        if (ROOT / name).is_file():
            (source / name).parent.mkdir(parents=True, exist_ok=True)
            (source / name).write_bytes((ROOT / name).read_bytes())
    for stray in (".venv/lib/stray.py", "data/ledger.db", ".env"):
        (source / stray).parent.mkdir(parents=True, exist_ok=True)
        (source / stray).write_text("stray")
    done = _run(sys.executable, "-c", BUILD.format(kind="sdist"), str(target), cwd=source, path=builder)
    assert done.returncode == 0, done.stderr
    return next(target.glob("layshaft-*.tar.gz"))


def test_it_holds_code_facts_and_papers_only(archive: Path) -> None:
    with tarfile.open(archive) as packed:
        held = {name.partition("/")[2] for name in packed.getnames()}

    tops = {name.partition("/")[0] for name in held if name}
    # setuptools takes in test files that lie directly in tests/; they do no harm
    assert tops <= {"graph", "api", "facts", "tests", "pyproject.toml", "README.md", "PKG-INFO", "setup.cfg",
                    "layshaft.egg-info"}  # fmt: skip
    assert not [name for name in held if name.endswith((".db", ".env", ".pyc")) or "stray" in name]
    assert archive.stat().st_size < MOST_BYTES


def test_the_wheel_made_from_it_is_the_wheel_made_from_the_checkout(
    archive: Path, builder: Path, tmp_path: Path
) -> None:
    with tarfile.open(archive) as packed:
        packed.extractall(tmp_path / "unpacked", filter="data")
    (unpacked,) = (tmp_path / "unpacked").iterdir()

    done = _run(sys.executable, "-c", BUILD.format(kind="wheel"), str(tmp_path), cwd=unpacked, path=builder)

    assert done.returncode == 0, done.stderr
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        held = set(wheel.namelist())
    listed = subprocess.run(["git", "ls-files", "graph", "api", "facts"], cwd=ROOT, text=True, capture_output=True)
    wanted = {name for name in listed.stdout.splitlines() if (ROOT / name).is_file()}
    assert {name for name in held if not name.startswith("layshaft-")} >= wanted
    assert not [name for name in held if name.startswith(("tests/", "scripts/"))]
