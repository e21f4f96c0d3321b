"""Imports point one way: api -> graph; the search and the conversion stand alone; the core knows no HTTP."""

from __future__ import annotations

import ast
from collections.abc import Container, Iterator
from pathlib import Path

import networkx as nx
import pytest

ROOT = Path(__file__).resolve().parents[1]
WEB = ("api", "fastapi", "starlette", "uvicorn", "pydantic")
RDF = ("rdflib", "pyshacl", "pyoxigraph")
STORES = ("sqlalchemy", "alembic", "psycopg", "sqlite3")
SOLVERS = ("ortools", "highspy", "unified_planning")
FORBIDDEN = {
    "graph": (*WEB, *SOLVERS),
    "graph/conversion": (*RDF, *STORES, "graph.catalogue", "graph.ledger", "graph.reading", "graph.search"),
    "graph/search": (*RDF, *STORES, "graph.catalogue", "graph.ledger", "graph.reading"),
    "graph/catalogue": (*STORES, "graph.reading", "graph.search", "graph.answer", "graph.ledger", "graph.conversion"),
}


def imported(source: str, package: str) -> Iterator[str]:
    """The modules that a file imports, in full, wherever in the file the import stands."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            stem = package.split(".")[: len(package.split(".")) - node.level + 1] if node.level else []
            module = ".".join([*stem, *filter(None, [node.module])])
            yield module
            yield from (f"{module}.{alias.name}" for alias in node.names)


def package_of(file: Path) -> str:
    return ".".join(file.relative_to(ROOT).parent.parts)


def module_of(file: Path) -> str:
    return package_of(file) if file.name == "__init__.py" else f"{package_of(file)}.{file.stem}"


def nearest(name: str, known: Container[str]) -> str:
    """The module that holds the name: itself, or what it was taken from; "" if it is none of ours."""
    return next((one for one in (name, name.rpartition(".")[0]) if one in known), "")


def wrong_imports(folder: str, forbidden: tuple[str, ...]) -> list[str]:
    found = []
    for file in sorted((ROOT / folder).rglob("*.py")):
        for name in imported(file.read_text(encoding="utf-8"), package_of(file)):
            if any(name == bad or name.startswith(bad + ".") for bad in forbidden):
                found.append(f"{file.relative_to(ROOT)} imports {name}")
    return found


@pytest.mark.parametrize("folder", FORBIDDEN)
def test_imports_point_one_way(folder: str) -> None:
    assert (ROOT / folder).is_dir()
    assert wrong_imports(folder, FORBIDDEN[folder]) == []


def test_an_import_inside_a_function_or_from_a_parent_is_seen() -> None:
    source = "def f():\n    from ..catalogue import load\n"

    assert "graph.catalogue.load" in list(imported(source, "graph.search"))


def test_the_model_needs_nothing_but_the_standard_library() -> None:
    own = ("graph.catalogue.model", "graph.catalogue.terms", "graph.common_cause")
    files = [ROOT / f"{module.replace('.', '/')}.py" for module in own]
    names = {name for file in files for name in imported(file.read_text(encoding="utf-8"), package_of(file))}
    outside = {name for name in names if not name.startswith(own)}

    assert {name.split(".")[0] for name in outside} <= {"__future__", "collections", "dataclasses", "fractions"}


def test_no_two_modules_import_each_other_in_a_circle() -> None:
    files = {module_of(file): file for folder in ("graph", "api") for file in (ROOT / folder).rglob("*.py")}
    arrows = nx.DiGraph(
        (module, nearest(name, files))
        for module, file in files.items()
        for name in imported(file.read_text(encoding="utf-8"), package_of(file))
        if nearest(name, files) not in (module, "")
    )

    assert arrows.number_of_edges() > len(files)  # something was read
    assert [sorted(circle) for circle in nx.strongly_connected_components(arrows) if len(circle) > 1] == []


def test_no_two_classes_have_one_name() -> None:
    places: dict[str, list[str]] = {}
    for folder in ("graph", "api"):
        for file in sorted((ROOT / folder).rglob("*.py")):
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                if isinstance(node, ast.ClassDef):
                    places.setdefault(node.name, []).append(f"{file.relative_to(ROOT)}:{node.lineno}")

    assert len(places) > 500
    assert {name: found for name, found in places.items() if len(found) > 1} == {}
