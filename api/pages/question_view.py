"""The question as it stands above every answer: in words, each part of it with a way to take it back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from typing import Any
from urllib.parse import quote

from api.pages.asked import address, parameters_of
from graph.answer import words
from graph.catalogue.model import Catalogue
from graph.exact import HUNDREDTHS
from graph.lookups.index import CatalogueIndex
from graph.reading.job_keys import KEY_WORDS
from graph.reading.question import Question
from graph.spoken.by_date import days_until

PLATE = "adapter-plate"  # the kind of part, facts/kinds/parts.ttl
FRIDAY = 4  # of a week that begins with Monday as 0
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
class Wish:
    """What can be asked besides with one tap: its `words`, and the `address` of the answer."""

    words: str
    address: str


@dataclass(frozen=True, slots=True)
class QuestionView:
    """The question in words: `title` names the units; `objective`; `terms`: all that was asked besides.

    `change`: the address of the form, filled with this question. `here`: the address of the comparison. `wishes`: what
    can be asked besides with one tap. `fields`: the question without its rate, as the fields of a form; `rate`: per
    bench hour, as it counts here; `currency`; `deadline`: as asked.
    `silent`: the units of which nobody has stated what they were made for, each with where to state it.
    """

    title: str
    objective: str
    terms: tuple[AskedTerm, ...]
    change: str
    here: str
    wishes: tuple[Wish, ...]
    fields: tuple[tuple[str, str], ...]
    rate: str
    currency: str
    deadline: str
    silent: tuple[tuple[str, str], ...] = ()


def question_view(index: CatalogueIndex, question: Question) -> QuestionView:
    """The view of the question."""
    title = f"{label_of(index, question.gearbox)} behind {label_of(index, question.engine)}"
    if question.vehicle:
        title += f", in {label_of(index, question.vehicle)}"
    return QuestionView(
        title, OBJECTIVE_WORDS[question.objective], _terms(index, question), address("/ask", question),
        address("/compare", question), tuple(_wishes(index, question, date.today())),
        tuple(parameters_of(replace(question, rate_hundredths=None, deadline=None))),
        _rate(index, question), index.catalogue.currency,
        "" if question.deadline is None else f"{float(question.deadline):g}",
        tuple((label_of(index, one), f"/unit/{quote(one)}#made_for") for one in (question.gearbox, question.engine)
              if one in index.catalogue.parts and not index.made_for(one)),
    )  # fmt: skip


def _rate(index: CatalogueIndex, question: Question) -> str:
    usual = index.catalogue.rate_hundredths
    return f"{(usual if question.rate_hundredths is None else question.rate_hundredths) / HUNDREDTHS:g}"


def _wishes(index: CatalogueIndex, question: Question, today: date) -> Iterator[Wish]:
    """The trade's own wishes that the question does not hold yet."""
    kinds = index.catalogue.part_kinds
    if PLATE in kinds and PLATE not in question.avoid:
        yield _wish("Without any plate", avoiding(index, question, PLATE))
    if not question.without_machining:
        yield _wish("Without machining", replace(question, without_machining=True))
    if not question.from_shelf:
        yield _wish("With what is on the shelf", replace(question, from_shelf=True))
    if question.deadline is None and (left := working_days_to_friday(today)):
        yield _wish(f"By Friday ({words.days(Fraction(left))})", replace(question, deadline=Fraction(left)))


def _wish(said: str, asked: Question) -> Wish:
    return Wish(said, address("/compare", asked))


def avoiding(index: CatalogueIndex, question: Question, what: str) -> Question:
    """The question without the part, or without any part of the kind; what of it was in hand or avoided goes."""
    own = tuple(one for one in question.own if one != what and not _is_kind(index, one, what))
    avoid = tuple(one for one in question.avoid if one != what and not _is_kind(index, one, what))
    return replace(question, avoid=(*avoid, what), own=own)


def _is_kind(index: CatalogueIndex, part: str, kind: str) -> bool:
    known = index.catalogue.parts.get(part)
    return known is not None and kind in index.kinds_of(known.kind)


def working_days_to_friday(today: date) -> int:
    """Working days after today to the end of the coming Friday, as "by friday" in one's own words has them.

    >>> working_days_to_friday(date(2026, 11, 30)), working_days_to_friday(date(2026, 11, 28))  # a Monday, a Saturday
    (4, 5)
    """
    return days_until(today + timedelta((FRIDAY - today.weekday()) % 7), today)


def label_of(index: CatalogueIndex, part: str) -> str:
    """The label of a part or kind; the id itself where it is not known."""
    found = index.catalogue.parts.get(part) or index.catalogue.part_kinds.get(part)
    return found.label if found else part


