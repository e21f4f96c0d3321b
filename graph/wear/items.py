"""The list "while it is out": each part that lies open weighed, renewed or left, and what is ticked added up.

Renewing now costs the part and its own work. Leaving it costs that later, with every task of its reach once more; of
several that are left, whatever fails, each task is paid once (`graph/costing/while_open.py`, whose plan decides). What
a look settles is no gamble: it is renewed if it is worn, and what is weighed is whether a sound one wears out within
the warranty, wear taken as even over the year.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from graph.answer import words
from graph.answer.asking import steps_besides
from graph.answer.model.lines import Named
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import Besides, Step
from graph.conversion.document import Task
from graph.costing.asking import CostedAnswer, route_at
from graph.costing.causes import find_tie, tied_words
from graph.costing.spread import FaultCost, fault_spread
from graph.costing.while_open import REPLACE, OpenOption, OpenPlan, cost_of, expected_later, plan_while_open
from graph.errors import InvalidInput, LimitExceeded, Problem
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question
from graph.reading.tasks import UnitTasks, assembly_meant
from graph.wear.model import (
    ALWAYS,
    LEAVE,
    LONGEST_WARRANTY,
    LOOK,
    NOT_PRICED,
    RENEW,
    DeeperItem,
    OpenSpread,
    RenewalWish,
    WearItem,
    WearState,
    WhileOut,
    WishSum,
)
from graph.wear.said import notes_of, order_words, renewal_words, words_of
from graph.wear.subjects import Subject, list_subjects

NO_WISH = RenewalWish()


def while_out(
    found: CostedAnswer, index: CatalogueIndex, question: Question, rank: int = 1, wish: RenewalWish = NO_WISH
) -> WhileOut:
    """The list for the route of that rank. `index`: the facts with the shop's record, as the answer was made from.

    Raises NotFound for no such route, InvalidInput for a wish that names nothing of the list.
    """
    _check(wish)
    route = route_at(found.answer, rank)
    subjects = list_subjects(found, route, index, question)
    weigher = _Weigher(found, route, index, question, wish)
    done = set(route.tasks)
    here = [one for one in subjects.known if one.reach and done.issuperset(one.reach)]
    items = weigher.weigh(here)
    unknown = [one for one in wish.renew if one not in items]
    if unknown:
        known = "; ".join(items) or "nothing can be renewed while this route has it open"
        raise InvalidInput([Problem("renew", f"no part on the list is {one!r}; known: {known}") for one in unknown])
    ticked = _sum([item for item in items.values() if item.ticked], weigher.rate)
    advised = _sum([item for item in items.values() if item.decision in (ALWAYS, RENEW)], weigher.rate)
    rate_stated = found.answer.rate_stated
    wished = [one for one in here if one.id in wish.renew]
    return WhileOut(
        rank=rank, summary=route.summary, currency=found.answer.currency, rate_stated=rate_stated,
        warranty_months=wish.warranty_months, states=weigher.states(here, items),
        deeper=weigher.deeper([one for one in subjects.known if one not in here], done),
        renewed=tuple(subjects.renewed), not_known=tuple(subjects.not_known), advised=advised,
        expected_later=weigher.expected_later, all_tried=weigher.plan.proven, spread=weigher.spread(here, items),
        wish=ticked, at_least=route.at_least or bool(ticked.lacks), total=route.total,
        with_wish=route.total + ticked.total,
        notes=notes_of(wish, rate_stated, weigher.plan.proven),
        steps=_steps(found, route, index, question, [(one, items[one.id]) for one in wished]) if wished else (),
    )  # fmt: skip


def _check(wish: RenewalWish) -> None:
    months = wish.warranty_months
    if months is not None and not 0 <= months <= LONGEST_WARRANTY:
        told = f"expected 0 to {LONGEST_WARRANTY} months, found {months}"
        raise InvalidInput([Problem("warranty_months", told)])


def _steps(
    found: CostedAnswer, route: AnsweredRoute, index: CatalogueIndex, question: Question,
    wished: Sequence[tuple[Subject, WearItem]],
) -> tuple[Step, ...]:  # fmt: skip
    """The order of work with what is ticked in it."""
    after = {task.id: task.after for task in found.conversion.tasks}
    return steps_besides(index, question, route, [_besides(one, item, after) for one, item in wished])


def _besides(one: Subject, item: WearItem, after: Mapping[str, Sequence[str]]) -> Besides:
    """A ticked part as work in the order of work."""
    before = {task for other in one.reach for task in after[other]}
    of, buys = f"renewing {one.label}", _is_bought(one)
    return Besides(
        id=one.id, text=renewal_words(item, buys), place=one.position,
        tasks=tuple(task for task in one.reach if task not in before), sent=one.sent,
        cash_hundredths=item.cash_hundredths or 0, hours_hundredths=item.hours_hundredths or 0,
        not_stated=tuple(f"{what} of {of}" for what in one.price.lacks),
        buys=order_words(item, bool(one.price.part)) if buys else "",
        lead_days=one.price.lead_days, leaves=_leaves(one, item), sure=bool(one.part_id) and one.stated,
    )  # fmt: skip


def _is_bought(one: Subject) -> bool:
    """A part without a price is bought all the same; what is known to cost nothing, or lies on the shelf, is not."""
    return not one.sent and not one.price.in_stock and one.price.cash_hundredths != 0


def _leaves(one: Subject, item: WearItem) -> Named | None:
    """What comes off for good: the part that is there, or the worn piece of it; nothing of a part that is sent out."""
    if one.sent:
        return None
    if one.row is not None and one.row.piece:
        of = f" ({one.part})" if one.part else ""
        return Named("", f"old {item.renews[:1].lower()}{item.renews[1:]}{of}")
    return Named(one.part_id, one.part) if one.part_id else Named("", f"the {item.place} that is there")


def _sum(items: Sequence[WearItem], rate_hundredths: int) -> WishSum:
    cash = sum(item.cash_hundredths or 0 for item in items)
    hours = sum(item.hours_hundredths or 0 for item in items)
    lacks = tuple(f"{item.label}: {what}" for item in items for what in item.lacks)
    return WishSum(cash, hours, cost_of(cash, hours, rate_hundredths), lacks)


class _Weigher:
    """Odds and prices of one route's parts, and the plan that renews or leaves each."""

    def __init__(
        self, found: CostedAnswer, route: AnsweredRoute, index: CatalogueIndex, question: Question, wish: RenewalWish
    ):  # fmt: skip
        self.rate = found.conversion.rate_hundredths
        self._found, self._index, self._wish = found, index, wish
        units = tuple(filter(None, (question.gearbox, question.engine, question.vehicle)))
        self._work = UnitTasks(index, units, assembly_meant(index, question))
        self._tasks: dict[str, Task] = {task.id: task for task in found.conversion.tasks}
        self.plan, self.expected_later = OpenPlan((), Fraction(0), Fraction(0)), Fraction(0)

    def weigh(self, here: Sequence[Subject]) -> dict[str, WearItem]:
        """Each by its id; `plan` is what to do with all that is a gamble and has a price."""
        gambled = [one for one in here if not _is_always(one) and self._lacks(one) == ()]
        options = {one.id: self._option(one) for one in gambled}
        costs = self._task_costs(here)
        unpriced = [self._option(one) for one in here if not _is_always(one) and one.id not in options]
        self.plan = plan_while_open(list(options.values()), costs, unpriced)
        decided = {advice.option.id: advice.decision for advice in self.plan.advice}
        left = [*(option for option in options.values() if decided[option.id] != REPLACE), *unpriced]
        self.expected_later = expected_later(left, costs)
        return {one.id: self._item(one, decided.get(one.id, ""), left, costs) for one in here}

    def _option(self, one: Subject) -> OpenOption:
        own = cost_of(one.price.cash_hundredths or 0, one.price.hours_hundredths or 0, self.rate)
        return OpenOption(one.id, one.label, self._risk(one), own, one.reach)

    def _risk(self, one: Subject) -> Fraction:
        """The odds that leaving it brings the job back: for what a look settles, that a sound one does not last."""
        wears_out = self._wears_out(one)
        return wears_out if one.seen else one.odds + (1 - one.odds) * wears_out

    def _wears_out(self, one: Subject) -> Fraction:
        months, yearly = self._wish.warranty_months, one.row.yearly if one.row else Fraction(0)
        return min(Fraction(1), yearly * Fraction(months or 0, 12))

    def _task_costs(self, here: Sequence[Subject]) -> dict[str, Fraction]:
        return {task: self._cost(task) for task in sorted({task for one in here for task in one.reach})}

    def _cost(self, task: str) -> Fraction:
        known = self._task(task)
        return cost_of(known.cash_hundredths, known.hours_hundredths, self.rate)

    def _task(self, name: str) -> Task:
        if name not in self._tasks:
            self._tasks |= {task.id: task for task in self._work.closed((name,)) if task.id not in self._tasks}
        return self._tasks[name]

    def _lacks(self, one: Subject) -> tuple[str, ...]:
        no_rate = one.price.hours_hundredths and not self._found.answer.rate_stated
        return (*one.price.lacks, "the bench rate") if no_rate else one.price.lacks

    def _item(
        self, one: Subject, decided: str, left: Sequence[OpenOption], costs: Mapping[str, Fraction]
    ) -> WearItem:  # fmt: skip
        option, lacks = self._option(one), self._lacks(one)
        again = sum((costs[task] for task in one.reach), Fraction(0))
        others = [other for other in left if other.id != one.id]
        leaving = expected_later([*others, option], costs) - expected_later(others, costs)
        decision = self._decision(one, decided, lacks)
        risk = option.odds
        item = WearItem(
            id=one.id, label=one.label, renews=one.row.renews if one.row else one.label, place=self._place(one),
            part=one.part, stated=one.stated, odds=one.odds,
            within=self._within(one), cash_hundredths=one.price.cash_hundredths,
            hours_hundredths=one.price.hours_hundredths, price_source=one.price.source, now=option.own,
            later=option.own + again, at_least=bool(lacks), lacks=lacks, leaving=leaving,
            break_even=None if lacks else option.own / (option.own + again) if option.own + again else None,
            pays_up_to=risk * again / (1 - risk) if lacks and risk < 1 else None, decision=decision, words="",
            cheap_test=one.row.cheap_test if one.row else "", limit=one.row.limit if one.row else "",
            counted=one.counted, ticked=one.id in self._wish.renew, source=one.odds_words or one.source,
        )  # fmt: skip
        return replace(item, words=words_of(item, one.seen, decided == REPLACE, self._found.answer.currency))

    def _within(self, one: Subject) -> Fraction | None:
        if self._wish.warranty_months is None:
            return None
        return one.odds + (1 - one.odds) * self._wears_out(one)

    def _place(self, one: Subject) -> str:
        kind = self._index.catalogue.position_kinds.get(one.position)
        return kind.label if kind else one.position

    @staticmethod
    def _decision(one: Subject, decided: str, lacks: tuple[str, ...]) -> str:
        if _is_always(one):
            return ALWAYS
        if one.seen and decided != REPLACE:
            return LOOK
        if lacks:
            return NOT_PRICED
        return RENEW if decided == REPLACE else LEAVE

    def states(self, here: Sequence[Subject], items: Mapping[str, WearItem]) -> tuple[WearState, ...]:
        """What lies open, the shallowest first, the likeliest of each first."""
        by_reach: dict[tuple[str, ...], list[WearItem]] = {}
        for one in here:
            by_reach.setdefault(one.reach, []).append(items[one.id])
        ordered = sorted(by_reach.items(), key=lambda item: (len(item[0]), item[0]))
        return tuple(
            WearState(
                reach, self._task(reach[-1]).label, sum((self._cost(task) for task in reach), Fraction(0)),
                tuple(sorted(found, key=lambda item: (-item.odds, item.id))),
            )
            for reach, found in ordered
        )  # fmt: skip

    def deeper(self, rest: Sequence[Subject], done: set[str]) -> tuple[DeeperItem, ...]:
        """What the route does not reach, the cheapest to reach first."""
        found = []
        for one in rest:
            more = [self._task(task) for task in one.reach if task not in done]
            hours, cost = sum(task.hours_hundredths for task in more), sum(self._cost(task.id) for task in more)
            opens = tuple(task.label for task in more)
            found.append(DeeperItem(one.id, one.label, one.odds, opens, hours, Fraction(cost)))
        return tuple(sorted(found, key=lambda item: (item.cost, -item.odds, item.id)))

    def spread(self, here: Sequence[Subject], items: Mapping[str, WearItem]) -> OpenSpread | None:
        """What the advice comes to: renewed now for certain; what a look finds; what is left and comes back."""
        certain = sum((item.now for item in items.values() if item.decision in (ALWAYS, RENEW)), Fraction(0))
        certain += sum((item.now for item in items.values() if item.decision == LOOK and item.odds == 1), Fraction(0))
        faults = [fault for one in here for fault in self._chances(one, items[one.id])]
        costs = self._task_costs(here)
        try:
            plain = fault_spread(certain, faults, costs)
        except LimitExceeded:
            return None
        odds = {fault.id: fault.odds for fault in faults}
        tie = find_tie(odds, {one.id: one.position for one in here}, self._found.costed.signs)
        labels = {one.id: one.label for one in here}
        tied = tied_words(tie, certain, faults, costs, labels, self._found.answer.currency) if tie else ""
        half, ninth = plain.quantile(Fraction(1, 2)), plain.quantile(Fraction(9, 10))
        return OpenSpread(plain.mean, half, ninth, words.sentence(tied) if tied else "")

    def _chances(self, one: Subject, item: WearItem) -> list[FaultCost]:
        """What may still come of a part: found by a look and renewed at once, or left and back within the warranty."""
        if item.decision not in (LOOK, LEAVE, NOT_PRICED):
            return []  # of what lacks a price its stated labour counts, and the sum says "at least"
        if not one.seen:
            return [FaultCost(one.id, self._risk(one), item.now, one.reach)]
        later = (1 - one.odds) * self._risk(one)
        found = [FaultCost(one.id, one.odds, item.now, one.reach, seen=True)] if one.odds < 1 else []
        return [*found, *([FaultCost(f"{one.id} later", later, item.now, one.reach)] if later else [])]


def _is_always(one: Subject) -> bool:
    return one.row is not None and one.row.always
