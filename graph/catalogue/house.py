"""The house's own facts (vocabulary, shapes, kinds), read once for as long as their files stay the same.

Every reading begins with them, and they are most of the work of a small one.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from graph.catalogue.names import LAY, RDFS
from graph.catalogue.shapes import NodeShape, load_shapes
from graph.catalogue.statements import Statements, list_fact_files, node_key, read_statements
from graph.errors import InvalidFacts, Problem

FACTS_FOLDER = Path(__file__).resolve().parents[2] / "facts"
VOCABULARY_FOLDER = FACTS_FOLDER / "vocabulary"
SHAPES_FOLDER = FACTS_FOLDER / "shapes"
KINDS_FOLDER = FACTS_FOLDER / "kinds"

_Stamp = tuple[Path, tuple[tuple[Path, int, int], ...]]  # from where paths are shown; each file, when changed, how long
_Made = TypeVar("_Made")


def read_vocabulary() -> tuple[frozenset[str], dict[str, frozenset[str]]]:
    """The words of the vocabulary, and each class with all that stand under it."""
    return _once(_vocabulary, VOCABULARY_FOLDER)


def fact_shapes() -> tuple[NodeShape, ...]:
    """The house's shapes, compiled."""
    return _once(_shapes, SHAPES_FOLDER)


def read_kinds(shop_base: str) -> tuple[Statements, list[Problem]]:
    """What the house's kinds say, to be added to, and a problem for each file that did not parse."""
    statements, problems = _once(_kinds, KINDS_FOLDER)
    facts = statements.copy(shop_base)
    facts.subclasses = read_vocabulary()[1]
    return facts, list(problems)


def kind_files() -> list[Path]:
    """The files of the house's kinds."""
    return list_fact_files([KINDS_FOLDER])


def is_about_facts(file: Path) -> bool:
    """Vocabulary and shapes speak about facts and are no facts themselves."""
    folders = (VOCABULARY_FOLDER.resolve(), SHAPES_FOLDER.resolve())
    return any(folder in file.resolve().parents for folder in folders)


def _once(make: Callable[[_Stamp], _Made], folder: Path) -> _Made:
    """What was made of the files in the folder when they last changed."""
    looked = ((file, file.stat()) for file in list_fact_files([folder]))
    return make((Path.cwd(), tuple((file, at.st_mtime_ns, at.st_size) for file, at in looked)))


def _files(stamp: _Stamp) -> list[Path]:
    return [file for file, _, _ in stamp[1]]


@lru_cache(maxsize=2)
def _shapes(stamp: _Stamp) -> tuple[NodeShape, ...]:
    return load_shapes(_files(stamp))


@lru_cache(maxsize=2)
def _kinds(stamp: _Stamp) -> tuple[Statements, tuple[Problem, ...]]:
    statements, problems = read_statements(_files(stamp))
    return statements, tuple(problems)


@lru_cache(maxsize=2)
def _vocabulary(stamp: _Stamp) -> tuple[frozenset[str], dict[str, frozenset[str]]]:
    words, problems = read_statements(_files(stamp))
    if problems:
        raise InvalidFacts(problems)
    parents = {s: {node_key(v) for v in words.get(s, RDFS + "subClassOf")} for s in words.values}
    below: dict[str, set[str]] = {}
    for start in parents:
        waiting, seen = [start], {start}
        while waiting:
            for parent in parents.get(waiting.pop(), ()):
                if parent not in seen:
                    seen.add(parent)
                    waiting.append(parent)
        for name in seen:
            below.setdefault(name, {name}).add(start)
    terms = frozenset(subject for subject in words.values if subject.startswith(LAY))
    return terms, {name: frozenset(names) for name, names in below.items()}
