"""Facts of any number into one compact file, chunk by chunk: all of it or nothing.

Two passes. The first (`survey`) learns who is declared where; the second reads each chunk with the kinds, the shop
and stand-ins for what it refers to, through the same shapes, rules and builders as any facts. Memory is bounded by
the ids, not by the statements. One chunk is one file, so that problems name file and line; keep files below some
10^5 statements.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pyoxigraph import Quad, Triple

from graph.catalogue.build import build_catalogue
from graph.catalogue.compact.opened import written
from graph.catalogue.compact.pack import Packer
from graph.catalogue.compact.survey import KnownOfThing, Survey, named_in, runs, stand_in
from graph.catalogue.house import fact_shapes, read_vocabulary
from graph.catalogue.judged import JudgedFacts
from graph.catalogue.load import keys_of
from graph.catalogue.model import Catalogue
from graph.catalogue.names import LAY, SHOP, local_id, short_name
from graph.catalogue.rules import find_cycle, held_and_none, list_rule_problems
from graph.catalogue.shapes import list_violations
from graph.catalogue.statements import Statements, node_key, read_statements
from graph.errors import InvalidFacts, Problem

MOST_PROBLEMS = 200  # then the rest is not worth reading
Report = Callable[[str, int, int], None]  # what is being done, how far, of how many


@dataclass(frozen=True)
class ChunkSource:
    """One chunk: its name, and a way to read it, as often as wanted, into statements."""

    name: str
    read: Callable[[], tuple[Statements, list[Quad | Triple], list[Problem]]]


def file_source(file: Path) -> ChunkSource:
    """A facts file as a chunk."""

    def read() -> tuple[Statements, list[Quad | Triple], list[Problem]]:
        quads: list[Quad | Triple] = []
        statements, problems = read_statements([file], keep=quads)
        return statements, quads, problems

    return ChunkSource(str(file), read)


def pack_facts(
    sources: Sequence[ChunkSource], target: Path, head: Mapping[str, Any], *, shop_base: str = SHOP,
    report: Report = lambda what, done, of: None,
) -> int:  # fmt: skip
    """Writes the catalogue of the sources to `target` and hands back how many statements it read.

    Raises InvalidFacts with the problems found (up to some hundreds); then `target` is as it was.
    """
    survey = Survey()
    problems: list[Problem] = []
    for done, source in enumerate(sources):
        report("looking over", done, len(sources))
        _, quads, wrong = source.read()
        problems += wrong
        survey.add((source.name, quads))
    problems += survey.problems
    problems += _circle(survey, shop_base)
    _stop_at(problems, 1)
    with Packer(target, shop_base) as packer:
        reader = _ChunkReader(survey, shop_base)
        for done, source in enumerate(sources):
            report("reading", done, len(sources))
            catalogue, wrong = reader.read(source)
            problems += wrong
            _stop_at(problems, MOST_PROBLEMS)
            packer.add(catalogue)
        shared, wrong = reader.read_shared()
        problems += wrong
        _stop_at(problems, 1)
        report("writing", len(sources), len(sources))
        packer.finish(shared, {**head, "iris": reader.iris}, written(survey.shared))
    return survey.statements


def _stop_at(problems: list[Problem], count: int) -> None:
    if len(problems) >= count:
        raise InvalidFacts(dict.fromkeys(problems[:MOST_PROBLEMS]))


def _circle(survey: Survey, shop_base: str) -> Iterator[Problem]:
    """A family of which it is itself a variant, across chunks."""
    cycle = find_cycle({name: (known.family,) for name, known in survey.things.items() if known.family})
    if cycle:
        steps = " -> ".join(local_id(name, shop_base) for name in cycle)
        yield Problem(local_id(cycle[0], shop_base), f"variantOf runs in a circle: {steps}; take one step out")


class _ChunkReader:
    """Reads chunks with all that they need to know of the rest."""

    def __init__(self, survey: Survey, shop_base: str):
        self.survey, self.shop_base = survey, shop_base
        self.vocabulary, self.subclasses = read_vocabulary()
        self.shapes = fact_shapes()
        self.iris: dict[str, str] = {}  # id -> IRI, of those that the shop's base does not give

    def read(self, source: ChunkSource) -> tuple[Catalogue, list[Problem]]:
        """The things that the chunk states, and what is wrong with them."""
        read, quads, problems = source.read()
        own = [q for subject, about in runs(quads) if subject not in self.survey.shared_subjects for q in about]
        facts = self._facts()
        facts.texts.update(read.texts)
        facts.add(own, next(iter(read.texts), source.name))
        stated = set(facts.declared) - self.survey.shared_subjects
        others: list[Quad | Triple] = []
        for name in sorted(named_in(own).difference(facts.declared)):
            known = self.survey.things.get(name)
            if known is None and name in self.survey.edges:
                known = KnownOfThing(self.survey.edges[name])
            if known is not None:
                others.extend(stand_in(name, known))
        facts.add(others, "elsewhere")
        problems += self._held_and_none(facts, stated)
        return self._checked(facts, stated, problems)

    def _held_and_none(self, facts: Statements, stated: set[str]) -> Iterator[Problem]:
        """Parts held where another chunk says that the unit has none; within one chunk the rules find it."""
        for edge in facts.list_of_class(LAY + "Contains") if self.survey.has_none else ():
            for unit in map(node_key, facts.get(edge, LAY + "source")):
                for position in map(node_key, facts.get(edge, LAY + "position")):
                    other = self.survey.has_none.get((unit, position), "")
                    if edge in stated and other and other not in stated:
                        said = short_name(other, self.shop_base)
                        yield Problem(
                            facts.place(edge, LAY + "position"),
                            held_and_none(local_id(unit, self.shop_base), local_id(position, self.shop_base), said),
                        )

    def read_shared(self) -> tuple[Catalogue, list[Problem]]:
        """Kinds and shop."""
        facts = self._facts()
        subjects = set(facts.declared)
        named = {name: self.survey.things[name] for name in named_in(self.survey.shared) & self.survey.things.keys()}
        facts.add([triple for name in sorted(named) for triple in stand_in(name, named[name])], "elsewhere")
        return self._checked(facts, subjects, [])

    def _facts(self) -> Statements:
        facts = Statements(subclasses=self.subclasses, shop_base=self.shop_base)
        facts.add(self.survey.shared, "kinds and shop")
        return facts

    def _checked(self, facts: Statements, own: set[str], problems: list[Problem]) -> tuple[Catalogue, list[Problem]]:
        """Only what is found of `own` subjects (and of the blank nodes that hang on them) counts."""
        wrong = set()
        for violation in list_violations(facts, self.shapes):
            wrong.add(violation.subject)
            if violation.subject in own or violation.subject.startswith("_:"):
                problems.append(Problem(facts.place(violation.subject, violation.property), violation.message))
        catalogue = build_catalogue(facts, wrong)
        problems += list_rule_problems(JudgedFacts(facts, catalogue, self.vocabulary, keys_of(facts)))
        own_names = ((local_id(subject, self.shop_base), subject) for subject in own)
        self.iris.update((id_, iri) for id_, iri in own_names if iri not in (id_, self.shop_base + id_))
        return _only(catalogue, {local_id(subject, self.shop_base) for subject in own}), problems


def _only(catalogue: Catalogue, own: set[str]) -> Catalogue:
    """The catalogue with only those parts, edges and notes; its other tables as they are."""
    kept: dict[str, Any] = {}
    for name in Catalogue.__dataclass_fields__:
        table = getattr(catalogue, name)
        if isinstance(table, dict):
            kept[name] = {key: thing for key, thing in table.items() if thing.id in own}
    return replace(catalogue, **kept)
