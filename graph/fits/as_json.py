"""A check's result as plain JSON values: exact numbers as the nearest JSON number, every length also as text.

Lengths are millimetres; each amount carries its unit and the text that a fitter reads.
"""

from __future__ import annotations

from typing import Any

from graph.exact import plain
from graph.fits.model import Amount, CheckResult, FinishedSize, Line, Missing, Span, Work, Working

Json = dict[str, Any]


def result_as_json(result: CheckResult) -> Json:
    """The result with its margin, spans, remedies, what is missing, and the working line by line."""
    return {
        "joint": result.joint,
        "verdict": str(result.verdict),
        "summary": result.summary,
        "margin": None if result.margin is None else amount_as_json(result.margin),
        "binding": result.binding,
        "values": [span_as_json(value) for value in result.values],
        "work": [work_as_json(work) for work in result.work],
        "choices": [[work_as_json(work) for work in choice] for choice in result.choices],
        "measure": [missing_as_json(missing) for missing in result.measure],
        "working": working_as_json(result.working),
        "cautions": list(result.cautions),
        "evidence_rank": result.evidence_rank,
        "parts": [result_as_json(part) for part in result.parts],
    }


def amount_as_json(amount: Amount) -> Json:
    """Value, unit, and both as text."""
    return {"value": plain(amount.value), "unit": amount.unit, "text": str(amount)}


def span_as_json(span: Span) -> Json:
    """Nominal, worst case and root-sum-square limits."""
    return {
        "name": span.name,
        "nominal": amount_as_json(span.nominal),
        "worst_case": [amount_as_json(span.worst_low), amount_as_json(span.worst_high)],
        "rss": [amount_as_json(span.rss_low), amount_as_json(span.rss_high)],
        "text": span.text(),
    }


def work_as_json(work: Work) -> Json:
    """One thing to do, how much, and the part to be had for it."""
    return {
        "operation": work.operation,
        "on": work.on,
        "text": work.text,
        "amount": None if work.amount is None else amount_as_json(work.amount),
        "remedy": work.remedy,
        "irreversible": work.irreversible,
        "weak": work.weak,
        "sizes": [size_as_json(size) for size in work.sizes],
    }


def size_as_json(size: FinishedSize) -> Json:
    """A finished size: where, nominal with its limits, the fit's class."""
    nominal = size.nominal_nm
    return {
        "place": size.place,
        "nominal": amount_as_json(Amount.of_nm(nominal)),
        "low": amount_as_json(Amount.of_nm(nominal + size.lower_nm)),
        "high": amount_as_json(Amount.of_nm(nominal + size.upper_nm)),
        "fit": size.fit,
        "text": size.text(),
    }


def missing_as_json(missing: Missing) -> Json:
    """What to measure, why, from where."""
    return {"name": missing.name, "why": missing.why, "datum": missing.datum, "text": missing.text()}


def working_as_json(working: Working) -> list[Json]:
    """The lines for checking with a pencil."""
    return [line_as_json(line) for line in working.lines]


def line_as_json(line: Line) -> Json:
    """symbol = formula = numbers = value [source]."""
    return {
        "symbol": line.symbol, "formula": line.formula, "numbers": line.numbers, "value": line.value,
        "source": line.source, "text": line.text(),
    }  # fmt: skip
