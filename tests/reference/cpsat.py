"""The programme solved by OR-tools CP-SAT, one worker, in exact whole numbers."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import lcm

from ortools.sat.python import cp_model

from tests.reference.programme import Programme, build_programme
from tests.reference.reading import Document


class NoProof(Exception):
    """The solver ran out of time before proving a minimum."""


class CpSat:
    """One document as a CP-SAT model; `minimum` may be asked for one objective after another."""

    def __init__(self, document: Document):
        self.programme: Programme = build_programme(document)
        self.model = cp_model.CpModel()
        self.variables = {name: self.model.new_bool_var(name) for name in self.programme.variables}
        for row in self.programme.rows:
            limits = [limit for limit in (row.low, row.high) if limit is not None]
            scale = _scale([*row.terms.values(), *limits])
            low = cp_model.INT_MIN if row.low is None else int(row.low * scale)
            high = cp_model.INT_MAX if row.high is None else int(row.high * scale)
            self.model.add_linear_constraint(self._sum(row.terms.items(), scale), low, high)

    def _sum(self, terms: Iterable[tuple[str, Fraction]], scale: int) -> cp_model.LinearExprT:
        pairs = [(self.variables[name], int(value * scale)) for name, value in terms]
        return cp_model.LinearExpr.weighted_sum([each for each, _ in pairs], [weight for _, weight in pairs])

    def minimum(self, objective: str, seconds: float = 60) -> Fraction | None:
        """The proven minimum, None where no route exists; NoProof where the time ran out."""
        terms = self.programme.objectives[objective]
        scale = _scale(terms.values())
        self.model.clear_objective()  # type: ignore[no-untyped-call]
        self.model.minimize(self._sum(terms.items(), scale))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.max_time_in_seconds = seconds
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return None
        if status != cp_model.OPTIMAL:
            raise NoProof(solver.status_name(status))
        reached = {name for name, variable in self.variables.items() if solver.boolean_value(variable)}
        return sum((value for name, value in terms.items() if name in reached), Fraction(0))


def _scale(values: Iterable[Fraction]) -> int:
    """The least factor that makes all of them whole."""
    return lcm(*(value.denominator for value in values))
