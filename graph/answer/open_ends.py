"""Why there is no route: what stays open, the nearest miss at each, and what would open the way."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice

from graph.answer import effects, words
from graph.answer.ground import Ground
from graph.answer.model.answer import OpenLine
from graph.answer.model.fit import IMPOSSIBLE, UNKNOWN
from graph.catalogue.model import ADDS_FEATURE
from graph.conversion.document import Chain
from graph.fits.wanted import TURNS
from graph.reading.model import (
    AVOIDED,
    BELOW_FLOOR,
    CANNOT_CLOSE,
    CONDITION_FALSE,
    DISPUTED,
    NOTHING_TO_DO,
    RULED_OUT_BY_NOTE,
    RULED_OUT_BY_READING,
    UNUSABLE,
    LeftOut,
    NearMiss,
    OpenJoint,
)
from graph.search.result import Open

# Known to be of no use here, as opposed to what nobody knows: by the question, by its condition, by a note.
RULED_OUT = (
    AVOIDED, CONDITION_FALSE, BELOW_FLOOR, DISPUTED, UNUSABLE, RULED_OUT_BY_NOTE, RULED_OUT_BY_READING, NOTHING_TO_DO,
)  # fmt: skip
TO_OPEN = {
    CONDITION_FALSE: "another part, or a job on which that holds",
    UNUSABLE: "a sound part in its place, or its repair noted as a part that replaces it",
    RULED_OUT_BY_READING: "the readings taken again, or a note of a job on these very parts",
    RULED_OUT_BY_NOTE: "the note that rules it out taken back or overruled, if it no longer holds",
}
SHOWN = 3
MOST_REASONS = 8  # why a part that must be used is not
LOOKED_AT = 50  # edges, for the first parts that add a feature


def open_lines(ground: Ground, opens: Iterable[Open]) -> tuple[OpenLine, ...]:
    """One line per thing that stays open, in the solver's order."""
    by_kind = {"joint": _joint, "chain": _chain, "rule": _rule, "feature": _feature, "deadline": _deadline,
               "demand": _demand, "part": _part, "most_assumed": _most_assumed}  # fmt: skip
    return tuple(by_kind[each.kind](ground, each) for each in opens)


def verdict_of(lines: Iterable[OpenLine]) -> str:
    """Unknown where a joint stays open because nobody has measured it; else impossible with what is known."""
    open_joints = [line for line in lines if line.kind == "joint"]
    unknown = any(not line.nearest_miss and not line.left_out for line in open_joints)
    return UNKNOWN if unknown else IMPOSSIBLE


def _joint(ground: Ground, found: Open) -> OpenLine:
    joint = ground.joints.get(found.what)
    kind = ground.catalogue.joint_kinds.get(joint.kind if joint else found.what)
    label = (joint.label if joint else "") or (kind.label if kind else found.what)
    read = _read_joint(ground, found.what)
    nearest = read.misses[0] if read and read.misses else None
    ruled_out = _ruled_out(ground, found.what)
    if ruled_out:
        opens = words.listed(list(dict.fromkeys(_allowed_again(out) for out in ruled_out)), "or")
    elif nearest is not None:
        opens = _opens_joint(ground, nearest, kind.via_kinds if kind else ())
    else:
        opens = f"measuring {_pair(ground, found.what)} at this joint: no note closes it yet"
    why = f"{found.why}; {read.why}" if read and read.why != found.why else found.why
    said = [f"left out: {out.reason}: {out.text}" for out in ruled_out]
    misfits = _misfits_behind(ground, found.what)
    said += [out.text for out in misfits if nearest is None or nearest.edge not in out.edges]
    return OpenLine(
        found.what, found.kind, label, why, _miss_words(ground, nearest), nearest.miss_um if nearest else found.miss_um,
        opens, tuple(said),
    )  # fmt: skip


def _misfits_behind(ground: Ground, joint_id: str) -> list[LeftOut]:
    """What is noted not to fit at the joint, or of a part that went from one of its places because of that."""
    if ground.reading is None or joint_id not in ground.joints:
        return []
    joint = ground.joints[joint_id]
    gone = {out.what for out in ground.reading.left_out if out.reason == CANNOT_CLOSE and out.where in joint.between}
    here = [out for out in ground.noted_misfits if out.where == joint.kind or not gone.isdisjoint(out.what.split("+"))]
    return here[:SHOWN]


def _allowed_again(out: LeftOut) -> str:
    return TO_OPEN.get(out.reason, f"allowing again what was left out ({out.text})")


def _read_joint(ground: Ground, joint: str) -> OpenJoint | None:
    read = ground.reading.open_joints if ground.reading else ()
    return next((each for each in read if each.joint == joint), None)


def _ruled_out(ground: Ground, joint_id: str) -> list[LeftOut]:
    """What the question itself (avoid, conditions, evidence floor) took away at this joint or its two places."""
    if ground.reading is None or joint_id not in ground.joints:
        return []
    joint = ground.joints[joint_id]
    places = {joint_id, joint.kind, *joint.between}
    found = [out for out in ground.reading.left_out if out.where in places and out.reason in RULED_OUT]
    return found[:SHOWN]


