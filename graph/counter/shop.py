"""A shop that can be asked: its facts, notes, prices, shelf, rates, odds and hours together, and where it searches.

Every answer, price, plan and paper comes through here, so that one question has one answer whoever asks. Nothing here
knows a trade rule: reading, search, answer and costing do the work, each with the facts as the shop's record has them.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any

from graph.answer.asking import Asked, SideBySide, answer_with_and_without, ask_index
from graph.answer.best_alone import BestAlone, ask_best
from graph.answer.model.answer import Answer, UnusedNote
from graph.complaints.built import with_job
from graph.complaints.enquiry import Enquiry
from graph.complaints.judge import judge
from graph.complaints.tables import trade_tables
from graph.complaints.verdict import ComplaintVerdict
from graph.conversion.document import Conversion
from graph.costing.applied import Costed
from graph.costing.asking import CostedAnswer, with_told
from graph.costing.following import FollowedCosts
from graph.costing.jobs.job import get_job
from graph.costing.known_names import KnownNames, settled
from graph.costing.notes import CostNote, CostNotes, MemoryNotes
from graph.costing.once import keep_entry, keep_once
from graph.counter.kept import KeptAnswers
from graph.counter.limits import NO_LIMITS, Limits
from graph.counter.measuring import MeasurePlan, plan_of_answer
from graph.counter.nearest import nearest_ways
from graph.counter.next_measurement import NextMeasurement, measure_next
from graph.counter.searches import HERE, Searches
from graph.errors import InvalidQuestion, Problem
from graph.ledger.notebook import Notebook
from graph.lookups.index import CatalogueIndex
from graph.lookups.layered import FollowingIndex
from graph.reach import Reached, Reaching, explore
from graph.reading import read_conversion
from graph.reading.question import Question
from graph.search import OutOfTime, Search, SearchOrder, as_json, solve_document, within
from graph.search.solve import stopped_early
from graph.used_box import UsedBox, UsedBoxVerdict, weigh_used_box
from graph.wear import NO_WISH, RenewalWish, WhileOut, while_out
from graph.workers import OutOfMemory

MOST_TRIES = 3
_Facts = tuple[CatalogueIndex, int, tuple[UnusedNote, ...]]  # at which position of the ledger, without which notes


@dataclass(frozen=True, slots=True)
class Standing:
    """What the shop knows at one moment. `facts`: what fact files and notes say; `index`: the same with the shop's own
    prices, shelf, rates, hours and odds; `costed`: what the record did to them."""

    facts: CatalogueIndex
    index: CatalogueIndex
    costed: Costed
    left_out: tuple[UnusedNote, ...] = ()

    def told(self, answer: Answer) -> Answer:
        """The answer with what the record says of its parts, faults and tasks, and the notes that it does without."""
        told = with_told(answer, self.costed)
        return replace(told, notes_left_out=self.left_out) if self.left_out else told


class Shop:
    """Thread-safe. Questions under way keep the facts that they began with.

    `notes`: the shop's record of cost; `keeps_record`: whether there is one. `searches`: where routes are searched for.
    `today`: prices grow stale by it.
    """

    def __init__(
        self, index: CatalogueIndex, notes: CostNotes | None = None, *, searches: Searches = HERE,
        limits: Limits = NO_LIMITS, today: Callable[[], date] = date.today,
    ):  # fmt: skip
        self.limits, self.searches = limits, searches
        self._facts: _Facts = (index, 0, ())
        self.keeps_record = notes is not None
        self._costs = FollowedCosts(MemoryNotes() if notes is None else notes)
        self._today = today
        self._notebook: Notebook | None = None
        self._following = FollowingIndex(index)
        self._lock, self._kept = threading.Lock(), KeptAnswers()

    @property
    def index(self) -> CatalogueIndex:
        """What fact files and notes say, as last followed."""
        return self._facts[0]

    @property
    def left_out(self) -> tuple[UnusedNote, ...]:
        """The notes that do not hold together with facts and other notes, as last followed: no answer rests on them."""
        return self._facts[2]

    @property
    def position(self) -> int:
        """The last entry of the ledger that it has followed; 0: none yet."""
        return max(self._facts[1], self.notes.position())

    @property
    def notes(self) -> CostNotes:
        """The record of cost."""
        return self._costs.notes

    def keep_record(self, notes: CostNotes) -> None:
        """From now on this is the record of cost."""
        self.keeps_record, self._costs = True, FollowedCosts(notes)

    @property
    def names(self) -> KnownNames:
        """What the record may name: the parts, tasks, faults and places that are known now."""
        return KnownNames(self.standing().facts.catalogue)

    def keep(self, made: Sequence[CostNote], form: str = "") -> Sequence[CostNote]:
        """Keeps notes in the record of cost, once under the name of a form. Every door writes through here.

        Raises InvalidInput for what names a part, task, kind of work or currency that the shop does not know, and what
        `keep_once` raises.
        """
        return keep_once(self.notes, settled(made, self.names, self.notes), form)

    def keep_entry(self, made: Sequence[CostNote], form: str = "") -> None:
        """Adds to a job. Raises InvalidInput for a fault, part or place that nobody knows, and as `keep_entry` does."""
        keep_entry(self.notes, settled(made, self.names, self.notes), form)

    def follow(self) -> None:
        """Takes in the notes that were added, here or by another process. Raises StoreProblem."""
        with self._lock:
            if self._notebook is not None:
                catalogue = self._notebook.catalogue()
                out = tuple(UnusedNote(one.note, one.reason) for one in self._notebook.left_out)
                self._facts = self._following.of(catalogue), self._notebook.position, out

    def follow_notes(self, notebook: Notebook) -> None:
        """From now on `follow` takes in the notes of this notebook, over the facts that the shop has now."""
        with self._lock:
            self._notebook, self._following = notebook, FollowingIndex(self.index)

    def standing(self, signs: Mapping[str, str] | None = None) -> Standing:
        """What holds now. `signs`: known before opening (sign -> state). Raises InvalidQuestion for unknown ones.

        Facts and record at one position of the ledger: a note that comes in between is followed first. Where writers
        give no pause, the record may be a moment ahead after MOST_TRIES.
        """
        for _ in range(MOST_TRIES):
            facts, position, out = self._facts
            index, costed = self._costs.costed(facts, self._today(), signs)
            if self._notebook is None or self.notes.position() <= position:
                break
            self.follow()
        return Standing(facts, index, costed, out)

    # Asking. All raise NotFound for an unknown id and InvalidQuestion for what cannot be asked.

    def ask(self, question: Question, *, with_changes: bool = False, standing: Standing | None = None) -> Answer:
        """The cheapest routes; with `with_changes` also what would change the answer. `standing`: asked of this
        moment, not of now."""
        at = standing or self.standing()
        answer = at.told(self._asked(at, question, with_changes).answer)
        near = nearest_ways(at.index, question, answer, lambda other: self.ask_best(other, standing=at))
        return replace(answer, nearest=near) if near else answer

    def ask_best(self, question: Question, *, standing: Standing | None = None) -> BestAlone:
        """The first route of the answer that `ask` gives, in a fraction of its time. `standing`: see `ask`."""
        at = standing or self.standing()
        return ask_best(at.index, question, seconds=self._seconds(question), search=self._search_for(question))

    def ask_costed(self, question: Question, signs: Mapping[str, str] | None = None) -> CostedAnswer:
        """The answer with its document and the record behind it, as costs, papers and jobs take it.

        Raises InvalidQuestion for a question that tries other odds or prices than are known.
        """
        return self._costed(self.standing(signs), question)

    def _costed(self, standing: Standing, question: Question) -> CostedAnswer:
        if question.odds or question.prices_hundredths:
            told = "is only tried and written down nowhere: leave it out, or write what you know into the shop's record"
            tried = [
                *(f"odds.{one}" for one in question.odds),
                *(f"prices.{one}" for one in question.prices_hundredths),
            ]
            raise InvalidQuestion([Problem(one, told) for one in tried])
        found = self._asked(standing, question, with_changes=False)
        tasks = {name: task.hours_hundredths for name, task in standing.facts.catalogue.tasks.items()}
        book = {**found.book_hours, **{name: hours for name, hours in tasks.items() if hours is not None}}
        return CostedAnswer(standing.told(found.answer), found.conversion, standing.costed, book)

    def while_out(
        self, question: Question, rank: int = 1, wish: RenewalWish = NO_WISH, signs: Mapping[str, str] | None = None
    ) -> WhileOut:
        """What else to renew while a route has it open; `wish`: what the customer ticked."""
        return self.costed_and_open(question, rank, wish, signs)[1]

    def costed_and_open(
        self, question: Question, rank: int = 1, wish: RenewalWish = NO_WISH, signs: Mapping[str, str] | None = None
    ) -> tuple[CostedAnswer, WhileOut]:
        """The answer with its document, and what else to renew, both of one moment."""
        standing = self.standing(signs)
        found = self._costed(standing, question)
        return found, while_out(found, standing.index, question, rank, wish)

    def costed_as_wished(
        self, question: Question, rank: int, wish: RenewalWish | None, signs: Mapping[str, str] | None = None
    ) -> tuple[CostedAnswer, WhileOut | None]:
        """The same where a wish may have been said: without one the answer alone, as papers and jobs take it."""
        if wish is None:
            return self.ask_costed(question, signs), None
        return self.costed_and_open(question, rank, wish, signs)

    def beside(self, question: Question, part: str) -> SideBySide:
        """The best routes with a part and without it; the two searches share the question's time."""
        standing, seconds = self.standing(), self._seconds(question)
        half = None if seconds is None else seconds / 2
        both = answer_with_and_without(standing.index, question, part, seconds=half, search=self._search_for(question))
        return SideBySide(both.part, standing.told(both.with_part), standing.told(both.without_part))

    def measure_next(self, question: Question) -> MeasurePlan:
        """What to measure first: the plan of the answer itself."""
        at = self.standing()
        answer = at.told(self._asked(at, question, with_changes=False).answer)

        def missing() -> tuple[NextMeasurement, ...]:
            search = within(self._search_for(question), self._seconds(question))
            return measure_next(at.index, question, search=search)

        return plan_of_answer(answer, missing)

    def solve(self, data: bytes, objective: str, alternatives: int, seconds: float | None = None) -> dict[str, Any]:
        """A conversion document solved, as JSON values. Raises InvalidDocument."""
        given = [each for each in (seconds, self.limits.seconds) if each is not None]
        order = SearchOrder(objective, alternatives, seconds=min(given, default=None), memory_mb=self.limits.memory_mb)
        try:
            found: dict[str, Any] = self.searches.run(solve_document, data, order, order=order)
        except (OutOfTime, OutOfMemory):
            found = dict(as_json(stopped_early(objective)))
        return found

    def judge(self, enquiry: Enquiry, job: str = "") -> ComplaintVerdict:
        """From a complaint to the joint; `job`: the one that built it, "" for none."""
        index, told = self.standing().index, tuple[str, ...]()
        if job:
            enquiry, told = with_job(enquiry, get_job(self.notes, job), index.catalogue)
        return judge(enquiry, index, trade_tables(), told)

    def weigh_used_box(self, asked: UsedBox) -> UsedBoxVerdict:
        """A used gearbox before it is paid for."""
        return weigh_used_box(asked, self.standing().index)

    def document(self, question: Question) -> Conversion:
        """Everything that could be done, as a conversion document."""
        return read_conversion(self.standing().index, question).conversion

    def explore(
        self, question: Question, side: str, *, limit: int, budget: Fraction | None, seconds: float | None,
        state: Reaching,
    ) -> Iterator[Reached | None]:  # fmt: skip
        """One to many: see `graph.reach.explore`."""
        return explore(
            self.standing().index, question, side, limit=limit, budget=budget, seconds=seconds, state=state,
            search=self._search_for(question),
        )  # fmt: skip

    def _asked(self, standing: Standing, question: Question, with_changes: bool) -> Asked:
        def make() -> Asked:
            search, seconds = self._search_for(question), self._seconds(question)
            return ask_index(standing.index, question, with_changes=with_changes, seconds=seconds, search=search)

        return self._kept.answer(standing.index, question, with_changes, make)

    def _seconds(self, question: Question) -> float | None:
        """As the question says, but no more than the shop allows."""
        asked = None if question.seconds is None else float(question.seconds)
        return min((each for each in (asked, self.limits.seconds) if each is not None), default=None)

    def _search_for(self, question: Question) -> Search:
        """The search with the memory that the question, and the shop, allow."""
        given = [each for each in (question.memory_mb, self.limits.memory_mb) if each is not None]
        if not given:
            return self.searches
        return lambda conversion, order: self.searches(conversion, replace(order, memory_mb=min(given)))
