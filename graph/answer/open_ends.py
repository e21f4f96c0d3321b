"""Why there is no route: what stays open, the nearest miss at each, and what would open the way."""

from __future__ import annotations

from collections.abc import Iterable

from graph.answer import effects, words
from graph.answer.ground import Ground
from graph.answer.model import IMPOSSIBLE, UNKNOWN, LeftOut, OpenLine
from graph.catalogue.model import ADDS_FEATURE, DOES_NOT_FIT, Edge
from graph.conversion.document import Chain
from graph.search.result import Open

SHOWN = 3


def open_lines(ground: Ground, opens: Iterable[Open], left_out: Iterable[LeftOut] = ()) -> tuple[OpenLine, ...]:
    """One line per thing that stays open, in the solver's order."""
    gone = tuple(left_out)
    by_kind = {"joint": _joint, "chain": _chain, "rule": _rule, "feature": _feature, "deadline": _deadline}
    return tuple(by_kind[each.kind](ground, each, gone) for each in opens)


def verdict_of(lines: Iterable[OpenLine]) -> str:
    """Unknown where a joint stays open because nobody has measured it; else impossible with what is known."""
    return UNKNOWN if any(line.kind == "joint" and not line.nearest_miss for line in lines) else IMPOSSIBLE


def _joint(ground: Ground, found: Open, left_out: tuple[LeftOut, ...]) -> OpenLine:
    joint = ground.joints.get(found.what)
    kind = ground.catalogue.joint_kinds.get(joint.kind if joint else found.what)
    label = (joint.label if joint else "") or (kind.label if kind else found.what)
    misses = _misses(ground, found.what)
    nearest = min(misses, key=lambda e: (e.miss_um is None, abs(e.miss_um or 0), e.id), default=None)
    dropped = [out for out in left_out if out.what == found.what or _touches(ground, out, found.what)]
    if nearest is not None:
        opens = _opens_joint(ground, nearest, kind.via_kinds if kind else ())
    elif dropped:
        opens = words.listed([f"allowing {out.label} again ({out.why})" for out in dropped[:SHOWN]], "or")
    else:
        opens = f"measuring {_pair(ground, found.what)} at this joint: nothing is noted about it yet"
    return OpenLine(
        found.what, found.kind, label, found.why, _miss_words(ground, nearest),
        nearest.miss_um if nearest else found.miss_um, opens,
    )  # fmt: skip


def _parts_at(ground: Ground, joint_id: str) -> tuple[dict[str, str], dict[str, str]]:
    joint = ground.joints[joint_id]
    first, second = (ground.positions[p].candidates for p in joint.between)
    return {c.part: c.label for c in first}, {c.part: c.label for c in second}


def _families(ground: Ground, parts: Iterable[str]) -> frozenset[str]:
    """The parts with the families that they are variants of."""
    known = ground.catalogue.parts
    found = set(parts)
    waiting = list(found)
    while waiting:
        part = known.get(waiting.pop())
        if part and part.variant_of and part.variant_of not in found:
            found.add(part.variant_of)
            waiting.append(part.variant_of)
    return frozenset(found)


def _misses(ground: Ground, joint_id: str) -> list[Edge]:
    """What is known not to fit here, either way round, stated of the parts or of their families."""
    if joint_id not in ground.joints:
        return []
    kind = ground.joints[joint_id].kind
    first, second = (_families(ground, side) for side in _parts_at(ground, joint_id))
    return [
        edge
        for edge in ground.catalogue.edges.values()
        if edge.kind == DOES_NOT_FIT
        and edge.joint == kind
        and ((edge.source in first and edge.target in second) or (edge.source in second and edge.target in first))
    ]


def _touches(ground: Ground, out: LeftOut, joint_id: str) -> bool:
    if joint_id not in ground.joints:
        return False
    ends = {p for position in ground.joints[joint_id].between for p in (position,)}
    edge = ground.catalogue.edges.get(out.what)
    part = ground.catalogue.parts.get(out.what)
    kinds = {k for end in ends if (pk := ground.catalogue.position_kinds.get(end)) for k in pk.part_kinds}
    return bool((edge and edge.joint == ground.joints[joint_id].kind) or (part and part.kind in kinds))


