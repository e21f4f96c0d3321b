"""Why there is no route: which joints, chains, rules, features or deadline stay open, and the nearest miss.

A constraint is *open* when letting it go alone makes a route possible. Where no single one does, they are let go one
after another until a route appears, and those that must go together are named.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from graph.conversion.document import Chain, Conversion, Joint
from graph.exact import plain
from graph.search.best import Best, days_of
from graph.search.budget import ENDLESS, BudgetSpent, Meter
from graph.search.compiled import compile_conversion
from graph.search.result import Open
from graph.search.routes import RouteSearch

AN_INSTANT = Fraction(1, 10**9)  # days

Loosened = tuple[str, str, Conversion]  # kind, id, the conversion without it


NOT_KNOWN = Open("", "joint", "there is no route; the time ran out before it was known what would open one")
OUT_OF_TIME = "without it there is a route; the time ran out before it was known by how much it is missed"


def explain(conversion: Conversion, meter: Meter = ENDLESS) -> tuple[tuple[Open, ...], bool]:
    """What keeps every route from being allowed (nothing if there is a route), and whether that is all of it."""
    found: list[Open] = []
    try:
        for one in _explain(conversion, meter):
            found.append(one)
    except (BudgetSpent, MemoryError):
        return tuple(found) or (NOT_KNOWN,), False
    return tuple(found), all(OUT_OF_TIME not in one.why for one in found)


def _explain(conversion: Conversion, meter: Meter) -> Iterator[Open]:
    shut = [joint for joint in conversion.joints if not joint.links]
    if shut:
        yield from (Open(joint.id, "joint", _no_links(conversion, joint)) for joint in shut)
        return
    if _has_route(conversion, meter):
        return
    joints: list[str] = []
    named = 0
    for kind, id_, loosened in _loosened(conversion):  # joints last
        if kind == "joint" and named:
            return  # letting a joint go also frees what it shifts and costs: named only where nothing else helps
        if _has_route(loosened, meter):
            if kind == "joint":
                joints.append(id_)
            else:
                named += 1
                yield _open(conversion, kind, id_, (), meter)
    if joints:
        yield from (_open(conversion, "joint", id_, (), meter) for id_ in joints)
    elif not named:
        yield from _together(conversion, meter)


def _together(conversion: Conversion, meter: Meter) -> tuple[Open, ...]:
    """A smallest set of constraints (none can be left out) that must go for a route to appear."""
    gone: list[tuple[str, str]] = []
    now = conversion
    while not _has_route(now, meter):
        step = next(_loosened(now), None)
        if step is None:
            return (Open("", "joint", "no choice of parts closes all joints at once"),)
        gone.append(step[:2])
        now = step[2]
    for one in list(gone):
        rest = [other for other in gone if other != one]
        if _has_route(_without(conversion, rest), meter):
            gone = rest
    return tuple(
        _open(
            _without(conversion, [other for other in gone if other != one]),
            *one,
            [id_ for _, id_ in gone if id_ != one[1]],
            meter,
        )
        for one in gone
    )


def _loosened(conversion: Conversion) -> Iterator[Loosened]:
    """The conversion with one constraint let go, in a fixed order: the cheapest to cure first."""
    if conversion.deadline is not None:
        yield "deadline", "deadline", _without(conversion, [("deadline", "deadline")])
    if conversion.most_assumed is not None:
        yield "most_assumed", "most_assumed", _without(conversion, [("most_assumed", "most_assumed")])
    for feature in sorted(set(conversion.features)):
        yield "feature", feature, _without(conversion, [("feature", feature)])
    for demand in sorted({rule.demand for rule in conversion.rules} - {""}):
        yield "demand", demand, _without(conversion, [("demand", demand)])
    for when in sorted({rule.when for rule in conversion.rules if not rule.demand}):
        yield "rule", when, _without(conversion, [("rule", when)])
    for chain in sorted(conversion.chains, key=lambda one: one.id):
        if chain.low_um is not None or chain.high_um is not None:
            yield "chain", chain.id, _without(conversion, [("chain", chain.id)])
    for joint in sorted(conversion.joints, key=lambda one: one.id):
        yield "joint", joint.id, _without(conversion, [("joint", joint.id)])


def _without(conversion: Conversion, gone: list[tuple[str, str]]) -> Conversion:
    for kind, id_ in gone:
        if kind == "deadline":
            conversion = replace(conversion, deadline=None)
        elif kind == "most_assumed":
            conversion = replace(conversion, most_assumed=None)
        elif kind == "feature":
            conversion = replace(conversion, features=tuple(one for one in conversion.features if one != id_))
        elif kind == "demand":
            conversion = replace(conversion, rules=tuple(one for one in conversion.rules if one.demand != id_))
        elif kind == "rule":
            kept = tuple(one for one in conversion.rules if one.when != id_ or one.demand)
            conversion = replace(conversion, rules=kept)
        elif kind == "chain":
            free = [replace(one, low_um=None, high_um=None) if one.id == id_ else one for one in conversion.chains]
            conversion = replace(conversion, chains=tuple(free))
        else:
            conversion = replace(conversion, joints=tuple(one for one in conversion.joints if one.id != id_))
    return conversion


def _has_route(conversion: Conversion, meter: Meter) -> bool:
    if any(not joint.links for joint in conversion.joints) or any(not one.candidates for one in conversion.positions):
        return False
    return bool(_best(RouteSearch(compile_conversion(conversion), meter), "hours", found_is_enough=True).found)


def _best(search: RouteSearch, objective: str, *, found_is_enough: bool = False) -> Best:
    """The best route; raises BudgetSpent where that is not known in time."""
    best, ended = search.best(objective, search.outlook, 1)
    if ended.complete or (found_is_enough and best.found):
        return best
    raise BudgetSpent


def _open(conversion: Conversion, kind: str, id_: str, together: Sequence[str], meter: Meter) -> Open:
    also = f"; with {', '.join(together)} let go as well" if together else ""
    try:
        if kind == "chain":
            chain = next(one for one in conversion.chains if one.id == id_)
            miss_um = nearest_miss_um(conversion, chain, meter)
            return Open(id_, kind, _chain_words(chain, miss_um) + also, miss_um)
        if kind == "deadline":
            return Open(id_, kind, _deadline_words(conversion, meter) + also)
        if kind == "most_assumed":
            return Open(id_, kind, _assumed_words(conversion, meter) + also)
    except (BudgetSpent, MemoryError):
        return Open(id_, kind, OUT_OF_TIME + also)
    words = {
        "demand": f"no allowed route comes to: {id_}; without asking for it there is one",
        "feature": f"no allowed route offers {id_}; without asking for it there is one",
        "rule": f"what {id_} needs or excludes leaves no route; without its rules there is one",
        "joint": f"no pair of parts that closes {id_} closes all other joints as well; without it there is a route",
    }
    return Open(id_, kind, words[kind] + also)


def _no_links(conversion: Conversion, joint: Joint) -> str:
    label_of = {position.id: position.label or position.id for position in conversion.positions}
    ends = " and ".join(label_of[end] for end in joint.between)
    return f"nothing known closes {joint.label or joint.id} between {ends}"


def nearest_miss_um(conversion: Conversion, chain: Chain, meter: Meter = ENDLESS) -> int | None:
    """By how much the nearest otherwise allowed route misses the chain's limits: plus too long, minus too short.

    None if no route is allowed even without the chain.
    """
    misses = [_least_over(conversion, chain, sign, meter) for sign in (1, -1)]
    found = [miss for miss in misses if miss is not None]
    return min(found, key=lambda one: (abs(one), one), default=None)


def _least_over(conversion: Conversion, chain: Chain, sign: int, meter: Meter) -> int | None:
    """The least miss above the high limit (sign 1) or below the low one (sign -1), the other limit kept.

    The chain's sum itself is made the cost: every choice costs its shift, moved up so that none is negative.
    """
    limit = chain.high_um if sign == 1 else chain.low_um
    if limit is None:
        return None
    kept = replace(chain, high_um=None) if sign == 1 else replace(chain, low_um=None)
    shifts = [
        sign * one.shifts_um.get(chain.id, 0)
        for choices in (*(p.candidates for p in conversion.positions), *(j.links for j in conversion.joints))
        for one in choices
    ]
    lift = -min([0, *shifts])
    free = replace(
        conversion,
        chains=tuple(kept if one.id == chain.id else one for one in conversion.chains),
        tasks=tuple(replace(one, cash_hundredths=0) for one in conversion.tasks),
        faults=tuple(replace(one, cash_hundredths=0) for one in conversion.faults),
        positions=tuple(
            replace(
                one,
                candidates=tuple(
                    replace(each, cash_hundredths=lift + sign * each.shifts_um.get(chain.id, 0))
                    for each in one.candidates
                ),
            )
            for one in conversion.positions
        ),
        joints=tuple(
            replace(
                one,
                links=tuple(
                    replace(each, cash_hundredths=lift + sign * each.shifts_um.get(chain.id, 0)) for each in one.links
                ),
            )
            for one in conversion.joints
        ),
    )
    best = _best(RouteSearch(compile_conversion(free), meter), "cash")
    if not best.found:
        return None
    picks = len(conversion.positions) + len(conversion.joints)
    reached = chain.start_um + sign * (best.found[0].numbers[0] - lift * picks)
    return reached - limit


def _chain_words(chain: Chain, miss_um: int | None) -> str:
    if miss_um is None:
        return f"{chain.label} cannot be reached"
    word, limit = ("too long", chain.high_um) if miss_um > 0 else ("too short", chain.low_um)
    assert limit is not None
    return f"{chain.label}: the nearest route is {plain(abs(miss_um), 1000)} mm {word} (limit {plain(limit, 1000)} mm)"


def _deadline_words(conversion: Conversion, meter: Meter) -> str:
    assert conversion.deadline is not None
    soonest = _soonest_days(replace(conversion, deadline=None), meter)
    return f"the soonest route takes {_days(soonest)} days, {_days(soonest - conversion.deadline)} more than allowed"


def _assumed_words(conversion: Conversion, meter: Meter) -> str:
    assert conversion.most_assumed is not None
    least, most = 0, len(conversion.positions) + len(conversion.joints)
    while least < most:
        half = (least + most) // 2
        least, most = (least, half) if _has_route(replace(conversion, most_assumed=half), meter) else (half + 1, most)
    return f"every allowed route assumes {least} picks or more; at most {conversion.most_assumed} may be assumed"


def _soonest_days(conversion: Conversion, meter: Meter) -> Fraction:
    """The days of the soonest allowed route."""
    search = RouteSearch(compile_conversion(conversion), meter)
    soonest: Fraction | None = None
    while True:
        best = _best(search, "hours")
        if not best.found:
            assert soonest is not None
            return soonest
        found = best.found[0]
        soonest = days_of(search.compiled, found.assembly, found.done, found.numbers[0])
        # Fewest hours within less time: the next route waits less, so this ends after a few rounds.
        search = RouteSearch(compile_conversion(replace(conversion, deadline=soonest - AN_INSTANT)), meter)


def _days(days: Fraction) -> str:
    return f"{float(days):.2f}".rstrip("0").rstrip(".")