def _said_of(key: str, value: object) -> str:
    """What is known of the job as a fitter says it: "engine torque 180 Nm"."""
    said = ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)
    label, _, unit = KEY_WORDS.get(key, words.sentence(key.replace("_", " "))).partition(", ")
    return f"{label}: {said} {unit}".rstrip()


Term = tuple[str, Question, str]  # what is said, the question without it, and what its undoing is called


def _terms(index: CatalogueIndex, question: Question) -> tuple[AskedTerm, ...]:
    terms = (*_listed(index, question), *_bounds(index.catalogue, question), *_tried(index, question))
    return tuple(AskedTerm(said, address("/compare", without), undo) for said, without, undo in terms)


def _listed(index: CatalogueIndex, question: Question) -> Iterator[Term]:
    """What a question can have several of, each by itself."""
    known = index.catalogue.features
    yield from _one_by_one(question, "avoid", lambda part: f"without {label_of(index, part)}", "allow it again")
    yield from _one_by_one(question, "own", lambda part: f"{label_of(index, part)} in hand", "not in hand")
    if question.part_exchange:
        yield "an old unit handed in", replace(question, part_exchange=False), "nothing to hand in"
    offered = {name: known[name].label if name in known else name for name in question.features}
    yield from _one_by_one(question, "features", lambda name: f"must offer: {offered[name]}", "not needed")
    yield from _one_by_one(question, "demands", lambda demand: f"must come to: {demand}", "not asked")
    for key, value in question.context.items():
        rest = {other: held for other, held in question.context.items() if other != key}
        yield _said_of(key, value), replace(question, context=rest), "leave it open"


def _one_by_one(question: Question, field: str, said: Callable[[str], str], undo: str) -> Iterator[Term]:
    asked: tuple[str, ...] = getattr(question, field)
    for one in asked:
        rest: Any = {field: tuple(other for other in asked if other != one)}
        yield said(one), replace(question, **rest), undo


def _bounds(known: Catalogue, question: Question) -> Iterator[Term]:
    """What bounds the answer as a whole: by when, for which sort of job, how surely, of what, at which rate."""
    if question.deadline is not None:
        yield f"ready within {words.days(question.deadline)}", replace(question, deadline=None), "no deadline"
    if question.assembly:
        kind = known.assemblies.get(question.assembly)
        said = f"assembly: {kind.label if kind else question.assembly}"
        yield said, replace(question, assembly=""), "as the units say"
    if question.instead_hundredths is not None:
        said = f"not doing the job costs {words.cash(question.instead_hundredths, known.currency)}"
        yield said, replace(question, instead_hundredths=None), "leave it open"
    if question.most_assumed is not None:
        said = f"at most {question.most_assumed} assumed" if question.most_assumed else "nothing assumed"
        yield said, replace(question, most_assumed=None), "any number"
    if question.evidence_floor:
        level = known.evidence_levels.get(question.evidence_floor)
        said = f"nothing weaker than “{level.label if level else question.evidence_floor}”"
        yield said, replace(question, evidence_floor=""), "any evidence"
    if question.without_machining:
        yield "nothing machined", replace(question, without_machining=False), "allow machining"
    if question.from_shelf:
        yield "only what is on the shelf", replace(question, from_shelf=False), "order parts too"
    if question.refuse_disputed:
        yield "nothing disputed", replace(question, refuse_disputed=False), "disputed too"
    if question.rate_hundredths is not None and question.rate_hundredths != known.rate_hundredths:
        rate = f"{question.rate_hundredths / HUNDREDTHS:g} {known.currency}".rstrip()
        yield f"bench rate {rate} per hour", replace(question, rate_hundredths=None), "the usual rate"


def _tried(index: CatalogueIndex, question: Question) -> list[Term]:
    """Odds and prices that are tried in place of what is known, with the question without each."""
    money, terms = index.catalogue.currency, list[Term]()
    for part, price in question.prices_hundredths.items():
        rest = {one: held for one, held in question.prices_hundredths.items() if one != part}
        said = f"tried: {label_of(index, part)} at {words.cash(price, money)}"
        terms.append((said, replace(question, prices_hundredths=rest), "put back"))
    for fault, odds in question.odds.items():
        others = {one: held for one, held in question.odds.items() if one != fault}
        known = index.catalogue.faults.get(fault)
        said = f"tried: {known.label if known else 'something that is assumed'}, {words.percent(odds)} likely"
        terms.append((said, replace(question, odds=others), "put back"))
    return terms


def as_known(question: Question) -> Question:
    """The question without what it tries: papers and jobs are made of what is known."""
    return replace(question, odds={}, prices_hundredths={})
