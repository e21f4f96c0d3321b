"""A check's result in words for the bench: verdict, margin in mm and inch, what to measure, work, working."""

from __future__ import annotations

from dataclasses import dataclass

from api.pages.measured_view import both_lengths
from graph.fits.model import NM_PER_MM, Amount, CheckResult, Verdict

# The sign stands beside the word, never alone: a screen reader reads the word, a bad printer prints both.
SIGNS = {
    Verdict.HOLDS: "\N{CHECK MARK}", Verdict.HOLDS_WITH_WORK: "\N{CHECK MARK} +",
    Verdict.FAILS: "\N{MULTIPLICATION SIGN}", Verdict.UNKNOWN: "?",
}  # fmt: skip
WORDS = {
    Verdict.HOLDS: "Holds", Verdict.HOLDS_WITH_WORK: "Holds with work", Verdict.FAILS: "Does not hold",
    Verdict.UNKNOWN: "Not known yet",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class VerdictView:
    """A result in words. `choices`: ways to make it hold, each a list of work; `parts`: its checks."""

    sign: str
    words: str
    joint: str
    summary: str
    margin: str
    binding: str
    measure: tuple[str, ...]
    choices: tuple[tuple[str, ...], ...]
    cautions: tuple[str, ...]
    values: tuple[str, ...]
    lines: tuple[str, ...]
    parts: tuple[VerdictView, ...]


def verdict_of(result: CheckResult) -> VerdictView:
    """The result in words."""
    choices = result.choices or ((result.work,) if result.work else ())
    return VerdictView(
        sign=SIGNS[result.verdict], words=WORDS[result.verdict], joint=result.joint, summary=result.summary,
        margin=_amount(result.margin) if result.margin else "", binding=result.binding,
        measure=tuple(dict.fromkeys(item.text() for item in result.measure)),
        choices=tuple(
            tuple(f"{work.text}{' (cannot be undone)' if work.irreversible else ''}" for work in choice)
            for choice in choices
        ),
        cautions=result.cautions, values=tuple(span.text() for span in result.values),
        lines=tuple(line.text() for line in result.working.lines), parts=tuple(verdict_of(one) for one in result.parts),
    )  # fmt: skip


def _amount(margin: Amount) -> str:
    return both_lengths(margin.value * NM_PER_MM) if margin.unit == "mm" else str(margin)
