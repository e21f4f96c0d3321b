"""The window of one remedy, or the polygon of two, in which a length chain holds: exact, with the limits that bind.

Every form of every requirement gives a half-line (one remedy) or a half-plane (two): factor x remedy >= needed.
With `errors` set to worst case or RSS the readings' errors are taken off first, so all of the window is safe.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.length_chain import BuildChains, Form, Remedies, Requirement
from graph.fits.model import NM_PER_MM, Missing, show_nm, show_number

_WORLD_NM = 1_000 * NM_PER_MM  # a remedy without limits is taken as at most a metre either way


class Errors(StrEnum):
    """How the readings' errors count."""

    NONE = "nominal readings"
    WORST_CASE = "worst case"
    RSS = "root sum of squares"


@dataclass(frozen=True, slots=True)
class Window:
    """The range of one remedy, whole or fractional nanometres; None: nothing binds on that side.

    `low_by`, `high_by` name the requirement that binds. `conflicts`: requirements that the remedy cannot mend,
    because it does not move them. `missing`: readings without which the window is not known to be the true one.
    """

    remedy: str
    low_nm: Fraction | None
    high_nm: Fraction | None
    low_by: str
    high_by: str
    conflicts: tuple[str, ...] = ()
    missing: tuple[Missing, ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether any value will do."""
        if self.conflicts:
            return False
        return self.low_nm is None or self.high_nm is None or self.low_nm <= self.high_nm

    def text(self) -> str:
        """`plate 14.000 mm (release gap) to 15.500 mm (starter rest gap)`, or why there is none."""
        if self.conflicts:
            return f"no {self.remedy} helps: it does not move {', '.join(self.conflicts)}"
        low = "any" if self.low_nm is None else f"{show_nm(self.low_nm)} ({self.low_by})"
        high = "any" if self.high_nm is None else f"{show_nm(self.high_nm)} ({self.high_by})"
        if self.is_open:
            return f"{self.remedy} {low} to {high}"
        return f"no {self.remedy}: {self.low_by} wants at least {low}, {self.high_by} at most {high}"


@dataclass(frozen=True, slots=True)
class Region:
    """The polygon of two remedies together: its corners in order, and the requirements on its sides. Empty: none."""

    remedies: tuple[str, str]
    corners_nm: tuple[tuple[Fraction, Fraction], ...]
    bound_by: tuple[str, ...]
    missing: tuple[Missing, ...] = ()

    def text(self) -> str:
        """`plate with flywheel spacer: (14.000, 0.000), ...`, each corner in mm."""
        if not self.corners_nm:
            return f"no pair of {self.remedies[0]} and {self.remedies[1]} will do"
        corners = ", ".join(f"({_corner(x)}, {_corner(y)})" for x, y in self.corners_nm)
        return f"{self.remedies[0]} and {self.remedies[1]} in mm: {corners}"


def _corner(nm: Fraction) -> str:
    return "any" if abs(nm) >= _WORLD_NM else show_number(nm / NM_PER_MM)


@dataclass(frozen=True, slots=True)
class _Bound:
    """sum(factor x remedy) >= needed, for the requirement `name`."""

    name: str
    factors: tuple[int, ...]
    needed: Fraction


def find_window(
    chain: BuildChains, remedy: str, others: Remedies | None = None, errors: Errors = Errors.NONE
) -> Window:
    """The window of one remedy with the others fixed (0 where not named). Raises NotFound for the remedy."""
    low: Fraction | None = None
    high: Fraction | None = None
    low_by = high_by = ""
    conflicts: dict[str, None] = {}
    for bound in _bounds(chain, (remedy,), others or {}, errors):
        (factor,) = bound.factors
        if factor == 0:
            if bound.needed > 0:
                conflicts[bound.name] = None
            continue
        at = bound.needed / factor
        if factor > 0 and (low is None or at > low):
            low, low_by = at, bound.name
        if factor < 0 and (high is None or at < high):
            high, high_by = at, bound.name
    return Window(remedy, low, high, low_by, high_by, tuple(conflicts), _missing(chain))


def find_region(
    chain: BuildChains, first: str, second: str, others: Remedies | None = None, errors: Errors = Errors.NONE
) -> Region:
    """The polygon of two remedies with the others fixed. Raises NotFound for a remedy, InvalidInput for one twice."""
    if first == second:
        raise InvalidInput([Problem("second", f"a region needs two remedies, found {first!r} twice")])
    world = Fraction(_WORLD_NM)
    corners = [(-world, -world), (world, -world), (world, world), (-world, world)]
    bounds = list(_bounds(chain, (first, second), others or {}, errors))
    for bound in bounds:
        corners = _clipped(corners, bound)
    touching = [b.name for b in bounds if any(b.factors) and any(_excess(c, b) == 0 for c in corners)]
    return Region((first, second), tuple(corners), tuple(dict.fromkeys(touching)), _missing(chain))


def _bounds(chain: BuildChains, remedies: tuple[str, ...], others: Remedies, errors: Errors) -> Iterator[_Bound]:
    known = chain.list_remedies()
    for name in (*remedies, *others):
        if name not in known:
            raise NotFound("remedy", name, known)
    clash = [name for name in remedies if others.get(name)]
    if clash:
        raise InvalidInput([Problem(f"others.{clash[0]}", "is what is asked for; leave it out")])
    for requirement in chain.requirements:
        for form in requirement.forms:
            yield from _form_bounds(requirement, form, remedies, others, errors)
    for name, (low, high) in chain.limits.items():
        factors = tuple(int(name == remedy) for remedy in remedies)
        fixed = others.get(name, 0)
        yield _Bound(f"least {name}", factors, Fraction(low - fixed))
        yield _Bound(f"most {name}", tuple(-factor for factor in factors), Fraction(fixed - high))


def _form_bounds(
    requirement: Requirement, form: Form, remedies: tuple[str, ...], others: Remedies, errors: Errors
) -> Iterator[_Bound]:
    stack = form.stack(requirement.name, others)
    least, most = {
        Errors.NONE: (stack.nominal_nm, stack.nominal_nm),
        Errors.WORST_CASE: (stack.low_nm, stack.high_nm),
        Errors.RSS: (stack.rss_low_nm, stack.rss_high_nm),
    }[errors]
    signs = dict(form.remedies)
    factors = tuple(signs.get(remedy, 0) for remedy in remedies)
    if requirement.low_nm is not None:
        yield _Bound(requirement.name, factors, Fraction(requirement.low_nm - least))
    if requirement.high_nm is not None:
        yield _Bound(requirement.name, tuple(-f for f in factors), Fraction(most - requirement.high_nm))


def _clipped(corners: Sequence[tuple[Fraction, Fraction]], bound: _Bound) -> list[tuple[Fraction, Fraction]]:
    """The part of a convex polygon on the good side of a bound."""
    kept: list[tuple[Fraction, Fraction]] = []
    for here, there in zip(corners, [*corners[1:], *corners[:1]], strict=True):
        at, ahead = _excess(here, bound), _excess(there, bound)
        if at >= 0:
            kept.append(here)
        if at * ahead < 0:
            share = at / (at - ahead)
            kept.append((here[0] + share * (there[0] - here[0]), here[1] + share * (there[1] - here[1])))
    return list(dict.fromkeys(kept))


def _excess(corner: tuple[Fraction, Fraction], bound: _Bound) -> Fraction:
    return bound.factors[0] * corner[0] + bound.factors[1] * corner[1] - bound.needed


def _missing(chain: BuildChains) -> tuple[Missing, ...]:
    return tuple(dict.fromkeys(item for requirement in chain.requirements for item in requirement.missing))
