"""The programme solved by HiGHS, one thread. Floating point inside; the answer is added up again exactly."""

from __future__ import annotations

from fractions import Fraction

import highspy
import numpy as np

from tests.reference.cpsat import NoProof
from tests.reference.programme import Programme, build_programme
from tests.reference.reading import Document


def highs_minimum(document: Document, objective: str, seconds: float = 60) -> Fraction | None:
    """The proven minimum, None where no route exists; NoProof where the time ran out."""
    programme = build_programme(document)
    solver = highspy.Highs()  # type: ignore[no-untyped-call]
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("time_limit", float(seconds))
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.0)
    solver.setOptionValue("mip_feasibility_tolerance", 1e-9)
    solver.passModel(_model(programme, objective))
    solver.run()
    status = solver.getModelStatus()
    if status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible):
        return None
    if status != highspy.HighsModelStatus.kOptimal:
        raise NoProof(solver.modelStatusToString(status))
    values = solver.getSolution().col_value
    reached = {name for name, value in zip(programme.variables, values, strict=True) if value > 0.5}
    terms = programme.objectives[objective]
    return sum((value for name, value in terms.items() if name in reached), Fraction(0))


def _model(programme: Programme, objective: str) -> highspy.HighsLp:
    column = {name: number for number, name in enumerate(programme.variables)}
    width = len(column)
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = width, len(programme.rows)
    cost = np.zeros(width)
    for name, value in programme.objectives[objective].items():
        cost[column[name]] = float(value)
    model.col_cost_, model.col_lower_, model.col_upper_ = cost, np.zeros(width), np.ones(width)
    model.integrality_ = [highspy.HighsVarType.kInteger] * width
    limits = [(row.low, row.high) for row in programme.rows]
    model.row_lower_ = np.array([-highspy.kHighsInf if low is None else float(low) for low, _ in limits])
    model.row_upper_ = np.array([highspy.kHighsInf if high is None else float(high) for _, high in limits])
    matrix = model.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.start_ = np.cumsum([0, *(len(row.terms) for row in programme.rows)], dtype=np.int32)
    matrix.index_ = np.array([column[name] for row in programme.rows for name in row.terms], dtype=np.int32)
    matrix.value_ = np.array([float(value) for row in programme.rows for value in row.terms.values()])
    return model
