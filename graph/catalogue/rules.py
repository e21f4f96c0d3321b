"""Rules between facts that shapes express badly: cycles, limits that cross, doubles, currencies, joints of wrong parts.

Every rule yields problems and goes on, and tolerates names that are not known (the shapes report those), so that
one run shows everything that is wrong.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping

from pyoxigraph import Literal

from graph.catalogue.described import EDGE_CLASSES
from graph.catalogue.judged import JudgedFacts
from graph.catalogue.kinds import can_hold, can_mate, is_kind
from graph.catalogue.measurements import list_measurement_problems
from graph.catalogue.model import CONTAINS, DOES_NOT_FIT, HAS_NONE, MATING_KINDS, UNIT_KINDS, Catalogue, Edge
from graph.catalogue.names import BROADER, LAY, TYPE, local_id, short_name
from graph.catalogue.near import near_matches
from graph.catalogue.statements import node_key
from graph.catalogue.terms import Assembly, TaskKind
from graph.errors import Problem


def list_rule_problems(facts: JudgedFacts) -> list[Problem]:
    """Every broken rule, rule by rule."""
    return [problem for rule in RULES for problem in rule(facts)]


def _stated_twice(facts: JudgedFacts) -> Iterator[Problem]:
    for subject, files in facts.statements.declared.items():
        if subject.startswith("_:") or len(files) == 1:
            continue
        classes = [name for name in facts.statements.classes_of(subject) if name in EDGE_CLASSES]
        if len(classes) > 1:
            found = " and ".join(sorted(EDGE_CLASSES[name] for name in classes))
            yield Problem(
                facts.statements.place(subject, TYPE), f"an edge is of one kind, found {found}; state two edges"
            )
        else:
            where = " and ".join(dict.fromkeys(files))
            yield Problem(
                facts.statements.place(subject, TYPE), f"stated twice, in {where}; keep one or rename the other"
            )


def _same_id(facts: JudgedFacts) -> Iterator[Problem]:
    for subject in facts.statements.declared:
        thing = local_id(subject, facts.statements.shop_base)
        other = facts.keys.get(thing, subject)
        if other != subject:
            name = short_name(other, facts.statements.shop_base)
            yield Problem(facts.statements.place(subject), f"has the same id as {name}; rename one of them")


def _of_no_class(facts: JudgedFacts) -> Iterator[Problem]:
    """A misspelt subject would otherwise be a thing of its own that nothing reads."""
    for subject, properties in facts.statements.values.items():
        if subject.startswith("_:") or TYPE in properties or not any(prop.startswith(LAY) for prop in properties):
            continue
        near = near_matches(local_id(subject, facts.statements.shop_base), facts.keys)
        names = ", ".join(short_name(facts.keys[name], facts.statements.shop_base) for name in near)
        message = f"nothing says what this is; give it a class{f', or did you mean {names}?' if names else ''}"
        yield Problem(facts.statements.place(subject), message)


def _unknown_words(facts: JudgedFacts) -> Iterator[Problem]:
    for subject, properties in facts.statements.values.items():
        classes = (node_key(value) for value in properties.get(TYPE, ()))
        for word in (*properties, *classes):
            if word.startswith(LAY) and word not in facts.terms:
                near = ", ".join("lay:" + name for name in near_matches(word[len(LAY) :], _local(facts.terms)))
                hint = f"; did you mean {near}?" if near else ""
                prop = word if word in properties else TYPE
                message = f"the vocabulary has no word {short_name(word)}{hint}"
                yield Problem(facts.statements.place(subject, prop), message)


def _local(terms: Iterable[str]) -> list[str]:
    return [term[len(LAY) :] for term in terms]


def find_cycle(graph: Mapping[str, tuple[str, ...]]) -> list[str]:
    """The first cycle along the arrows, closed (a, b, a), or an empty list."""
    done: set[str] = set()
    for start in graph:
        path: list[str] = []
        stack = [(start, iter(graph.get(start, ())))]
        if start in done:
            continue
        path.append(start)
        on_path = {start}
        while stack:
            _, following = stack[-1]
            step = next(following, None)
            if step is None:
                stack.pop()
                done.add(path[-1])
                on_path.discard(path.pop())
            elif step in on_path:
                return [*path[path.index(step) :], step]
            elif step not in done:
                path.append(step)
                on_path.add(step)
                stack.append((step, iter(graph.get(step, ()))))
    return []


def _cycles(facts: JudgedFacts) -> Iterator[Problem]:
    things = facts.catalogue
    arrows = (
        ("after", {task.id: task.after for task in things.tasks.values()}),
        ("insteadOf", {task.id: tuple(filter(None, (task.instead_of,))) for task in things.tasks.values()}),
        ("waitsFor", {kind.id: kind.waits_for for kind in things.position_kinds.values()}),
        ("worksOn", {kind.id: kind.works_on for kind in things.position_kinds.values()}),
        ("variantOf", {part.id: tuple(filter(None, (part.variant_of,))) for part in things.parts.values()}),
        (BROADER, {kind.id: tuple(filter(None, (kind.broader,))) for kind in things.part_kinds.values()}),
    )
    for prop, graph in arrows:
        cycle = find_cycle(graph)
        if cycle:
            name = prop if ":" not in prop else short_name(prop)
            yield Problem(
                facts.place(cycle[0], prop), f"{name} runs in a circle: {' -> '.join(cycle)}; take one step out"
            )


def _crossed_limits(facts: JudgedFacts) -> Iterator[Problem]:
    for chain in facts.catalogue.chain_kinds.values():
        if chain.low_um is not None and chain.high_um is not None and chain.low_um > chain.high_um:
            low, high = chain.low_um / 1000, chain.high_um / 1000
            own = facts.statements.get(facts.keys.get(chain.id, ""), LAY + "lowMm")
            message = f"the lower limit {low:.3f} mm is above the upper limit {high:.3f} mm; nothing can satisfy both"
            yield Problem(facts.place(chain.id, "lowMm" if own else "usualLowMm"), message)


def _crossed_hours(facts: JudgedFacts) -> Iterator[Problem]:
    things: Iterable[TaskKind | Edge] = itertools.chain(facts.catalogue.tasks.values(), facts.catalogue.edges.values())
    for thing in things:
        low, high = thing.low_hours_hundredths, thing.high_hours_hundredths
        if low is not None and high is not None and low > high:
            message = f"the low hours {low / 100:.2f} h are above the high hours {high / 100:.2f} h; exchange them"
            yield Problem(facts.place(thing.id, "lowHours"), message)


def _currencies(facts: JudgedFacts) -> Iterator[Problem]:
    shops = list(facts.statements.list_of_class(LAY + "Shop"))
    for shop in shops[1:]:
        first = short_name(shops[0], facts.statements.shop_base)
        yield Problem(
            facts.statements.place(shop, TYPE), f"a second shop beside {first}; load one shop's facts at a time"
        )
    priced = next((part for part in facts.catalogue.parts.values() if part.cash_hundredths), None)
    message = "a price without a currency; state a lay:Shop with lay:currency and lay:rate"
    if priced and not shops:
        yield Problem(facts.place(priced.id, "cash"), message)
    for kind in facts.catalogue.part_kinds.values() if not shops else ():
        if kind.usual_cash_hundredths:
            yield Problem(facts.place(kind.id, "usualCash"), message)
    for joint in facts.catalogue.joint_kinds.values() if not shops else ():
        if joint.remedy_cash_hundredths:
            yield Problem(facts.place(joint.id, "remedyCash"), message)
    for part in facts.catalogue.parts.values():
        if part.currency and shops and part.currency != facts.catalogue.currency:
            message = f"two currencies: {part.currency} here, {facts.catalogue.currency} in the shop; convert the price"
            yield Problem(facts.place(part.id, "currency"), message)


def _joints_of_wrong_parts(facts: JudgedFacts) -> Iterator[Problem]:
    things = facts.catalogue
    for edge in things.edges.values():
        joint, source, target = (
            things.joint_kinds.get(edge.joint),
            things.parts.get(edge.source),
            things.parts.get(edge.target),
        )
        if edge.kind not in (*MATING_KINDS, DOES_NOT_FIT) or joint is None or source is None or target is None:
            continue
        if not can_mate(things, source.kind, target.kind, joint):
            sides = " and ".join(_holds(things, position) for position in joint.between)
            message = f"{joint.id} joins {sides}, not {source.kind} ({source.id}) and {target.kind} ({target.id})"
            yield Problem(facts.place(edge.id, "joint"), f"{message}; name another joint or other parts")


def _holds(things: Catalogue, position: str) -> str:
    kind = things.position_kinds.get(position)
    return " or ".join(kind.part_kinds) if kind else position


def _contained_in_wrong_place(facts: JudgedFacts) -> Iterator[Problem]:
    things = facts.catalogue
    for edge in things.edges.values():
        source, target = things.parts.get(edge.source), things.parts.get(edge.target)
        if edge.kind != CONTAINS or source is None or target is None:
            continue
        if not any(is_kind(things, source.kind, unit) for unit in UNIT_KINDS):
            message = f"only a {', '.join(UNIT_KINDS)} contains parts, not {source.kind} ({source.id})"
            yield Problem(facts.place(edge.id, "source"), message)
        if edge.position in things.position_kinds and not can_hold(things, target.kind, edge.position):
            message = f"{edge.position} holds {_holds(things, edge.position)}, not {target.kind} ({target.id})"
            yield Problem(facts.place(edge.id, "position"), f"{message}; name another position or part")


def _replaced_by_other_kind(facts: JudgedFacts) -> Iterator[Problem]:
    things = facts.catalogue
    for edge in things.edges.values():
        source, target = things.parts.get(edge.source), things.parts.get(edge.target)
        if edge.kind != "replaces" or source is None or target is None:
            continue
        places = [place for place in things.position_kinds if can_hold(things, target.kind, place)]
        if places and not any(can_hold(things, source.kind, place) for place in places):
            message = f"{source.kind} ({source.id}) cannot stand where {target.kind} ({target.id}) stands"
            yield Problem(facts.place(edge.id, "source"), f"{message}; name a part that can hold the same position")


def _standing_in(facts: JudgedFacts) -> Iterator[Problem]:
    for task in facts.catalogue.tasks.values():
        if bool(task.only_for) != bool(task.instead_of):
            lacking = "insteadOf" if task.only_for else "onlyFor"
            message = f"onlyFor and insteadOf go together; state lay:{lacking} as well"
            yield Problem(facts.place(task.id), message)


def _lists(facts: JudgedFacts) -> Iterator[Problem]:
    for subject, properties in facts.statements.values.items():
        for head in properties.get(LAY + "operations", ()):
            items = None if isinstance(head, Literal) else facts.statements.list_items(head)
            if not items or not all(isinstance(item, Literal) and item.value.strip() for item in items):
                message = 'operations are a list of texts in round brackets: ( "bore the seat" "press the sleeve in" )'
                yield Problem(facts.statements.place(subject, LAY + "operations"), message)


def held_and_none(unit: str, position: str, other: str) -> str:
    """The message of a unit that has a part where another edge says that it has none."""
    return f"{unit} cannot have a part and none at {position}; {other} says otherwise: take one of the two back"


def _holds_and_has_none(facts: JudgedFacts) -> Iterator[Problem]:
    things = facts.catalogue
    none = {(edge.source, edge.position): edge for edge in things.edges.values() if edge.kind == HAS_NONE}
    for edge in things.edges.values() if none else ():
        other = none.get((edge.source, edge.position))
        if edge.kind == CONTAINS and other is not None:
            message = held_and_none(edge.source, edge.position, edge.id)
            yield Problem(facts.place(other.id, "position"), message)


def _of_units_only(facts: JudgedFacts) -> Iterator[Problem]:
    """Only units are made for a job, and only of a unit's places can it be said that there is none."""
    things = facts.catalogue
    said = [(edge.id, "source", edge.source) for edge in things.edges.values() if edge.kind == HAS_NONE]
    said += [(part.id, "madeFor", part.id) for part in things.parts.values() if part.made_for]
    for thing, prop, part in said:
        known = things.parts.get(part)
        if known is not None and not any(is_kind(things, known.kind, unit) for unit in UNIT_KINDS):
            what = "has none of a place" if prop == "source" else "is made for an assembly"
            message = f"only a {', '.join(UNIT_KINDS)} {what}, not {known.kind} ({part}); name a unit or its family"
            yield Problem(facts.place(thing, prop), message)