def _miss_words(ground: Ground, edge: Edge | None) -> str:
    if edge is None:
        return ""
    by = f" misses by {words.millimetres(abs(edge.miss_um))}" if edge.miss_um is not None else " does not fit"
    pair = f"{ground.part_label(edge.source)} to {ground.part_label(edge.target)}"
    return f"{pair}{by}" + (f": {edge.reason}" if edge.reason else "")


def _opens_joint(ground: Ground, edge: Edge, via_kinds: tuple[str, ...]) -> str:
    known = ground.catalogue.part_kinds
    labels = [known[kind].label if kind in known else kind for kind in via_kinds]
    between = f"{ground.part_label(edge.source)} and {ground.part_label(edge.target)}"
    if labels and edge.miss_um is not None:
        return f"a {words.listed(labels, 'or')} between {between} that makes up {words.millimetres(abs(edge.miss_um))}"
    if labels:
        return f"a {words.listed(labels, 'or')} between {between}, or other parts with a measured fit here"
    return f"another part in place of {words.listed([ground.part_label(edge.source), ground.part_label(edge.target)], 'or')}"


def _pair(ground: Ground, joint_id: str) -> str:
    if joint_id not in ground.joints:
        return "both sides"
    first, second = _parts_at(ground, joint_id)
    sides = [next((label or part for part, label in side.items()), "what is missing") for side in (first, second)]
    return f"{sides[0]} against {sides[1]}"


def _chain(ground: Ground, found: Open, _: tuple[LeftOut, ...]) -> OpenLine:
    chain = next((c for c in ground.conversion.chains if c.id == found.what), Chain(found.what, found.what))
    kind = ground.catalogue.chain_kinds.get(found.what)
    miss = ""
    if found.miss_um is not None:
        way = "too much" if found.miss_um > 0 else "too little"
        miss = f"{words.millimetres(abs(found.miss_um))} {way}; allowed {effects.limits(chain.low_um, chain.high_um)}"
    opens = kind.remedy if kind and kind.remedy else _makes_up(found, chain)
    return OpenLine(found.what, found.kind, chain.label or found.what, found.why, miss, found.miss_um, opens)


def _makes_up(found: Open, chain: Chain) -> str:
    label = chain.label or chain.id
    if found.miss_um is None:
        return f"a part that moves {label} into its limits; measure it on these parts first"
    verb = "takes away" if found.miss_um > 0 else "adds"
    return f"a part that {verb} {words.millimetres(abs(found.miss_um))} at {label}; measure it on these parts first"


def _rule(ground: Ground, found: Open, _: tuple[LeftOut, ...]) -> OpenLine:
    rule = next((r for r in ground.conversion.rules if r.when == found.what), None)
    known = {**ground.candidates, **ground.links}
    label = known[found.what].label if found.what in known else found.what
    needed = [known[c].label or c for c in (rule.needs_any if rule else ()) if c in known]
    opens = f"a way to have {words.listed(needed, 'or')} as well" if needed else "another part that does without it"
    return OpenLine(found.what, found.kind, label, found.why, "", None, opens)


def _feature(ground: Ground, found: Open, _: tuple[LeftOut, ...]) -> OpenLine:
    adders = [e.source for e in ground.catalogue.edges.values() if e.kind == ADDS_FEATURE and e.target == found.what]
    named = [ground.part_label(part) for part in dict.fromkeys(adders)][:SHOWN]
    label = ground.feature_label(found.what)
    opens = f"a way to fit {words.listed(named, 'or')} to these units" if named else f"a part that adds {label}"
    return OpenLine(found.what, found.kind, label, found.why, "", None, f"{opens}, or asking without {label}")


def _deadline(ground: Ground, found: Open, _: tuple[LeftOut, ...]) -> OpenLine:
    given = ground.conversion.deadline
    label = f"deadline of {words.days(given)}" if given is not None else "deadline"
    return OpenLine(found.what, found.kind, label, found.why, "", None, "a later deadline, or the part that waits from stock")
