"""JudgedFacts in, catalogue out: read folders of Turtle, check everything, build all of it or nothing.

`load_catalogue` always reads the house's own kinds (facts/kinds) besides the paths that it is given. Checks run on
the shapes compiled by graph/catalogue/shapes.py and on the rules of graph/catalogue/rules.py; `check_facts` has what
passes them confirmed by pySHACL. All problems are reported together, each with file, line, subject, property and
what to do.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from pyoxigraph import Quad, Triple

from graph.catalogue.build import build_catalogue
from graph.catalogue.house import (
    SHAPES_FOLDER,
    VOCABULARY_FOLDER,
    fact_shapes,
    is_about_facts,
    kind_files,
    read_kinds,
    read_vocabulary,
)
from graph.catalogue.judged import JudgedFacts
from graph.catalogue.model import Catalogue
from graph.catalogue.names import LAY, SHOP, local_id
from graph.catalogue.rules import list_rule_problems
from graph.catalogue.shapes import Violation, list_violations
from graph.catalogue.statements import Statements, list_fact_files, node_key, read_statements
from graph.errors import InvalidFacts, Problem
from graph.exact import NotExact

Stated = tuple[str, Iterable[Quad | Triple]]  # where it comes from, and what it states


def load_catalogue(paths: Sequence[Path], *, shop_base: str = SHOP, stated: Sequence[Stated] = ()) -> Catalogue:
    """The catalogue of the house's kinds, the files under `paths` and the statements `stated` from elsewhere.

    `stated`: pairs of an origin's name (shown in problems) and its quads, for facts that do not stand in files.
    Raises InvalidFacts with every problem found; then nothing is loaded.

    >>> load_catalogue([]).tasks["gearbox-out-and-in"].after
    ('crossmember-and-lever-off',)
    """
    catalogue, problems = _read(paths, shop_base, stated, full=False)
    if problems:
        raise InvalidFacts(problems)
    return catalogue


def check_facts(paths: Sequence[Path], *, shop_base: str = SHOP, stated: Sequence[Stated] = ()) -> list[Problem]:
    """Every problem of the facts, pySHACL's findings included; an empty list if there is none."""
    try:
        return _read(paths, shop_base, stated, full=True)[1]
    except InvalidFacts as error:
        return list(error.problems)


def read_facts(
    paths: Sequence[Path], *, shop_base: str = SHOP, stated: Sequence[Stated] = ()
) -> tuple[Statements, frozenset[str], list[Problem]]:
    """What kinds, files and `stated` say; the words of the vocabulary; a problem for each file that did not parse."""
    facts, problems = read_kinds(shop_base)
    house = {file.resolve() for file in kind_files()}
    files = [file for file in list_fact_files(paths) if file.resolve() not in house and not is_about_facts(file)]
    problems += read_statements(files, facts)[1]
    for origin, quads in stated:
        facts.add(quads, origin)
    return facts, read_vocabulary()[0], problems


def _read(
    paths: Sequence[Path], shop_base: str, stated: Sequence[Stated], *, full: bool
) -> tuple[Catalogue, list[Problem]]:
    facts, vocabulary, problems = read_facts(paths, shop_base=shop_base, stated=stated)
    if problems:  # a file that did not parse would make everything it states look unknown
        return Catalogue(), problems
    violations = list(list_violations(facts, fact_shapes()))
    if full and not violations:  # pySHACL itself stumbles over some of what the quick checker refuses (NaN)
        violations = _shacl_violations(facts)
    return judged(facts, violations, vocabulary)


def judged(
    facts: Statements, violations: Sequence[Violation], terms: frozenset[str]
) -> tuple[Catalogue, list[Problem]]:  # fmt: skip
    """The catalogue of what is sound, and every problem: the violations of shapes found before, and broken rules."""
    problems = [Problem(facts.place(v.subject, v.property), v.message) for v in violations]
    catalogue, inexact = build_sound(facts, {violation.subject for violation in violations})
    rules = JudgedFacts(statements=facts, catalogue=catalogue, terms=terms, keys=keys_of(facts))
    problems += [*inexact, *list_rule_problems(rules)]
    return catalogue, sorted(dict.fromkeys(problems), key=reading_order)


def keys_of(facts: Statements) -> dict[str, str]:
    """The id of every declared subject, each with the IRI that had it first."""
    keys: dict[str, str] = {}
    for subject in facts.declared:
        keys.setdefault(local_id(subject, facts.shop_base), subject)
    return keys


def build_sound(facts: Statements, wrong: set[str]) -> tuple[Catalogue, list[Problem]]:
    """The catalogue without what is wrong. A condition or hole that is wrong takes what it belongs to with it."""
    skip = set(wrong)
    for subject, properties in facts.values.items():
        for name in ("condition", "hole"):
            if any(node_key(value) in wrong for value in properties.get(LAY + name, ())):
                skip.add(subject)
    try:
        return build_catalogue(facts, skip), []
    except NotExact as error:  # the shapes let no such number through; should one slip, it must not end in a trace
        return Catalogue(), [Problem("facts", str(error))]


def _shacl_violations(facts: Statements) -> list[Violation]:
    from graph.catalogue.shacl import list_shacl_violations

    return list_shacl_violations(facts, list_fact_files([SHAPES_FOLDER]), list_fact_files([VOCABULARY_FOLDER]))


def reading_order(problem: Problem) -> list[tuple[int, str]]:
    """Line 9 before line 12."""
    return [(int(text), "") if text.isdigit() else (-1, text) for text in re.split(r"(\d+)", problem.path) if text]
