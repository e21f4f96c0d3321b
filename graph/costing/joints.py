"""Odds that two parts which nobody has stated to mate do not: what the facts suppose, and what the shop's jobs found.

Counted as faults are (`graph.costing.odds`), and only of pairs that a job's route had assumed before anybody looked.
Notes of what fits are no such draw: they are written because it fitted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from graph.catalogue.model import Catalogue
from graph.catalogue.terms import JointKind
from graph.costing.odds import FEW_OPENED, TEN_THOUSANDTHS, BetaOdds, boxes_counted
from graph.costing.prices import half_up
from graph.costing.record import Record
from graph.costing.shop import finding_of

# Where nobody has stated any odds: the rule of succession (Laplace), an even prior worth two joints.
EVEN, WORTH_OF_EVEN, RULE = Fraction(1, 2), Fraction(2), "no odds are stated: the rule of succession"


def joint_odds(catalogue: Catalogue, record: Record) -> Mapping[str, BetaOdds]:
    """By the key that findings are counted under, the odds of each kind of joint that are stated or counted."""
    found = {}
    for joint in catalogue.joint_kinds.values():
        for within in (False, True):
            key = joint.odds_key(within)
            noted = tuple(replace(finding_of(note), signs=()) for note in record.findings.get(key, ()))
            prior = _prior(joint, within)
            if prior is not None or noted:
                found[key] = (prior or BetaOdds(key, EVEN, WORTH_OF_EVEN, RULE)).with_findings(noted)
    return found


def with_joint_odds(catalogue: Catalogue, odds: Mapping[str, BetaOdds]) -> Catalogue:
    """The catalogue with the shop's own odds where it has counted any; itself where it has not."""
    learnt = {
        joint.id: _learnt(joint, odds)
        for joint in catalogue.joint_kinds.values()
        if any(each.opened for each in _both(joint, odds))
    }
    return replace(catalogue, joint_kinds={**catalogue.joint_kinds, **learnt}) if learnt else catalogue


def joint_odds_text(odds: BetaOdds) -> str:
    """The odds in words, with the count that they rest on; of a small one the reader is told."""
    before = f"{float(odds.prior):.0%} before, {odds.source}, worth {float(odds.strength):g} such joints"
    if not odds.opened:
        return f"none looked at yet; {before}"
    few = "; a small sample" if odds.opened < FEW_OPENED else ""
    return f"this shop's jobs: {odds.worn} of {odds.opened} looked at did not close; {before}{few}"


def _prior(joint: JointKind, within: bool) -> BetaOdds | None:
    stated, source = joint.odds(within), joint.source_of_odds(within)
    if stated is None or not 0 < stated < 1:
        return None
    return BetaOdds(joint.odds_key(within), stated, boxes_counted(source), source or "estimate")


def _both(joint: JointKind, odds: Mapping[str, BetaOdds]) -> list[BetaOdds]:
    return [odds[key] for within in (False, True) if (key := joint.odds_key(within)) in odds]


def _learnt(joint: JointKind, odds: Mapping[str, BetaOdds]) -> JointKind:
    for each in _both(joint, odds):
        if each.opened:
            mean = Fraction(half_up(each.mean * TEN_THOUSANDTHS), TEN_THOUSANDTHS)
            across = each.fault == joint.odds_key(within=False)
            side, told = ("odds_across", "counted_across") if across else ("odds_within", "counted_within")
            joint = replace(joint, **{side: mean, told: joint_odds_text(each)})  # type: ignore[arg-type]
    return joint