def _miss_words(ground: Ground, miss: NearMiss | None) -> str:
    if miss is None:
        return ""
    by = f" misses by {words.millimetres(abs(miss.miss_um))}" if miss.miss_um is not None else " does not fit"
    pair = " to ".join(ground.part_label(part) for part in miss.parts)
    return f"{pair}{by}" + (f": {miss.reason}" if miss.reason else "")


def _opens_joint(ground: Ground, miss: NearMiss, via_kinds: tuple[str, ...]) -> str:
    known = ground.catalogue.part_kinds
    labels = [known[kind].label if kind in known else kind for kind in via_kinds]
    pair = [ground.part_label(part) for part in miss.parts]
    between = words.listed(pair)
    if labels and miss.miss_um is not None:
        makes_up = words.millimetres(abs(miss.miss_um))
        return f"{words.one(words.listed(labels, 'or'))} between {between} that makes up {makes_up}"
    if labels:
        return f"{words.one(words.listed(labels, 'or'))} between {between}, or other parts with a measured fit here"
    return f"another part in place of {words.listed(pair, 'or')}"


def _pair(ground: Ground, joint_id: str) -> str:
    if joint_id not in ground.joints:
        return "both sides"
    held = [ground.positions[position] for position in ground.joints[joint_id].between]
    sides = []
    for place in held:
        likely = sorted(place.candidates, key=lambda candidate: not candidate.as_found)
        sides.append(next((c.label or c.part for c in likely), place.label or place.id))
    return f"{sides[0]} against {sides[1]}"


def _chain(ground: Ground, found: Open) -> OpenLine:
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


def _rule(ground: Ground, found: Open) -> OpenLine:
    rule = next((r for r in ground.conversion.rules if r.when == found.what), None)
    known = {**ground.candidates, **ground.links}
    label = known[found.what].label if found.what in known else found.what
    needed = [known[c].label or c for c in (rule.needs_any if rule else ()) if c in known]
    opens = f"a way to have {words.listed(needed, 'or')} as well" if needed else "another part that does without it"
    return OpenLine(found.what, found.kind, label, found.why, "", None, opens)


def _feature(ground: Ground, found: Open) -> OpenLine:
    adding = ground.index.edges_at(found.what, ADDS_FEATURE, outward=False) if ground.index else ()
    adders = list(dict.fromkeys(edge.source for edge in islice(adding, LOOKED_AT)))[:SHOWN]
    named = [ground.part_label(part) for part in adders]
    label = ground.feature_label(found.what)
    opens = f"a way to fit {words.listed(named, 'or')} to these units" if named else f"a part that adds {label}"
    return OpenLine(found.what, found.kind, label, found.why, "", None, f"{opens}, or asking without {label}")


def _demand(ground: Ground, found: Open) -> OpenLine:
    """With the figure that comes nearest of all combinations of these parts, whether they mate or not."""
    read = ground.reading.demands if ground.reading else ()
    demand = next((one for one in read if one.wanted.text == found.what), None)
    nearest = demand.nearest() if demand else None
    miss = nearest.summary.removeprefix(f"{found.what}: ") if nearest else ""
    opens = "other gears, axle or tyres, or asking for less than that"
    if demand and demand.wanted.what == TURNS:
        opens = "a gearbox, transfer box or angle drive that turns the other way"
    return OpenLine(found.what, found.kind, found.what, found.why, miss, None, opens)


def _part(ground: Ground, found: Open) -> OpenLine:
    """With what was left out of it, or of a variant of it, each with its stated reason."""
    label = ground.part_label(found.what)
    why = f"{label} has no place in any route that is allowed here"
    opens = f"a noted fit of {label} with what is found here, or its price and hours if only those are missing"
    said = dict.fromkeys(out.text for out in _left_out_of(ground, found.what))
    return OpenLine(found.what, found.kind, label, why, "", None, opens, tuple(said)[:MOST_REASONS])


def _left_out_of(ground: Ground, part: str) -> Iterable[LeftOut]:
    """What is noted first, then what follows from it."""
    if ground.reading is None:
        return
    known = ground.catalogue.edges

    def is_meant(name: str) -> bool:
        return name == part or (ground.index is not None and part in ground.index.lineage(name))

    later = []
    for out in (*ground.noted_misfits, *ground.reading.left_out):
        ends = [end for edge in out.edges if edge in known for end in (known[edge].source, known[edge].target)]
        if any(map(is_meant, (*out.what.split("+"), *ends))):
            if out.reason == CANNOT_CLOSE:
                later.append(out)
            else:
                yield out
    yield from later


def _most_assumed(ground: Ground, found: Open) -> OpenLine:
    given = ground.conversion.most_assumed
    label = "nothing may be assumed" if given == 0 else f"at most {given} may be assumed"
    opens = "more that is measured or stated, or more that may be assumed"
    return OpenLine(found.what, found.kind, label, found.why, "", None, opens)


def _deadline(ground: Ground, found: Open) -> OpenLine:
    given = ground.conversion.deadline
    label = f"deadline of {words.days(given)}" if given is not None else "deadline"
    return OpenLine(
        found.what, found.kind, label, found.why, "", None, "a later deadline, or the part that waits from stock"
    )