def _assemblies_at_odds(facts: JudgedFacts) -> Iterator[Problem]:
    """An assembly whose own lists contradict each other."""
    for one in facts.catalogue.assemblies.values():
        for position in sorted(set(one.must_have) & set(one.may_have)):
            message = (
                f"{position} is a must-have and a may-have; keep one, or take it out of the first by lay:leavesOut"
            )
            yield Problem(facts.place(one.id, "mayHave"), message)
        if one.id in one.turns_into:
            yield Problem(facts.place(one.id, "turnsInto"), f"{one.id} turns into itself; name another assembly")
        yield from _left_out_in_vain(facts, one)
        yield from _joints_taken_away(facts, one)


def _left_out_in_vain(facts: JudgedFacts, one: Assembly) -> Iterator[Problem]:
    iri, base = facts.keys.get(one.id, one.id), facts.statements.shop_base
    said = ("mustHave", "mayHave", "everyJob", "comesApartBy", "turnsInto")
    has = {node_key(value) for prop in said for value in facts.statements.get(iri, LAY + prop)}
    for value in facts.statements.get(iri, LAY + "leavesOut"):
        if node_key(value) not in has:
            name = local_id(node_key(value), base)
            message = f"leaves out {name}, which it does not have; name one of its places, tasks or assemblies"
            yield Problem(facts.place(one.id, "leavesOut"), message)


