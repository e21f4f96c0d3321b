"""What stands first of a route, on the answer's page and on the route's own: verdict, sum, what to confirm, the work.

All words come from `graph.answer.plain`; here is only how much of it shows at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from api.pages.asked import address
from api.pages.question_view import as_known
from graph.answer.model.answer import Answer
from graph.answer.model.lines import ConditionState, NoteLine
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import Step
from graph.answer.plain import amounts_of, first_to_do, sum_notes, sum_words, verdict_sentence
from graph.answer.text import STAGE_WORDS
from graph.answer.why_here import leaving, why_here
from graph.answer.words import sentence
from graph.reading.conditions import TO_CONFIRM
from graph.reading.question import Question

WITH_TICKS = ("estimate", "job-sheet")
OPEN_STAGES = 3  # of the work, beside other routes and of long work
OPEN_STEPS = 30  # of which a route's own page has every one open
SHOWN_FIRST = 3  # of what to confirm; the rest is one tap away


@dataclass(frozen=True, slots=True)
class WorkStepView:
    """One step. `number`, `text`; `amounts`: cash, hours and days in words; `cautions`, which always show.

    `conditions`, `notes`: what it rests on, folded away; `to_confirm`: the conditions that are still open, which are
    not; `checks`: what to find out before an order, or to look at once it is in place; `disputed`; `irreversible`;
    `why_here`: what it needs open and done, and why; `comes_off`: what comes off here, in words.
    """

    number: int
    text: str
    amounts: str
    conditions: tuple[ConditionState, ...]
    notes: tuple[NoteLine, ...]
    cautions: tuple[str, ...]
    to_confirm: tuple[str, ...]
    checks: tuple[str, ...]
    disputed: bool
    irreversible: bool
    why_here: tuple[str, ...] = ()
    comes_off: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Stage:
    """A stage of the work: its `words` and its `steps`."""

    words: str
    steps: tuple[WorkStepView, ...]


@dataclass(frozen=True, slots=True)
class PaperLink:
    """A paper of this route: its `words` and the `address` of its page, which leads on to the file to print."""

    words: str
    address: str


@dataclass(frozen=True, slots=True)
class FirstView:
    """What stands first of a route.

    `sentence`: the verdict and what it rests on; `sum`, and what it is made of (`sum_notes`); `confirm`: what to
    confirm and measure before anything else, `confirm_more`: the rest of it; `stages`: the steps. `papers`: estimate,
    job sheet and build record; `new_job`: the page that makes it a job; `while_out`: what else to
    renew; `ticked`: what is renewed besides, with its sum.
    `folded_at`: from which stage on, counted from 1, the work is folded up to its `last_step`; 0: none of it.
    """

    sentence: str
    sum: str
    sum_notes: tuple[str, ...]
    confirm: tuple[str, ...]
    confirm_more: tuple[str, ...]
    stages: tuple[Stage, ...]
    papers: tuple[PaperLink, ...]
    new_job: str
    while_out: str
    ticked: str = ""
    folded_at: int = 0
    last_step: int = 0


@dataclass(frozen=True, slots=True)
class Ticked:
    """What the customer ticked to be renewed besides: in `words` with its sum, the `steps` of the work with it, the
    `pairs` of an address that say it."""

    words: str = ""
    steps: tuple[Step, ...] = ()
    pairs: tuple[tuple[str, str], ...] = ()


NOT_TICKED = Ticked()


def first_view(
    question: Question, answer: Answer, route: AnsweredRoute, has_papers: bool, ticked: Ticked = NOT_TICKED,
    beside_others: bool = False,
) -> FirstView:  # fmt: skip
    """The view of a route of the answer. `has_papers`: the app prints papers; `ticked`: what is renewed besides;
    `beside_others`: on the page of all routes, where later work is folded; the route's own page has it open unless it
    is long."""
    todo = first_to_do(answer, route)
    here = [("rank", str(route.rank)), *ticked.pairs]
    stages = tuple(_stages(ticked.steps or route.steps, answer.currency))
    last = stages[-1].steps[-1].number if stages else 0
    return FirstView(
        sentence=verdict_sentence(answer, route),
        sum=sum_words(answer, route),
        sum_notes=sum_notes(answer, route),
        confirm=todo[:SHOWN_FIRST],
        confirm_more=todo[SHOWN_FIRST:],
        stages=stages,
        papers=_papers(as_known(question), here) if has_papers else (),
        new_job=address("/new-job", as_known(question), here),
        while_out=address("/while-it-is-out", as_known(question), here),
        ticked=ticked.words,
        folded_at=OPEN_STAGES + 1 if (beside_others or last > OPEN_STEPS) and len(stages) > OPEN_STAGES + 1 else 0,
        last_step=last,
    )


def _stages(steps: Sequence[Step], currency: str) -> list[Stage]:
    """The steps in their order, under a heading wherever another stage begins; work is sent out more than once."""
    runs = groupby(steps, key=lambda step: step.stage)
    return [Stage(STAGE_WORDS[stage], tuple(_step(step, currency) for step in run)) for stage, run in runs]


def _step(step: Step, currency: str) -> WorkStepView:
    return WorkStepView(
        number=step.number, text=step.text, amounts=amounts_of(step, currency),
        conditions=tuple(one for one in step.conditions if one.state != TO_CONFIRM),
        notes=() if step.order else step.notes, cautions=step.cautions,
        to_confirm=tuple(one.text for one in step.conditions if one.state == TO_CONFIRM),
        checks=step.checks, disputed=step.disputed, irreversible=step.irreversible,
        why_here=why_here(step, named=False), comes_off=tuple(map(sentence, leaving(step))),
    )  # fmt: skip


def _papers(question: Question, here: list[tuple[str, str]]) -> tuple[PaperLink, ...]:
    """`here`: the route's rank and what is ticked, as pairs of an address; a declaration has no place for ticks."""
    kinds = (
        ("Estimate", "estimate"),
        ("Job sheet", "job-sheet"),
        ("Build record", "build-record"),
        ("Declaration", "declaration"),
    )
    return tuple(
        PaperLink(said, address(f"/paper/{kind}", question, here if kind in WITH_TICKS else here[:1]))
        for said, kind in kinds
    )
