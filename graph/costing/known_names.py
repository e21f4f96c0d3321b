"""What the record of cost may name: parts, tasks sent out, kinds of work, faults and places that the workshop knows.

The one place that decides it, for pages, API, commands and workbooks alike. A price of a part that nobody knows would
count nowhere and say nothing; so it is refused, with what looks like it. A part may be named by its id, or by its exact
name or number where one part alone has it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any

from graph.answer.words import one as article
from graph.catalogue.kinds import can_hold
from graph.catalogue.model import Catalogue
from graph.catalogue.near import near_matches
from graph.costing.jobs.job import Job, get_job
from graph.costing.jobs.stops import stop_label
from graph.costing.notes import (
    EVIDENCE,
    FINDING,
    HOURS,
    JOB_ENTRY,
    PRICE,
    RATE,
    STOCK,
    SUBLET,
    CostNote,
    CostNotes,
)
from graph.costing.priors import load_signs
from graph.costing.rates import BENCH
from graph.costing.signs import check_signs
from graph.costing.works import SENT_OUT
from graph.errors import InvalidInput, Problem
from graph.exact import NotExact
from graph.plain_text import fault_of_text
from graph.plates.bill import RATES

# The kinds of work that lay:work names in facts/vocabulary/layshaft.ttl; those of the facts themselves come to them.
USUAL_KINDS = (BENCH, "electrical", "machining", "road test", "welding")
MOST_BY_NAME = 20_000  # of more parts, only ids are looked up: their names are in no table that fits
MOST_SHOWN = 5  # of what is known, where nothing looks like what was said
MOST_HINTS = 20  # unknown names of one list that are compared with every known one
_LEARNT = (HOURS, FINDING, EVIDENCE, STOCK)  # of a job that is closed
_FIELDS = {PRICE: "part", STOCK: "part", RATE: "kind", SUBLET: "id"}


LookUp = Callable[[str], str]  # raises NotExact


class KnownNames:
    """What a workshop's facts name. Every look-up raises NotExact, with near matches, for what nobody knows."""

    def __init__(self, known: Catalogue):
        self._known = known
        self._hints = MOST_HINTS

    def part(self, said: str) -> str:
        """The id of the part meant.

        >>> KnownNames(Catalogue()).part("disc")
        Traceback (most recent call last):
        graph.exact.NotExact: no part is known by 'disc'; add it as a new part first
        """
        if said in self._known.parts or fault_of_text(said):  # such a text is told of, by its code, where it is kept
            return said
        meant = self._parts_by_name.get(_plain(said), ())
        if len(meant) == 1:
            return meant[0]
        if meant:
            raise NotExact(f"{len(meant)} parts are named {said[:80]!r}: name one by its id, of {', '.join(meant[:5])}")
        near = self._near(said, self._known.parts)
        raise NotExact(f"no part is known by {said[:80]!r}; {near or 'add it as a new part first'}")

    def piece(self, said: str) -> str:
        """The id of a part that can lie on a shelf: a family is no piece, one of what is of it is."""
        part = self._known.parts.get(found := self.part(said))
        if part is not None and part.abstract:
            held = [one.label for one in self._known.parts.values() if one.variant_of == found and not one.abstract]
            raise NotExact(f"{part.label} is a family, of which no piece can lie there; {_one_of_these(held)}")
        return found

    def currency(self, code: str) -> str:
        """The workshop's own currency; amounts are never converted, so one in another would count nowhere."""
        own = self._known.currency
        if own and code != own:
            raise NotExact(f"the workshop counts in {own}, found {code}: convert it at the day's rate, and say so")
        return code

    def list_kinds(self) -> list[str]:
        """The kinds of work that an hour may be charged for, the bench's first."""
        kinds = dict.fromkeys(USUAL_KINDS, "")
        kinds |= {task.work: "" for task in self._known.tasks.values() if task.work}
        kinds |= {price.work: "" for price in self._known.operation_prices.values() if price.work}
        return [BENCH, *sorted(set(kinds) - {BENCH})]

    def list_sent_out(self) -> dict[str, str]:
        """What is sent out: tasks, operations that have a price, what a plate is priced by; ids with their names."""
        visits = {task.id: task.label for task in self._known.tasks.values() if task.stage == SENT_OUT}
        priced = {name: name.replace("-", " ") for name in self._known.operation_prices}
        return {**priced, **RATES, **visits}

    def kind_of_work(self, said: str) -> str:
        """A kind of work that an hour may be charged for."""
        return said if fault_of_text(said) else self._one_of(said, dict.fromkeys(self.list_kinds(), ""), "kind of work")

    def sent_out(self, said: str) -> str:
        """The id of a task that is sent out, or of an operation that has a price."""
        visits = self.list_sent_out()
        if said in self._known.tasks and said not in visits:
            told = f"{self._known.tasks[said].label!r} is done in the shop and not sent out"
            raise NotExact(f"{told}; {self._near(said, visits) or _some('sent out are', visits)}")
        return said if fault_of_text(said) else self._one_of(said, visits, "task that is sent out, nor operation,")

    def fault(self, said: str, job: Job) -> str:
        """A fault of the facts, or what the job's route assumed."""
        faults = dict.fromkeys(job.faults, "") | dict.fromkeys(job.doubts or {}, "")
        if said in faults or said in self._known.faults:
            return said
        return self._one_of(said, [*faults, *self._known.faults], "fault")

    def part_at(self, part: str, place: str) -> str:
        """The part. Raises NotExact for a part of a kind that the place, by its id or name, never holds."""
        found = self._known.parts.get(part)
        kinds = [one for one in self._known.position_kinds.values() if place in (one.id, one.label)]
        if found is None or not kinds or any(can_hold(self._known, found.kind, one.id) for one in kinds):
            return part
        names = self._known.part_kinds
        kind = names[found.kind].label if found.kind in names else found.kind
        wanted = " or ".join(names[one].label if one in names else one for one in kinds[0].part_kinds)
        raise NotExact(f"{found.label} is {article(kind)}; {place} takes {article(wanted)}")

    def label(self, about: str) -> str:
        """What people call a task, operation, fault, part or joint that a job taught of; empty where it has no name."""
        known = self._known
        for table in (known.tasks, known.operation_prices, known.faults, known.parts, known.joint_kinds):
            if about in table:
                return str(table[about].label)
        for joint in known.joint_kinds.values():  # what the joints of a kind taught, whatever parts meet there
            for within, words in ((True, "within one family"), (False, "across families")):
                if about == joint.odds_key(within):
                    return f"{joint.label}, {words}"
        if about not in known.edges:
            return ""
        edge = known.edges[about]
        ends = [known.parts[end].label for end in (edge.source, edge.target) if end in known.parts]
        at = known.joint_kinds.get(edge.joint)
        return " and ".join(ends) + (f", {at.label}" if at else "")

    def names_in(self, note: CostNote, job: Job) -> dict[str, str]:
        """The names for the ids that an entry of a job speaks of."""
        texts = {fault: doubt.text for fault, doubt in (job.doubts or {}).items()}
        known = self._known
        tables: dict[str, Mapping[str, Any]] = {
            "fault": known.faults, "position": known.position_kinds, "part": known.parts
        }  # fmt: skip
        found: dict[str, str] = {}
        for field, table in tables.items():
            said = str(note.body.get(field, ""))
            if said in texts:
                found[said] = texts[said]
            elif said in table:
                found[said] = table[said].label
        if stop := str(note.body.get("stop", "")):
            found[stop] = stop_label(stop)
        return found

    def place(self, said: str, job: Job) -> str:
        """A place of the plan, or one that parts can hold, by its id or its name; as the plan names it."""
        planned = {one.position: one.position for one in job.from_shelf}
        kinds = {one.id: one.label for one in self._known.position_kinds.values()}
        found = self._one_of(said, {**planned, **kinds}, "place")
        return kinds.get(found, found)

    @cached_property
    def _parts_by_name(self) -> Mapping[str, list[str]]:
        found: dict[str, list[str]] = {}
        if len(self._known.parts) <= MOST_BY_NAME:
            for part in self._known.parts.values():
                for name in {_plain(part.label), _plain(part.number)} - {""}:
                    found.setdefault(name, []).append(part.id)
        return found

    def _one_of(self, said: str, known: Iterable[str], what: str) -> str:
        labels = known if isinstance(known, Mapping) else dict.fromkeys(known, "")
        if said in labels:
            return said
        named = [name for name, label in labels.items() if _plain(said) in (_plain(label), _plain(name))]
        if len(named) == 1 and said:
            return named[0]
        near = self._near(said, [*labels, *filter(None, labels.values())])
        raise NotExact(f"no {what} is known by {said[:80]!r}; {near or _some('known are', labels)}")

    def _near(self, said: str, known: Iterable[str]) -> str:
        if self._hints <= 0:
            return ""
        self._hints -= 1
        near = near_matches(said, known)
        return f"did you mean {', '.join(near)}?" if near else ""


