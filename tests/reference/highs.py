"""The programme solved by HiGHS, one thread. Floating point inside; the answer is added up again in whole numbers."""

from __future__ import annotations

from fractions import Fraction

import highspy
import numpy as np

from tests.reference.cpsat import NoProof
from tests.reference.programme import WholeProgramme

NO_ROUTE = (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible)
OPTIONS = {
    "output_flag": False,
    "threads": 1,
    "mip_rel_gap": 0.0,
    "mip_abs_gap": 0.0,
    "mip_feasibility_tolerance": 1e-9,
}


def highs_minimum(programme: WholeProgramme, objective: str, seconds: float = 60) -> Fraction | None:
    """The proven minimum, None where no route exists; NoProof where the time ran out."""
    solver = highspy.Highs()  # type: ignore[no-untyped-call]
    for option, value in OPTIONS.items():
        solver.setOptionValue(option, value)
    solver.setOptionValue("time_limit", float(seconds))
    solver.passModel(_model(programme, objective))
    solver.run()
    status = solver.getModelStatus()
    if status in NO_ROUTE:
        return None
    if status != highspy.HighsModelStatus.kOptimal:
        raise NoProof(solver.modelStatusToString(status))
    weights, scale = programme.objectives[objective]
    values = solver.getSolution().col_value
    return Fraction(sum(weight for weight, value in zip(weights, values, strict=True) if value > 0.5), scale)


def _model(programme: WholeProgramme, objective: str) -> highspy.HighsLp:
    weights, scale = programme.objectives[objective]
    width, rows = programme.width, programme.rows
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = width, len(rows)
    model.col_cost_ = np.array(weights) / scale
    model.col_lower_, model.col_upper_ = np.zeros(width), np.ones(width)
    model.integrality_ = [highspy.HighsVarType.kInteger] * width
    model.row_lower_ = np.array([-highspy.kHighsInf if row.low is None else float(row.low) for row in rows])
    model.row_upper_ = np.array([highspy.kHighsInf if row.high is None else float(row.high) for row in rows])
    matrix = model.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.start_ = np.cumsum([0, *(len(row.columns) for row in rows)], dtype=np.int32)
    matrix.index_ = np.array([column for row in rows for column in row.columns], dtype=np.int32)
    matrix.value_ = np.array([weight for row in rows for weight in row.weights], dtype=float)
    return model
