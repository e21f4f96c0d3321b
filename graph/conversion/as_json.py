"""A conversion document as JSON; `parse_conversion` of it gives the same document."""

from __future__ import annotations

from typing import Any

from graph.common_cause import CommonCause
from graph.conversion.document import (
    CandidateOrLink,
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
from graph.exact import HUNDREDTHS, MICROMETRES, plain


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
        "positions": [_position_as_json(position) for position in conversion.positions],
        "joints": [_joint_as_json(joint) for joint in conversion.joints],
        "chains": [_chain_as_json(chain) for chain in conversion.chains],
        "rules": [_rule_as_json(rule) for rule in conversion.rules],
        "faults": [_fault_as_json(fault) for fault in conversion.faults],
        **({"causes": [_cause_as_json(cause) for cause in conversion.causes]} if conversion.causes else {}),
        "inspections": [_inspection_as_json(inspection) for inspection in conversion.inspections],
        "features": list(conversion.features),
    }


def _open_world(conversion: Conversion) -> dict[str, Any]:
    made: dict[str, Any] = {}
    if conversion.instead_hundredths is not None:
        made["instead"] = plain(conversion.instead_hundredths, HUNDREDTHS)
    if conversion.most_assumed is not None:
        made["most_assumed"] = conversion.most_assumed
    return made


def _costs(item: Task | CandidateOrLink) -> dict[str, Any]:
    return {
        "cash": plain(item.cash_hundredths, HUNDREDTHS),
        "hours": plain(item.hours_hundredths, HUNDREDTHS),
        "days": plain(item.days),
    }


def _choice(item: CandidateOrLink) -> dict[str, Any]:
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


def _position_as_json(position: Position) -> dict[str, Any]:
    return {
        "id": position.id,
        "kind": position.kind,
        "label": position.label,
        "candidates": [{**_choice(one), "part": one.part, "as_found": one.as_found} for one in position.candidates],
    }


def _joint_as_json(joint: Joint) -> dict[str, Any]:
    return {
        "id": joint.id,
        "kind": joint.kind,
        "label": joint.label,
        "between": list(joint.between),
        "links": [_link_as_json(link) for link in joint.links],
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


def _rule_as_json(rule: Rule) -> dict[str, Any]:
    return {
        "when": rule.when,
        "needs_any": list(rule.needs_any),
        "excludes": list(rule.excludes),
        **({"also": list(rule.also)} if rule.also else {}),
        **({"demand": rule.demand} if rule.demand else {}),
    }


def _inspection_as_json(inspection: Inspection) -> dict[str, Any]:
    return {
        "id": inspection.id,
        "label": inspection.label,
        "cash": plain(inspection.cash_hundredths, HUNDREDTHS),
        "hours": plain(inspection.hours_hundredths, HUNDREDTHS),
        "settles": list(inspection.settles),
        **({"tasks": list(inspection.tasks)} if inspection.tasks else {}),
    }
