"""`/fault-finding`: from a complaint to the joint, one answer after the other, at the car with a phone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from fastapi import Query, Request, Response

from api.addresses import ReadNames, reads
from api.pages.base import page, page_router
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.answer import words
from graph.complaints.enquiry import NO, YES, Enquiry
from graph.complaints.model import Trade
from graph.complaints.tables import trade_tables
from graph.complaints.verdict import ComplaintVerdict, NextTest
from graph.counter import Shop
from graph.errors import InvalidInput, NotFound, Problem
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice

router = page_router()
Short = Annotated[str, Query(max_length=120)]
Few = Annotated[list[str], Query(max_length=40)]
MOST_UNITS, SHOWN_TESTS, LONGEST = 300, 6, 120


@dataclass(frozen=True, slots=True)
class TestField:
    """A test with its answer so far: "", yes or no. `takes`: its time and what must be opened, in words."""

    __test__ = False  # the tests' collector takes classes of this name for its own

    id: str
    asks: str
    how: str
    answer: str
    takes: str
    settles: str
    if_yes: str
    if_no: str


@dataclass(frozen=True, slots=True)
class SuspectRow:
    """A cause, how likely in words, and as a bar of `width` (0 to 100)."""

    label: str
    where: str
    odds: str
    width: str
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    remedy: str
    looks_like: str
    price: str


@dataclass(frozen=True, slots=True)
class FaultView:
    """The page. `verdict` is None while there is no complaint, or something of the form is wrong (`problems`)."""

    complaints: tuple[Choice, ...]
    complaint: str
    second: str
    units: tuple[tuple[str, str, str, tuple[Choice, ...]], ...]
    job: str
    tasks: tuple[Choice, ...]
    opened: tuple[str, ...]
    dimensions: tuple[tuple[Choice, str], ...]
    verdict: ComplaintVerdict | None
    something_else: str
    suspects: tuple[SuspectRow, ...]
    tests: tuple[TestField, ...]
    answered: tuple[TestField, ...]
    problems: tuple[Problem, ...]


@reads(ReadNames(starts=("t.", "m.")))
@needs("read")
@router.get("/fault-finding")
def show_fault_finding(
    request: Request, workshop: UsesWorkshop, complaint: Short = "", second: Short = "", gearbox: Short = "",
    engine: Short = "", job: Short = "", opened: Few = [],  # noqa: B006  (FastAPI copies it)
) -> Response:  # fmt: skip
    """The form with its answer."""
    typed = {name: text[:LONGEST] for name, text in request.query_params.items()}
    findings = {name[2:]: text for name, text in typed.items() if name.startswith("t.") and text}
    measured = {name[2:]: text.strip() for name, text in typed.items() if name.startswith("m.") and text.strip()}
    said = tuple(dict.fromkeys(filter(None, (complaint, second))))
    enquiry = Enquiry(said, findings, tuple(filter(None, opened)), gearbox, engine, measured)
    view = fault_view(workshop.shop, enquiry, job.strip())
    return page(request, "fault_finding.html", view, title="Fault finding")


def fault_view(shop: Shop, enquiry: Enquiry, job: str) -> FaultView:
    """Everything that the page shows; what is wrong with the form is told on it and nothing is weighed."""
    trade, index = trade_tables(), shop.index
    verdict, problems = _weighed(shop, enquiry, job)
    said = (*enquiry.complaints, "", "")
    asked = verdict.tests if verdict else ()
    return FaultView(
        tuple(Choice(one.id, one.label) for one in trade.complaints.values()), said[0], said[1],
        tuple(
            (name, label, unit, _units(index, name))
            for name, label, unit in (
                ("gearbox", "Gearbox", enquiry.gearbox), ("engine", "Engine", enquiry.engine),
            )
        ),
        job, _tasks(trade, index), enquiry.opened,
        tuple(
            (Choice(chain.id, chain.label), enquiry.measured.get(chain.id, ""))
            for chain in index.catalogue.chain_kinds.values()
        ),
        verdict, words.likelihood(verdict.something_else) if verdict else "", _suspects(verdict),
        tuple(_asked(one) for one in asked[:SHOWN_TESTS]), _answered(trade, enquiry.findings), problems,
    )  # fmt: skip


def _weighed(shop: Shop, enquiry: Enquiry, job: str) -> tuple[ComplaintVerdict | None, tuple[Problem, ...]]:
    if not enquiry.complaints:
        return None, ()
    try:
        return shop.judge(enquiry, job), ()
    except InvalidInput as error:
        return None, error.problems
    except NotFound as error:
        return None, (Problem("", str(error)),)


def _units(index: CatalogueIndex, what: str) -> tuple[Choice, ...]:
    parts = index.catalogue.parts
    return tuple(Choice(one, parts[one].label) for one in index.units(what)[:MOST_UNITS])


def _tasks(trade: Trade, index: CatalogueIndex) -> tuple[Choice, ...]:
    """The tasks that some test needs."""
    known = index.catalogue.tasks
    wanted = dict.fromkeys(task for test in trade.tests.values() for task in test.needs if task in known)
    return tuple(Choice(task, known[task].label) for task in wanted)


def _suspects(verdict: ComplaintVerdict | None) -> tuple[SuspectRow, ...]:
    return tuple(
        SuspectRow(
            one.label, "; ".join(filter(None, (one.joint, one.position))), words.likelihood(one.odds),
            f"{100 * one.odds:.1f}", one.speaks_for, one.speaks_against, one.remedy, one.looks_like, one.price,
        )
        for one in (verdict.suspects if verdict else ())
    )  # fmt: skip


def _asked(test: NextTest) -> TestField:
    return TestField(
        test.test, test.asks, test.how, "", _takes(test), words.likelihood(test.settles), test.if_yes, test.if_no
    )  # fmt: skip


def _takes(test: NextTest) -> str:
    minutes = f"{test.minutes:g} min" if test.minutes else "a question"
    if not test.opens:
        return minutes
    opening = f"{test.opening_hours_hundredths / 100:g} h"
    return f"{minutes}, and {opening} to open: {', '.join(test.opens)}"


def _answered(trade: Trade, findings: Mapping[str, str]) -> tuple[TestField, ...]:
    return tuple(
        TestField(one, trade.tests[one].asks, trade.tests[one].how, answer, "", "", "", "")
        for one, answer in findings.items()
        if one in trade.tests and answer in (YES, NO)
    )
