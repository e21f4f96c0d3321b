"""JSON to conversion document and back.

`parse_conversion` accepts the fields of `document` and nothing else, and reports every fault it finds
with the path of the field. `conversion_as_json` writes the same document again.
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
from graph.exact import HUNDREDTHS, MICROMETRES, plain

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


def conversion_as_json(conversion: Conversion) -> dict[str, Any]:
    """The document as a JSON object; `parse_conversion` of it gives the same conversion."""
    return {
        "gearbox": conversion.gearbox,
        "engine": conversion.engine,
        "rate": plain(conversion.rate_hundredths, HUNDREDTHS),
        "day_hours": plain(conversion.day_hours),
        "deadline": None if conversion.deadline is None else plain(conversion.deadline),
        **_open_world(conversion),
        "tasks": [
            {"id": task.id, "label": task.label, "after": list(task.after), **_costs(task)} for task in conversion.tasks
        ],
        "positions": [
            {
                "id": position.id,
                "kind": position.kind,
                "label": position.label,
                "candidates": [
                    {**_choice(one), "part": one.part, "as_found": one.as_found} for one in position.candidates
                ],
            }
            for position in conversion.positions
        ],
        "joints": [
            {
                "id": joint.id,
                "kind": joint.kind,
                "label": joint.label,
                "between": list(joint.between),
                "links": [_link_as_json(link) for link in joint.links],
            }
            for joint in conversion.joints
        ],
        "chains": [_chain_as_json(chain) for chain in conversion.chains],
        "rules": [
            {"when": rule.when, "needs_any": list(rule.needs_any), "excludes": list(rule.excludes)}
            | ({"also": list(rule.also)} if rule.also else {})
            | ({"demand": rule.demand} if rule.demand else {})
            for rule in conversion.rules
        ],
        "faults": [_fault_as_json(fault) for fault in conversion.faults],
        **({"causes": [_cause_as_json(cause) for cause in conversion.causes]} if conversion.causes else {}),
        "inspections": [
            {
                "id": one.id,
                "label": one.label,
                "cash": plain(one.cash_hundredths, HUNDREDTHS),
                "hours": plain(one.hours_hundredths, HUNDREDTHS),
                "settles": list(one.settles),
                **({"tasks": list(one.tasks)} if one.tasks else {}),
            }
            for one in conversion.inspections
        ],
        "features": list(conversion.features),
    }


def _open_world(conversion: Conversion) -> dict[str, Any]:
    made: dict[str, Any] = {}
    if conversion.instead_hundredths is not None:
        made["instead"] = plain(conversion.instead_hundredths, HUNDREDTHS)
    if conversion.most_assumed is not None:
        made["most_assumed"] = conversion.most_assumed
    return made


def _costs(item: Task | Candidate | Link) -> dict[str, Any]:
    return {
        "cash": plain(item.cash_hundredths, HUNDREDTHS),
        "hours": plain(item.hours_hundredths, HUNDREDTHS),
        "days": plain(item.days),
    }


def _choice(item: Candidate | Link) -> dict[str, Any]:
    return {
        "id": item.id,
        "label": item.label,
        **_costs(item),
        "tasks": list(item.tasks),
        "features": list(item.features),
        "shifts": {chain: plain(shift, MICROMETRES) for chain, shift in item.shifts_um.items()},
        "facts": list(item.facts),
        "conditions": list(item.conditions),
        "to_confirm": list(item.to_confirm),
        **({"assumed": True} if item.assumed else {}),
        **({"unmeasured": list(item.unmeasured)} if item.unmeasured else {}),
    }


def _link_as_json(link: Link) -> dict[str, Any]:
    return {
        **_choice(link),
        "parts": list(link.parts),
        "kind": link.kind,
        "via": list(link.via),
        "operations": list(link.operations),
        "irreversible": link.irreversible,
    }


def _chain_as_json(chain: Chain) -> dict[str, Any]:
    limits = {"low": chain.low_um, "high": chain.high_um}
    return {
        "id": chain.id,
        "label": chain.label,
        "start": plain(chain.start_um, MICROMETRES),
        **{name: None if limit is None else plain(limit, MICROMETRES) for name, limit in limits.items()},
    }


def _fault_as_json(fault: Fault) -> dict[str, Any]:
    return {
        "id": fault.id,
        "label": fault.label,
        **({"on": list(fault.on)} if fault.on else {"position": fault.position}),
        "odds": plain(fault.odds),
        "cash": plain(fault.cash_hundredths, HUNDREDTHS),
        "hours": plain(fault.hours_hundredths, HUNDREDTHS),
        "reach": list(fault.reach),
        "shows": fault.shows,
    }


def _cause_as_json(cause: CommonCause) -> dict[str, Any]:
    return {
        "id": cause.id,
        "label": cause.label,
        "odds": plain(cause.odds),
        "if_there": {fault: plain(odds) for fault, odds in cause.if_there.items()},
    }
