"""The bench with one kind of finished job: its places are stated, stated to be empty, or passed over in silence."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from graph.catalogue.model import HAS_NONE, Catalogue
from graph.catalogue.terms import Assembly, TaskKind
from graph.reading import Question, Reading, read_conversion
from graph.search import solve
from graph.search.result import Solution
from tests.reading.bench import ENGINE, GEARBOX, Bench

JOB = "bench-job"
PLACES = ("at-block", "at-disc", "at-housing", "at-case", "at-bearing", "at-shaft")
ODDS = {"face": Fraction(85, 100), "spline": Fraction(7, 10)}


@dataclass
class OpenBench(Bench):
    """`must`, `may`: of the job; `made_for`: what both units say; `usual`: more about joint kinds, by id."""

    must: tuple[str, ...] = PLACES
    may: tuple[str, ...] = ()
    made_for: tuple[str, ...] = (JOB,)
    usual: dict[str, dict[str, Any]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        super().__post_init__()
        self.tasks["road-test"] = TaskKind("road-test", "road-test", "", cash_hundredths=0, hours_hundredths=80)

    def forget(self, *edges: str) -> None:
        for edge in edges:
            del self.edges[edge]

    def forget_part(self, unit: str, part: str, at: str) -> None:
        self.forget(f"{unit}-contains-{part}-at-at-{at}")

    def has_none(self, unit: str, at: str) -> str:
        return self.edge(HAS_NONE, unit, "", position=f"at-{at}")

    def catalogue(self) -> Catalogue:
        known = super().catalogue()
        joints = {
            name: replace(
                kind, odds_across=ODDS.get(name), odds_source="estimate" if name in ODDS else "",
                **self.usual.get(name, {}),
            )
            for name, kind in known.joint_kinds.items()
        }  # fmt: skip
        parts = {
            name: replace(part, made_for=self.made_for) if name in (GEARBOX, ENGINE) else part
            for name, part in known.parts.items()
        }
        job = Assembly(JOB, "bench job", "", self.must, self.may, ("road-test",), ("box-out",))
        return replace(known, joint_kinds=joints, parts=parts, assemblies={JOB: job})

    def as_before(self) -> Reading:
        """Read on what is written down alone, with no kind of job known."""
        question = Question(gearbox=GEARBOX, engine=ENGINE)
        return read_conversion(replace(self.catalogue(), assemblies={}), question)


def best(reading: Reading, **changed: Any) -> Solution:
    return solve(replace(reading.conversion, **changed), "expected", 0)


def proven(reading: Reading) -> Fraction | None:
    """What the best route costs that assumes nothing, None where there is none."""
    solution = best(reading, most_assumed=0)
    return solution.routes[0].expected if solution.routes else None


def assumed(reading: Reading) -> set[str]:
    found = {one.id for position in reading.conversion.positions for one in position.candidates if one.assumed}
    return found | {link.id for joint in reading.conversion.joints for link in joint.links if link.assumed}


def priced(bench: Bench, kind: str, *prices: int) -> None:
    """Parts of the kind that nothing joins to anything: they only have a price."""
    for number, price in enumerate(prices, start=90):
        bench.part(f"{kind}-{number}", kind, cash_hundredths=price)


def positive(bench: Bench) -> Iterable[str]:
    """The statements that something is there or fits."""
    return [
        name for name, edge in sorted(bench.edges.items()) if edge.kind in ("contains", "fits", "requires-machining")
    ]