def _joints_taken_away(facts: JudgedFacts, one: Assembly) -> Iterator[Problem]:
    """A joint kind can be taken from an assembly that has both its places; a must-have keeps one of its joints."""
    kinds, places = facts.catalogue.joint_kinds, set(one.positions)
    for name in one.no_joints:
        joint = kinds.get(name)
        if joint is not None and not set(joint.between) <= places:
            message = f"{name} joins {' and '.join(joint.between)}, which are not both places of {one.id}; leave it out"
            yield Problem(facts.place(one.id, "noJoint"), message)
    for position in one.must_have:
        here = [joint for joint in kinds.values() if position in joint.between and set(joint.between) <= places]
        if here and not any(one.has_joint(joint) for joint in here):
            message = f"{position} is a must-have whose every joint is taken away; keep one of its joints"
            yield Problem(facts.place(one.id, "noJoint"), message)


def _odds_from_nowhere(facts: JudgedFacts) -> Iterator[Problem]:
    for joint in facts.catalogue.joint_kinds.values():
        if (joint.odds_across is not None or joint.odds_within is not None) and not joint.odds_source:
            iri = facts.keys.get(joint.id, joint.id)
            stated = ("usualOddsAcross", "usualOddsWithin")
            prop = next((name for name in stated if facts.statements.get(iri, LAY + name)), stated[0])
            message = 'odds without their source; state lay:oddsSource, "estimate" where there is none'
            yield Problem(facts.place(joint.id, prop), message)


RULES = (
    _stated_twice, _of_no_class, _same_id, _unknown_words, _lists, _cycles, _crossed_limits, _crossed_hours,
    _currencies, _joints_of_wrong_parts, _contained_in_wrong_place, _replaced_by_other_kind, _standing_in,
    _holds_and_has_none, _of_units_only, _assemblies_at_odds, _odds_from_nowhere, list_measurement_problems,
)  # fmt: skip
