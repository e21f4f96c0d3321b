"""What `graph/fits` computes, somebody outside of the tests can reach."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).parents[2]
FITS = sorted((ROOT / "graph" / "fits").glob("*.py"))
OTHERS = [
    path for top in ("graph", "api", "scripts") for path in (ROOT / top).rglob("*.py") if path.parent.name != "fits"
]


def named(node: ast.AST) -> set[str]:
    """Every name, attribute and imported name under a node."""
    found = set()
    for each in ast.walk(node):
        if isinstance(each, ast.Name):
            found.add(each.id)
        elif isinstance(each, ast.Attribute):
            found.add(each.attr)
        elif isinstance(each, ast.ImportFrom | ast.Import):
            found |= {alias.name for alias in each.names}
    return found


def members(module: ast.Module) -> dict[str, set[str]]:
    """Functions, classes and methods of a module with what each names; its own other statements under ''."""
    found: dict[str, set[str]] = {"": set()}
    for node in module.body:
        if isinstance(node, ast.FunctionDef):
            found.setdefault(node.name, set()).update(named(node) - {node.name})
        elif isinstance(node, ast.ClassDef):
            rest = set()
            for each in node.body:
                if isinstance(each, ast.FunctionDef) and not each.name.startswith("__"):
                    found.setdefault(each.name, set()).update(named(each) - {each.name})
                else:
                    rest |= named(each)
            found.setdefault(node.name, set()).update(rest.union(*map(named, node.bases)))
        elif not isinstance(node, ast.ImportFrom | ast.Import):
            found[""] |= named(node)
    return found


def test_every_function_of_fits_is_reached_from_a_door() -> None:
    known: dict[str, set[str]] = {}
    reached: set[str] = set()
    for path in FITS:
        for name, names in members(ast.parse(path.read_text(encoding="utf-8"))).items():
            known.setdefault(name, set()).update(names)
    for path in OTHERS:
        reached |= named(ast.parse(path.read_text(encoding="utf-8")))
    waiting = [*known.pop(""), *reached]
    seen: set[str] = set()
    while waiting:
        name = waiting.pop()
        if name in known and name not in seen:
            seen.add(name)
            waiting += known[name]

    assert sorted(set(known) - seen) == []
