"""The question as it stands above every answer: in words, each part of it with a way to take it back."""

from __future__ import annotations

from dataclasses import dataclass, replace

from api.pages.asked import address
from api.pages.choices import KEY_WORDS
from graph.answer import words
from graph.exact import HUNDREDTHS
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question

OBJECTIVE_WORDS = {
    "expected": "least cost with likely faults", "total": "least cost if nothing is worn", "cash": "least cash",
    "hours": "fewest hours",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class AskedTerm:
    """One thing asked besides the units: its `words`; the address of the answer `without` it, and `without_words`."""

    words: str
    without: str
    without_words: str


@dataclass(frozen=True, slots=True)
class QuestionView:
    """The question in words: `title` names the units; `objective`; `terms`: all that was asked besides.

    `change`: the address of the form, filled with this question. `here`: the address of the comparison.
    """

    title: str
    objective: str
    terms: tuple[AskedTerm, ...]
    change: str
    here: str


def question_view(index: CatalogueIndex, question: Question) -> QuestionView:
    """The view of the question."""
    title = f"{label_of(index, question.gearbox)} behind {label_of(index, question.engine)}"
    if question.vehicle:
        title += f", in {label_of(index, question.vehicle)}"
    return QuestionView(
        title, OBJECTIVE_WORDS[question.objective], _terms(index, question), address("/ask", question),
        address("/compare", question),
    )  # fmt: skip


def label_of(index: CatalogueIndex, part: str) -> str:
    """The label of a part or kind; the id itself where it is not known."""
    found = index.catalogue.parts.get(part) or index.catalogue.part_kinds.get(part)
    return found.label if found else part


def _said_of(key: str, value: object) -> str:
    """What is known of the job as a fitter says it: "engine torque 180 Nm"."""
    said = ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)
    label, _, unit = KEY_WORDS.get(key, words.sentence(key.replace("_", " "))).partition(", ")
    return f"{label}: {said} {unit}".rstrip()


def _terms(index: CatalogueIndex, question: Question) -> tuple[AskedTerm, ...]:
    known = index.catalogue
    terms: list[tuple[str, Question, str]] = []
    for part in question.avoid:
        rest = tuple(one for one in question.avoid if one != part)
        terms.append((f"without {label_of(index, part)}", replace(question, avoid=rest), "allow it again"))
    for part in question.own:
        rest = tuple(one for one in question.own if one != part)
        terms.append((f"{label_of(index, part)} in hand", replace(question, own=rest), "not in hand"))
    if question.part_exchange:
        terms.append(("an old unit handed in", replace(question, part_exchange=False), "nothing to hand in"))
    for feature in question.features:
        rest = tuple(one for one in question.features if one != feature)
        name = known.features[feature].label if feature in known.features else feature
        terms.append((f"must offer: {name}", replace(question, features=rest), "not needed"))
    for demand in question.demands:
        rest = tuple(one for one in question.demands if one != demand)
        terms.append((f"must come to: {demand}", replace(question, demands=rest), "not asked"))
    for key, value in question.context.items():
        rest_known = {other: held for other, held in question.context.items() if other != key}
        terms.append((_said_of(key, value), replace(question, context=rest_known), "leave it open"))
    if question.deadline is not None:
        terms.append((f"ready within {words.days(question.deadline)}", replace(question, deadline=None), "no deadline"))
    if question.assembly:
        kind = known.assemblies.get(question.assembly)
        said = f"assembly: {kind.label if kind else question.assembly}"
        terms.append((said, replace(question, assembly=""), "as the units say"))
    if question.instead_hundredths is not None:
        said = f"not doing the job costs {words.cash(question.instead_hundredths, known.currency)}"
        terms.append((said, replace(question, instead_hundredths=None), "leave it open"))
    if question.most_assumed is not None:
        said = f"at most {question.most_assumed} assumed" if question.most_assumed else "nothing assumed"
        terms.append((said, replace(question, most_assumed=None), "any number"))
    if question.evidence_floor:
        level = known.evidence_levels.get(question.evidence_floor)
        name = level.label if level else question.evidence_floor
        terms.append((f"nothing weaker than “{name}”", replace(question, evidence_floor=""), "any evidence"))
    if question.refuse_disputed:
        terms.append(("nothing disputed", replace(question, refuse_disputed=False), "disputed too"))
    if question.rate_hundredths is not None and question.rate_hundredths != known.rate_hundredths:
        rate = f"{question.rate_hundredths / HUNDREDTHS:g} {known.currency}".rstrip()
        terms.append((f"bench rate {rate} per hour", replace(question, rate_hundredths=None), "the usual rate"))
    return tuple(AskedTerm(said, address("/compare", without), undo) for said, without, undo in terms)