def settled(made: Sequence[CostNote], known: KnownNames, notes: CostNotes) -> list[CostNote]:
    """The notes with ids for what they name. Raises InvalidInput with every name that nobody knows, at its field.

    What a job's closing takes off the shelf, and what takes something back, names what is kept already.
    """
    problems: list[Problem] = []
    many = len(made) > 1
    found = []
    for number, note in enumerate(made, start=1):
        try:
            found.append(_settled_note(note, known, notes))
        except InvalidInput as error:
            where = f"entry {number}, " if many else ""
            problems += [Problem(f"{where}{one.path}", one.message) for one in error.problems]
    if problems:
        raise InvalidInput(problems[:100])
    return found


def _settled_note(note: CostNote, known: KnownNames, notes: CostNotes) -> CostNote:
    if note.kind in _FIELDS and not note.job:
        look_up = {PRICE: known.part, STOCK: known.piece, RATE: known.kind_of_work, SUBLET: known.sent_out}[note.kind]
        problems: list[Problem] = []
        about = _tried(problems, _FIELDS[note.kind], note.about, look_up)
        _tried(problems, "currency", str(note.body.get("currency", "")), known.currency)
        if problems:
            raise InvalidInput(problems)
        return replace(note, about=about)
    if note.job and note.kind in _LEARNT and (label := known.label(note.about)):
        return replace(note, body={**note.body, "label": label})
    if note.kind == JOB_ENTRY and note.body.get("entry") in ("finding", "as built"):
        return _settled_entry(note, known, get_job(notes, note.job))
    return note


