"""Length chains: requirements on sums of readings and remedies, and the exact window in which all of them hold.

A requirement's value is the least of a few signed sums (`Form`) of readings and remedies, for instance the pilot
overlap, which the bearing's width, the tip and the shoulder each limit. "At least" on a least-of is a set of
half-planes, so the window of one remedy, or the polygon of two, is exact. "At most" is allowed on single sums only.

Each reading's error enters worst case (all add) and as root-sum-square; verdicts use the worst case. A thin margin
is one smaller than the errors it has already absorbed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.model import (
    LARGEST_NM,
    Amount,
    CheckResult,
    Dimension,
    Missing,
    Verdict,
    Working,
    combine,
    show_nm,
    unknown,
    weakest,
)  # fmt: skip
from graph.fits.stack import Stack, judge, stack_up

JOINT = "length chain"
Remedies = Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Form:
    """A signed sum of readings and of remedies (by name), each with factor +1 or -1 per mention."""

    readings: tuple[tuple[int, Dimension], ...] = ()
    remedies: tuple[tuple[str, int], ...] = ()

    def __add__(self, other: Form) -> Form:
        return Form(_merged(self.readings + other.readings), _merged_names(self.remedies + other.remedies))

    def __sub__(self, other: Form) -> Form:
        return self + other.times(-1)

    def times(self, factor: int) -> Form:
        """The sum with every sign multiplied."""
        return Form(
            tuple((factor * sign, dimension) for sign, dimension in self.readings),
            tuple((name, factor * sign) for name, sign in self.remedies),
        )

    def stack(self, name: str, remedies: Remedies) -> Stack:
        """The sum with these remedies (nanometres; one not named is not used, 0)."""
        exact = [(sign, _exact(remedy, remedies[remedy])) for remedy, sign in self.remedies if remedies.get(remedy, 0)]
        return stack_up(name, [*self.readings, *exact])


def reading(dimension: Dimension) -> Form:
    """A form of one reading."""
    return Form(((1, dimension),))


def remedy(name: str) -> Form:
    """A form of one remedy, such as the plate's thickness."""
    return Form((), ((name, 1),))


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """The least of `forms` must lie within low and high (nanometres, None does not bind).

    Where a reading is lacking, `forms` is empty and `missing` names it: the requirement is then unknown.
    """

    name: str
    forms: tuple[Form, ...] = ()
    low_nm: int | None = None
    high_nm: int | None = None
    source: str = "common practice"
    missing: tuple[Missing, ...] = ()

    def __post_init__(self) -> None:
        problems = []
        if self.low_nm is None and self.high_nm is None:
            problems.append(Problem(self.name, "a requirement needs a low or a high limit"))
        if self.low_nm is not None and self.high_nm is not None and self.low_nm >= self.high_nm:
            text = f"no room between {show_nm(self.low_nm)} and {show_nm(self.high_nm)}; the low limit must be lower"
            problems.append(Problem(self.name, text))
        if self.high_nm is not None and len(self.forms) > 1:
            problems.append(Problem(self.name, "an upper limit is for a single sum, not for the least of several"))
        if bool(self.forms) == bool(self.missing):
            problems.append(Problem(self.name, "give the sums, or the readings that are missing"))
        if problems:
            raise InvalidInput(problems)


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildChains:
    """All requirements of one build, and how far each remedy may go (nanometres, both ends allowed)."""

    requirements: tuple[Requirement, ...]
    limits: Mapping[str, tuple[int, int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        problems = [
            Problem(f"limits.{name}", f"the low limit {show_nm(low)} is above the high limit {show_nm(high)}")
            for name, (low, high) in self.limits.items()
            if low > high
        ]
        if not self.requirements:
            problems.append(Problem("requirements", "a chain without requirements decides nothing"))
        if problems:
            raise InvalidInput(problems)

    def get(self, name: str) -> Requirement:
        """The requirement of that name. Raises NotFound."""
        for requirement in self.requirements:
            if requirement.name == name:
                return requirement
        raise NotFound("requirement", name, [item.name for item in self.requirements])

    def list_remedies(self) -> tuple[str, ...]:
        """The remedies that any requirement or limit mentions, in order of first mention."""
        forms = (form for requirement in self.requirements for form in requirement.forms)
        return tuple(dict.fromkeys([*(name for form in forms for name, _ in form.remedies), *self.limits]))


@dataclass(frozen=True, slots=True)
class Reach:
    """What one requirement comes to with some remedies. `stack` is the sum that is least at the nominal readings."""

    requirement: Requirement
    stack: Stack
    verdict: Verdict
    nominal_margin_nm: Fraction
    worst_margin_nm: Fraction
    missing: tuple[Missing, ...]

    @property
    def value_nm(self) -> int:
        """The nominal value; below zero is by how much there is none (no overlap)."""
        return self.stack.nominal_nm

    @property
    def thin(self) -> bool:
        """Whether it holds, but with less room left than the readings' errors have already taken."""
        return self.verdict is Verdict.HOLDS and self.worst_margin_nm < self.nominal_margin_nm - self.worst_margin_nm

    def text(self) -> str:
        """`pilot overlap 13.000 mm, at least 12.000 mm`."""
        low, high = self.requirement.low_nm, self.requirement.high_nm
        wanted = f"{show_nm(low)} to {show_nm(high)}" if low is not None and high is not None else ""
        wanted = wanted or (f"at least {show_nm(low)}" if low is not None else f"at most {show_nm(high or 0)}")
        return f"{self.requirement.name} {show_nm(self.value_nm)}, {wanted}"


def find_reach(chain: BuildChains, name: str, remedies: Remedies) -> Reach | None:
    """What the named requirement comes to; None where a reading is missing. Raises NotFound for the name."""
    requirement = chain.get(name)
    if not requirement.forms:
        return None
    stacks = [form.stack(name, remedies) for form in requirement.forms]
    judged = [judge(stack, requirement.low_nm, requirement.high_nm) for stack in stacks]
    least = min(stacks, key=lambda stack: stack.nominal_nm)
    verdicts = [verdict for verdict, _, _ in judged]
    verdict = next(
        (grave for grave in (Verdict.FAILS, Verdict.UNKNOWN) if grave in verdicts), Verdict.HOLDS
    )  # fmt: skip
    return Reach(
        requirement, least, verdict,
        nominal_margin_nm=_margin(least.nominal_nm, requirement),
        worst_margin_nm=min(margin for _, margin, _ in judged),
        missing=tuple(item for _, _, items in judged for item in items),
    )  # fmt: skip


def check_chain(chain: BuildChains, remedies: Remedies) -> CheckResult:
    """The verdict on the whole chain with these remedies, one part per requirement.

    Raises InvalidInput for a remedy that the chain does not know. A remedy beyond its limits FAILS.
    """
    _check_remedies(chain, remedies)
    results = [_checked(chain, requirement, remedies) for requirement in chain.requirements]
    results += [_limited(name, remedies.get(name, 0), bounds) for name, bounds in chain.limits.items()]
    whole = combine(JOINT, results)
    bad = [result.summary for result in results if result.verdict is not Verdict.HOLDS]
    thin = [text for result in results for text in result.cautions]
    return replace(whole, summary="; ".join(bad or ["holds", *thin]))


def _checked(chain: BuildChains, requirement: Requirement, remedies: Remedies) -> CheckResult:
    reach = find_reach(chain, requirement.name, remedies)
    if reach is None:
        return unknown(requirement.name, requirement.missing)
    cautions = []
    if reach.thin:
        widest = max((d for _, d in reach.stack.terms), key=lambda d: d.high_nm - d.low_nm)
        room = show_nm(reach.worst_margin_nm)
        cautions = [f"thin margin on {requirement.name}: {room} left in the worst case; measure {widest.name} again"]
    return CheckResult(
        joint=requirement.name, verdict=reach.verdict, summary=reach.text(),
        margin=None if reach.verdict is Verdict.UNKNOWN else Amount.of_nm(reach.worst_margin_nm),
        binding=requirement.name, values=(reach.stack.span(),), measure=reach.missing, cautions=tuple(cautions),
        working=Working((reach.stack.line(requirement.name, requirement.source),)),
        evidence_rank=weakest(d for _, d in reach.stack.terms),
    )  # fmt: skip


def _limited(name: str, amount_nm: int, bounds: tuple[int, int]) -> CheckResult:
    low, high = bounds
    holds = low <= amount_nm <= high
    text = f"{name} {show_nm(amount_nm)}, {show_nm(low)} to {show_nm(high)} possible"
    return CheckResult(
        joint=name, verdict=Verdict.HOLDS if holds else Verdict.FAILS, summary=text,
        margin=Amount.of_nm(min(amount_nm - low, high - amount_nm)), binding=name, evidence_rank=1,
    )  # fmt: skip


def _check_remedies(chain: BuildChains, remedies: Remedies) -> None:
    known = chain.list_remedies()
    problems = [
        Problem(f"remedies.{name}", f"this chain has no such remedy; it has {', '.join(known)}")
        for name in remedies
        if name not in known
    ]
    problems += [
        Problem(f"remedies.{name}", f"expected whole nanometres up to 100 m, found {amount!r}")
        for name, amount in remedies.items()
        if isinstance(amount, bool) or not isinstance(amount, int) or abs(amount) > LARGEST_NM
    ]
    if problems:
        raise InvalidInput(problems)


def _margin(value_nm: int, requirement: Requirement) -> Fraction:
    rooms = [value_nm - requirement.low_nm] if requirement.low_nm is not None else []
    rooms += [requirement.high_nm - value_nm] if requirement.high_nm is not None else []
    return Fraction(min(rooms))


def _exact(name: str, nm: int) -> Dimension:
    return Dimension(name=name, nominal_nm=nm, low_nm=nm, high_nm=nm, basic=True, source="chosen")


def _merged(terms: Iterable[tuple[int, Dimension]]) -> tuple[tuple[int, Dimension], ...]:
    """Like readings joined, so that one that cancels brings no error."""
    sums: dict[Dimension, int] = {}
    for sign, dimension in terms:
        sums[dimension] = sums.get(dimension, 0) + sign
    return tuple((sign, dimension) for dimension, sign in sums.items() if sign)


def _merged_names(terms: Sequence[tuple[str, int]]) -> tuple[tuple[str, int], ...]:
    sums: dict[str, int] = {}
    for name, sign in terms:
        sums[name] = sums.get(name, 0) + sign
    return tuple((name, sign) for name, sign in sums.items() if sign)
