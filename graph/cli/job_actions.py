"""Does what the commands about jobs ask for: plans one, notes on it, lists and shows them."""

from __future__ import annotations

import json
from argparse import Namespace
from collections.abc import Callable, Mapping
from typing import Any

from graph.answer.serial import part_as_json
from graph.cli.question import question_of
from graph.cli.said import pairs, said_by, wish_of, wishes
from graph.costing import shop
from graph.costing.jobs.closing import close_job, follow_up, reopen
from graph.costing.jobs.entries import (
    as_built_entry,
    finding_entry,
    hours_entry,
    measurement_entry,
    remark_entry,
    take_entry_back,
    words_of_entry,
)
from graph.costing.jobs.job import AsBuilt, Job, JobMeasurement, get_job
from graph.costing.jobs.past import JobFilter, find_jobs, last_times, state_words
from graph.costing.jobs.stops import halt_entry
from graph.costing.notes import CostNote, Provenance
from graph.counter import Shop
from graph.errors import InvalidInput, Problem
from graph.exact import HUNDREDTHS
from graph.wear import open_as_wished, renewals_of_job
from graph.wear.said import ticked_words


def plan(arguments: Namespace, counter: Shop) -> None:
    wish = wish_of(arguments) if wishes(arguments) else None
    signs = pairs(arguments.sign, "--sign")
    found, ticked = counter.costed_as_wished(question_of(arguments), arguments.rank, wish, signs)
    said = said_by(arguments)
    job = open_as_wished(counter.notes, found, arguments.rank, arguments.title, said, arguments.number, ticked)
    _print_job(job, arguments, counter)


def act(arguments: Namespace, counter: Shop) -> None:
    _check_words(arguments)
    if arguments.what == "list":
        wanted = JobFilter(words=arguments.words, gearbox=arguments.gearbox, engine=arguments.engine)
        for job in reversed(find_jobs(counter.notes, counter.index, wanted)):
            print(f"{job.id}: {job.title}: {state_words(job)}")
        return
    if arguments.what == "last":
        _last_times(arguments, counter)
        return
    job = get_job(counter.notes, arguments.job)
    if arguments.what != "show":
        values = _Read(pairs(arguments.values, "--set"))
        try:
            if arguments.what == "close":
                made = close_job(job, values["outcome"], said_by(arguments), shop.list_stock(counter.notes))
            elif arguments.what == "reopen":
                made = [reopen(counter.notes, job, said_by(arguments), values["reason"])]
            elif arguments.what == "take-back":
                reason = values.get("reason", "")
                made = [take_entry_back(counter.notes, job, values["entry"], said_by(arguments), reason)]
            elif arguments.what == "halt":
                tasks = counter.index.catalogue.tasks
                made = [halt_entry(job, values.get("stop", ""), values.get("words", ""), said_by(arguments), tasks)]
            else:
                made = _ENTRIES[arguments.what](job, values, said_by(arguments))
        except KeyError as missing:
            raise InvalidInput([Problem("--set", f"expected {missing.args[0]}=...")]) from None
        values.check_all_read(arguments.what)
        counter.keep_entry(made)
    _print_job(get_job(counter.notes, job.id), arguments, counter)


class _Read(dict[str, str]):
    """What was set, and which of it an entry has read."""

    def __init__(self, values: Mapping[str, str]):
        super().__init__(values)
        self._asked: dict[str, None] = {}

    def __getitem__(self, key: str) -> str:
        self._asked[key] = None
        return super().__getitem__(key)

    def get(self, key: str, default: Any = "") -> Any:
        """The value; a default where nothing is set."""
        self._asked[key] = None
        return super().get(key, default)

    def check_all_read(self, what: str) -> None:
        """Raises InvalidInput for what was set and has no place in this entry."""
        read = ", ".join(self._asked)
        unread = [name for name in self if name not in self._asked]
        if unread:
            raise InvalidInput(
                [Problem("--set", f"{name!r} has no place in {what}; it reads {read}") for name in unread]
            )


