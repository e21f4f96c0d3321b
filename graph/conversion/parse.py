"""JSON to conversion document.

`parse_conversion` accepts the fields of `document` and nothing else, and reports every fault it finds
with the path of the field. The way back is `graph.conversion.as_json`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from graph.common_cause import CommonCause
from graph.conversion.document import (
    LINK_KINDS,
    Candidate,
    Chain,
    Conversion,
    Fault,
    Inspection,
    Joint,
    Link,
    Position,
    Rule,
    Task,
)
from graph.conversion.reader import ObjectReader, Problems, read_json
from graph.conversion.references import note_broken_references
from graph.conversion.size import note_too_large
from graph.exact import plain

CHOICE_KEYS = (
    "id", "label", "cash", "hours", "days", "tasks", "features", "shifts", "facts", "conditions", "to_confirm",
    "assumed", "unmeasured",
)  # fmt: skip


def parse_conversion(data: bytes | str | Mapping[str, Any]) -> Conversion:
    """The conversion that `data` (JSON text, or the object itself) states.

    Raises InvalidDocument with one Problem per fault, each with the path of its field.
    """
    problems = Problems()
    value = read_json(data) if isinstance(data, (bytes, str)) else data
    note_too_large(value, problems)
    problems.raise_if_any()  # before anything is read of a document that is too large to be read
    conversion = _conversion(value, problems)
    problems.raise_if_any()
    conversion = _in_order(conversion)
    note_broken_references(conversion, problems)
    problems.raise_if_any()
    return conversion


def _in_order(conversion: Conversion) -> Conversion:
    """Every link's parts in the order of its joint's ends, whichever way round they were written."""
    held = {position.id: {one.id for one in position.candidates} for position in conversion.positions}

    def turned(joint: Joint, link: Link) -> Link:
        first, second = (held.get(end, set()) for end in joint.between)
        is_turned = link.parts[0] not in first and link.parts[0] in second and link.parts[1] in first
        return replace(link, parts=(link.parts[1], link.parts[0])) if is_turned else link

    joints = tuple(replace(one, links=tuple(turned(one, link) for link in one.links)) for one in conversion.joints)
    return replace(conversion, joints=joints)


def _conversion(value: Any, problems: Problems) -> Conversion:
    keys = ("gearbox", "engine", "rate", "day_hours", "deadline", "instead", "most_assumed", "tasks", "positions",
            "joints", "chains", "rules", "faults", "causes", "inspections", "features")  # fmt: skip
    of = ObjectReader(value, "", keys, problems)
    day_hours = of.take_fraction("day_hours", default=8)
    if day_hours == 0:
        problems.note("day_hours", "expected more than 0 bench hours in a working day")
    return Conversion(
        gearbox=of.take_text("gearbox", ""),
        engine=of.take_text("engine", ""),
        rate_hundredths=of.take_hundredths("rate"),
        day_hours=day_hours,
        deadline=None if of.value.get("deadline") is None else of.take_fraction("deadline"),
        tasks=of.take_objects("tasks", lambda item, path: _task(item, path, problems)),
        positions=of.take_objects("positions", lambda item, path: _position(item, path, problems)),
        joints=of.take_objects("joints", lambda item, path: _joint(item, path, problems)),
        chains=of.take_objects("chains", lambda item, path: _chain(item, path, problems)),
        rules=of.take_objects("rules", lambda item, path: _rule(item, path, problems)),
        faults=of.take_objects("faults", lambda item, path: _fault(item, path, problems)),
        causes=of.take_objects("causes", lambda item, path: _cause(item, path, problems)),
        inspections=of.take_objects("inspections", lambda item, path: _inspection(item, path, problems)),
        features=of.take_texts("features"),
        instead_hundredths=None if of.value.get("instead") is None else of.take_hundredths("instead"),
        most_assumed=None if of.value.get("most_assumed") is None else of.take_count("most_assumed"),
    )


def _task(value: Any, path: str, problems: Problems) -> Task:
    of = ObjectReader(value, path, ("id", "label", "after", "cash", "hours", "days"), problems)
    id_ = of.take_id("id")
    return Task(
        id=id_,
        label=of.take_text("label", id_),
        after=of.take_texts("after"),
        cash_hundredths=of.take_hundredths("cash"),
        hours_hundredths=of.take_hundredths("hours"),
        days=of.take_fraction("days"),
    )


def _position(value: Any, path: str, problems: Problems) -> Position:
    of = ObjectReader(value, path, ("id", "kind", "label", "candidates"), problems)
    id_ = of.take_id("id")
    candidates = of.take_objects("candidates", lambda item, at: _candidate(item, at, problems))
    return Position(id_, of.take_text("kind", ""), of.take_text("label", id_), candidates)


def _choice_fields(of: ObjectReader) -> dict[str, Any]:
    id_ = of.take_id("id")
    return {
        "id": id_,
        "label": of.take_text("label", id_),
        "cash_hundredths": of.take_hundredths("cash"),
        "hours_hundredths": of.take_hundredths("hours"),
        "days": of.take_fraction("days"),
        "tasks": of.take_texts("tasks"),
        "features": of.take_texts("features"),
        "shifts_um": of.take_shifts_um("shifts"),
        "facts": of.take_texts("facts"),
        "conditions": of.take_texts("conditions"),
        "to_confirm": of.take_texts("to_confirm"),
        "assumed": of.take_flag("assumed"),
        "unmeasured": of.take_texts("unmeasured"),
    }


def _candidate(value: Any, path: str, problems: Problems) -> Candidate:
    of = ObjectReader(value, path, (*CHOICE_KEYS, "part", "as_found"), problems)
    fields = _choice_fields(of)
    return Candidate(part=of.take_text("part", fields["id"]), as_found=of.take_flag("as_found"), **fields)


def _joint(value: Any, path: str, problems: Problems) -> Joint:
    of = ObjectReader(value, path, ("id", "kind", "label", "between", "links"), problems)
    id_ = of.take_id("id")
    between = of.take_texts("between")
    if len(between) != 2 or between[0] == between[1]:
        problems.note(of.at("between"), "expected two different position ids")
        between = ("", "")
    links = of.take_objects("links", lambda item, at: _link(item, at, problems))
    if not links and not isinstance(of.value.get("links"), (list, tuple)):
        problems.note(of.at("links"), "a joint needs a list of links")
    elif not links and not of.value["links"]:
        problems.note(of.at("links"), "a joint without links can never close; give it a link or leave the joint out")
    return Joint(id_, of.take_text("kind", ""), of.take_text("label", id_), (between[0], between[1]), links)


def _link(value: Any, path: str, problems: Problems) -> Link:
    keys = (*CHOICE_KEYS, "parts", "kind", "via", "operations", "irreversible")
    of = ObjectReader(value, path, keys, problems)
    parts = of.take_texts("parts")
    if len(parts) != 2:
        problems.note(of.at("parts"), "expected two candidate ids")
        parts = ("", "")
    kind = of.take_text("kind", "fits")
    if kind not in LINK_KINDS:
        problems.note(of.at("kind"), f"expected one of {', '.join(LINK_KINDS)}; found {kind!r}")
    return Link(
        parts=(parts[0], parts[1]),
        kind=kind,
        via=of.take_texts("via"),
        operations=of.take_texts("operations"),
        irreversible=of.take_flag("irreversible"),
        **_choice_fields(of),
    )


def _chain(value: Any, path: str, problems: Problems) -> Chain:
    of = ObjectReader(value, path, ("id", "label", "start", "low", "high"), problems)
    id_, low, high = of.take_id("id"), of.take_limit_um("low"), of.take_limit_um("high")
    if low is not None and high is not None and low > high:
        problems.note(
            of.at("low"), f"the low limit {plain(low, 1000)} mm is above the high limit {plain(high, 1000)} mm"
        )
    return Chain(id_, of.take_text("label", id_), of.take_micrometres("start"), low, high)


def _rule(value: Any, path: str, problems: Problems) -> Rule:
    of = ObjectReader(value, path, ("when", "needs_any", "excludes", "also", "demand"), problems)
    needs, excludes, also = (of.take_texts(key) for key in ("needs_any", "excludes", "also"))
    return Rule(of.take_id("when"), needs, excludes, also, of.take_text("demand", ""))


def _fault(value: Any, path: str, problems: Problems) -> Fault:
    keys = ("id", "label", "position", "on", "odds", "cash", "hours", "reach", "shows")
    of = ObjectReader(value, path, keys, problems)
    id_ = of.take_id("id")
    position, on = _where(of)
    return Fault(
        id=id_,
        label=of.take_text("label", id_),
        position=position,
        on=on,
        odds=of.take_fraction("odds", most=1),
        cash_hundredths=of.take_hundredths("cash"),
        hours_hundredths=of.take_hundredths("hours"),
        reach=of.take_texts("reach"),
        shows=of.take_flag("shows"),
    )


def _where(of: ObjectReader) -> tuple[str, tuple[str, ...]]:
    """The position or the choices that a fault sits on; the other is empty."""
    on = of.take_texts("on")
    if not of.value.get("on"):
        if of.value.get("position") is None:
            of.note("position", "a fault sits at a position, or on candidates and links; state `position` or `on`")
            return "", ()
        return of.take_id("position"), ()
    if of.value.get("position") is not None:
        of.note("on", "a fault sits at a position or on candidates and links, not both; leave one of the two out")
    return "", on


def _cause(value: Any, path: str, problems: Problems) -> CommonCause:
    of = ObjectReader(value, path, ("id", "label", "odds", "if_there"), problems)
    id_ = of.take_id("id")
    odds = of.take_fraction("odds", most=1)
    if "odds" not in of.value:
        problems.note(of.at("odds"), "is not there: say how likely the cause is, more than 0 and less than 1")
    return CommonCause(id_, of.take_text("label", id_), odds, of.take_odds("if_there"))


def _inspection(value: Any, path: str, problems: Problems) -> Inspection:
    of = ObjectReader(value, path, ("id", "label", "cash", "hours", "settles", "tasks"), problems)
    id_ = of.take_id("id")
    return Inspection(
        id=id_,
        label=of.take_text("label", id_),
        cash_hundredths=of.take_hundredths("cash"),
        hours_hundredths=of.take_hundredths("hours"),
        settles=of.take_texts("settles"),
        tasks=of.take_texts("tasks"),
    )
