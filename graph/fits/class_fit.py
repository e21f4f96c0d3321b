"""A fit by its ISO 286 classes (30 H7/s6), and which classes a measured size could be."""

from __future__ import annotations

from graph.errors import InvalidInput, Problem
from graph.fits.limits import STANDARD_EVIDENCE, class_dimension, clearance, fit_kind, get_deviation, list_classes
from graph.fits.model import Amount, CheckResult, Dimension, Line, Verdict, Working, show_nm
from graph.fits.tables import Tables

KINDS = ("clearance", "transition", "interference")
PRESS_CAUTION = "A press fit is to be pressed square and its parts heated or cooled only as their makers allow."


def check_class_fit(tables: Tables, size_nm: int, hole: str, shaft: str, wanted: str = "") -> CheckResult:
    """The clearance of a hole class and a shaft class of one basic size; FAILS where another kind is wanted.

    Raises NotFound for a class, InvalidInput for a size outside the table or classes of the wrong side.
    """
    for field, cls, kind in (("hole", hole, "hole"), ("shaft", shaft, "shaft")):
        if get_deviation(tables, cls, size_nm).kind != kind:
            raise InvalidInput([Problem(field, f"{cls} is no class of a {kind}; holes are H7, shafts are s6")])
    outer, inner = (class_dimension(tables, name, size_nm, cls) for name, cls in (("hole", hole), ("shaft", shaft)))
    fit = clearance(outer, inner)
    kind = fit_kind(fit)
    lines = [Line(d.name, d.text(), "", "", d.source) for d in (outer, inner)]
    words = f"{show_nm(size_nm)} {hole}/{shaft}: {kind}, {show_nm(fit.low_nm)} to {show_nm(fit.high_nm)}"
    return CheckResult(
        joint="fit of classes", verdict=Verdict.FAILS if wanted and wanted != kind else Verdict.HOLDS,
        summary=words + (f", wanted {wanted}" if wanted else ""), values=(fit.span(),), binding="kind of fit",
        margin=Amount.of_nm(fit.low_nm if fit.low_nm >= 0 else -fit.high_nm),
        working=Working((*lines, fit.line("clearance"))),
        cautions=(PRESS_CAUTION,) if kind == "interference" else (), evidence_rank=STANDARD_EVIDENCE,
    )  # fmt: skip


def name_classes(tables: Tables, kind: str, basic_nm: int, measured: Dimension) -> CheckResult:
    """Every tabled class whose limits hold the whole reading; FAILS where there is none."""
    found = list_classes(tables, kind, basic_nm, measured)
    words = f"{measured.text()}: {', '.join(found)}" if found else f"{measured.text()}: none of the tabled classes"
    line = Line("classes", f"limits of each at {show_nm(basic_nm)}", "", ", ".join(found) or "none", "ISO 286-2")
    return CheckResult(
        joint="class of a size", verdict=Verdict.HOLDS if found else Verdict.FAILS, summary=words, binding="limits",
        working=Working((line,)), evidence_rank=measured.evidence_rank,
    )  # fmt: skip