def _check_words(arguments: Namespace) -> None:
    """Raises InvalidInput for words of the command that this part of it would leave aside."""
    listing = arguments.what in ("list", "last")
    extra = [("NUMBER", arguments.job), ("--set", arguments.values)] if listing else []
    extra += [] if arguments.what == "list" else [("--words", arguments.words)]
    extra += [] if listing else [("--gearbox", arguments.gearbox), ("--engine", arguments.engine)]
    extra += [("--set", arguments.values)] if arguments.what == "show" else []
    problems = [Problem(name, f"says nothing to {arguments.what}; leave it out") for name, said in extra if said]
    if not listing and not arguments.job:
        problems.append(Problem("NUMBER", "say which job; `job list` names them"))
    if problems:
        raise InvalidInput(problems)


def _last_times(arguments: Namespace, counter: Shop) -> None:
    found = last_times(counter.notes, counter.index, counter.names, arguments.gearbox, arguments.engine)
    if arguments.json:
        print(json.dumps(part_as_json(found), ensure_ascii=False))
        return
    for job in found:
        print(f"{job.id}: {job.title} ({job.near}): {job.state}; {job.took}; {job.lasted}")
        for said in (*(f"worn: {one}" for one in job.found), *job.remarks):
            print(f"  {said}")
    if not found:
        print("No job of these two, or of their families, is known.")


def _print_job(job: Job, arguments: Namespace, counter: Shop) -> None:
    noted, known, renewals = job.actual_hundredths or {}, counter.names, renewals_of_job(counter.notes, job)
    ticked = ticked_words(renewals) if renewals else ""
    words = {note.id: words_of_entry(note, known.names_in(note, job)) for note in job.noted}
    if arguments.json:
        entries = [{"id": note.id, "words": words[note.id], "author": note.author} for note in job.noted]
        said = {"id": job.id, "outcome": job.outcome, "closing": job.closing, "actual": noted, "entries": entries,
                "renewed": ticked}  # fmt: skip
        print(json.dumps(said, ensure_ascii=False))
        return
    print(f"{job.id}: {job.title}: {state_words(job)}{f' (batch {job.closing})' if job.closing else ''}")
    for step in job.steps:
        actual = f", actual {noted[step.number] / HUNDREDTHS:.2f} h" if step.number in noted else ""
        print(f"  {step.number}. {step.stage}: {step.text} ({step.hours_hundredths / HUNDREDTHS:.2f} h{actual})")
    if ticked:
        print(f"  Renewed as well while it is open: {ticked}.")
    for note in job.noted:
        print(f"  {note.id}: {words[note.id]} ({note.author})")


def _yes(values: Mapping[str, str], key: str) -> bool:
    said = values.get(key, "no")
    if said not in ("yes", "no"):
        raise InvalidInput([Problem(f"--set {key}", f"expected yes or no, found {said!r}")])
    return said == "yes"


def _whole(values: Mapping[str, str], key: str) -> int:
    if not values[key].isdecimal():
        raise InvalidInput([Problem(f"--set {key}", f"expected a whole number, found {values[key]!r}")])
    return int(values[key])


_Values = Mapping[str, str]


def _finding(job: Job, v: _Values, said: Provenance) -> list[CostNote]:
    signs = {
        sign.strip(): state.strip()
        for sign, _, state in (each.partition(":") for each in v.get("signs", "").split(",") if each.strip())
    }
    found = finding_entry(job, v["fault"], _yes(v, "laid_open"), _yes(v, "worn"), said, v.get("words", ""), signs)
    return [found]


def _measurement(job: Job, v: _Values, said: Provenance) -> list[CostNote]:
    optional = (v.get(name, "") for name in ("datum", "tool", "by"))
    return [measurement_entry(job, JobMeasurement(v["what"], v["reading"], *optional), said)]


def _as_built(job: Job, v: _Values, said: Provenance) -> list[CostNote]:
    built = AsBuilt(v["position"], v["part"], v.get("condition", ""), v.get("words", ""))
    return [as_built_entry(job, built, said)]


_ENTRIES: Mapping[str, Callable[[Job, _Values, Provenance], list[CostNote]]] = {
    "hours": lambda job, v, said: [hours_entry(job, _whole(v, "step"), v["hours"], said)],
    "finding": _finding,
    "measurement": _measurement,
    "as-built": _as_built,
    "remark": lambda job, v, said: [remark_entry(job, v["words"], said)],
    "follow-up": lambda job, v, said: follow_up(job, _whole(v, "months"), _yes(v, "good"), said, v.get("words", "")),
}