def _settled_entry(note: CostNote, known: KnownNames, job: Job) -> CostNote:
    body, problems = dict(note.body), list[Problem]()
    if body["entry"] == "finding":
        body["fault"] = _tried(problems, "fault", str(body["fault"]), lambda said: known.fault(said, job))
        signs = body.get("signs", {})
        if isinstance(signs, Mapping):
            check_signs({str(sign): str(state) for sign, state in signs.items()}, load_signs())
    else:
        body["position"] = _tried(problems, "position", str(body["position"]), lambda said: known.place(said, job))
        body["part"] = part = _tried(problems, "part", str(body["part"]), known.part)
        if not problems:
            place = str(body["position"])
            _tried(problems, "part", part, lambda said: known.part_at(said, place))
    if problems:
        raise InvalidInput(problems)
    return replace(note, body=body)


def _tried(problems: list[Problem], field: str, said: str, look_up: LookUp) -> str:
    try:
        return look_up(said)
    except NotExact as fault:
        problems.append(Problem(field, str(fault)))
        return said


def with_every_fault(make: Callable[[], CostNote], field: str, said: str, look_up: LookUp) -> CostNote:
    """The note that is made. Raises InvalidInput with the fault of the name that it is about beside those of its
    figures, so that nobody is told of one after the other."""
    try:
        return make()
    except InvalidInput as error:
        problems: list[Problem] = []
        _tried(problems, field, said, look_up)
        raise InvalidInput([*problems, *error.problems]) from None


def _one_of_these(labels: Sequence[str]) -> str:
    if not labels:
        return "add the one that does as a new part first"
    more = f" and {len(labels) - MOST_SHOWN} more" if len(labels) > MOST_SHOWN else ""
    return f"name the one that does: {', '.join(labels[:MOST_SHOWN])}{more}"


def _some(told: str, known: Iterable[str]) -> str:
    names = sorted(known)
    more = f" and {len(names) - MOST_SHOWN} more" if len(names) > MOST_SHOWN else ""
    return f"{told} {', '.join(names[:MOST_SHOWN]) or 'none'}{more}"


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())
