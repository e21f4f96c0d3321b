"""Rules and features as bits: what a picked option demands, forbids and offers.

Only options that a rule or a required feature speaks of get bits, so most options cost nothing to test.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_

from graph.conversion.document import CandidateOrLink
from graph.search.compiled import Compiled

WORD_BITS = 62


@dataclass(frozen=True, slots=True)
class Demands:
    """`bits[variable][option]`: the bits that picking it sets. A feature's bit is set by whatever offers it."""

    bits: tuple[tuple[int, ...], ...]
    rules: tuple[tuple[int, int, int], ...]  # when all of these, any of these needed (0: none), excluded
    features: int
    union: tuple[int, ...]  # by variable: all bits of its options

    def still_possible(self, variables: Sequence[int]) -> list[int]:
        """Per depth: the bits that some option of the variables from there on could still set."""
        made = [0]
        for variable in reversed(variables):
            made.append(made[-1] | self.union[variable])
        return made[::-1]

    def can_hold(self, picked: int, possible: int) -> bool:
        """Can every rule and feature still be met, with `picked` set and `possible` still to come?"""
        if not self.rules and not self.features:
            return True
        if self.features & ~(picked | possible):
            return False
        for when, needs, excludes in self.rules:
            if picked & when == when and (picked & excludes or (needs and not (picked | possible) & needs)):
                return False
        return True


def build_demands(compiled: Compiled) -> Demands:
    """The demands of a compiled conversion."""
    bit_of: dict[tuple[str, str], int] = {}

    def bit(kind: str, id_: str) -> int:
        return bit_of.setdefault((kind, id_), 1 << len(bit_of))

    def union(ids: Iterable[str]) -> int:
        made = 0
        for id_ in ids:
            made |= bit("choice", id_)
        return made

    features = 0
    for feature in compiled.conversion.features:
        features |= bit("feature", feature)
    rules = tuple(
        sorted(
            (union((rule.when, *rule.also)), union(rule.needs_any), union(rule.excludes))
            for rule in compiled.conversion.rules
        )
    )
    by_choice = {id_: one for (kind, id_), one in bit_of.items() if kind == "choice"}
    by_feature = {id_: one for (kind, id_), one in bit_of.items() if kind == "feature"}
    bits = tuple(_bits_of(choices, by_choice, by_feature) for choices in (*compiled.candidates, *compiled.links))
    return Demands(bits, rules, features, tuple(reduce(or_, some, 0) for some in bits))


def _bits_of(
    choices: Sequence[CandidateOrLink], by_choice: Mapping[str, int], by_feature: Mapping[str, int]
) -> tuple[int, ...]:
    if not by_choice and not by_feature:
        return (0,) * len(choices)
    made = [by_choice.get(one.id, 0) for one in choices]
    if by_feature:
        for place, one in enumerate(choices):
            for feature in one.features:
                made[place] |= by_feature.get(feature, 0)
    return tuple(made)


def fits_word(demands: Demands) -> bool:
    """Does all that rules and features speak of fit one machine word?"""
    return max((union.bit_length() for union in (*demands.union, demands.features)), default=0) <= WORD_BITS and all(
        mask.bit_length() <= WORD_BITS for rule in demands.rules for mask in rule
    )
