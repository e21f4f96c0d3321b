"""The programme solved by OR-tools CP-SAT, one worker, in exact whole numbers."""

from __future__ import annotations

from fractions import Fraction

from ortools.sat.python import cp_model

from tests.reference.programme import WholeProgramme


class NoProof(Exception):
    """The solver ran out of time before proving a minimum."""


class CpSat:
    """One programme as a CP-SAT model; `minimum` may be asked for one objective after another."""

    def __init__(self, programme: WholeProgramme):
        self.programme = programme
        self.model = cp_model.CpModel()
        self.variables = [self.model.new_bool_var("") for _ in range(programme.width)]
        for row in programme.rows:
            low = cp_model.INT_MIN if row.low is None else row.low
            high = cp_model.INT_MAX if row.high is None else row.high
            self.model.add_linear_constraint(self._sum(row.columns, row.weights), low, high)

    def _sum(self, columns: list[int], weights: list[int]) -> cp_model.LinearExprT:
        return cp_model.LinearExpr.weighted_sum([self.variables[column] for column in columns], weights)

    def minimum(self, objective: str, seconds: float = 60) -> Fraction | None:
        """The proven minimum, None where no route exists; NoProof where the time ran out."""
        weights, scale = self.programme.objectives[objective]
        counted = [column for column, weight in enumerate(weights) if weight]
        self.model.clear_objective()  # type: ignore[no-untyped-call]
        self.model.minimize(self._sum(counted, [weights[column] for column in counted]))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.max_time_in_seconds = seconds
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return None
        if status != cp_model.OPTIMAL:
            raise NoProof(solver.status_name(status))
        reached = sum(weights[column] for column in counted if solver.boolean_value(self.variables[column]))
        return Fraction(reached, scale)
