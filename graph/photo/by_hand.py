"""A hole pattern solved from what a calliper and a protractor tell: distances between holes, angles, radii.

Least squares over all entries, each weighed by its uncertainty. Entries that check each other show a typing error: the
one whose studentised residual is largest (data snooping, Baarda 1968) is named with what it would have to be. What is
not determined is found from the null space of the normal equations, and the distances that would settle it are named.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from math import comb, cos, radians, sin
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from graph.photo.chosen import PlacedHole
from graph.photo.hand import (
    ANGLE,
    AXIS,
    CENTRE,
    DISTANCE,
    INSIDE,
    OUTSIDE,
    HandEntry,
    HandHole,
    Residual,
    Solved,
    check_readings,
    words_of,
)

Floats = NDArray[np.float64]
ALIKE = 0.98  # of the largest: as odd as that one
DISAGREES = "does not agree with the others"
SNOOPED = 3.29  # of its own standard deviation: one in a thousand by chance (normal distribution)
TWO_AXES = 2.45
TRIES = 12
SAME_MM = 0.5  # two answers further apart than that are two


def solve(
    holes: Sequence[HandHole], entries: Sequence[HandEntry], clockwise: tuple[str, str, str] | None = None
) -> Solved:
    """The pattern from the entries. `clockwise`: three holes that follow each other clockwise, as seen.

    Raises InvalidInput naming every entry that cannot be.
    """
    check_readings(holes, entries, clockwise)
    work = _Work(holes, entries)
    best = work.best()
    missing = work.missing(best)
    flipped = np.where(np.arange(len(best)) % 2 == 0, -best, best)
    open_mirror = not work.has_angle
    if clockwise is not None and open_mirror:
        if work.area(best, clockwise) > 0:
            best = flipped
        open_mirror = False
    best = work.upright(best)
    twins = () if missing else work.twins(best)
    residuals = work.residuals(best)
    notes = list(_notes(work, residuals, missing, twins, open_mirror))
    return Solved(
        holes=work.placed(best), residuals=residuals, has_axis=work.has_axis, mirror_open=open_mirror and not missing,
        twins=twins, missing=missing, notes=tuple(notes),
        rms_mm=float(np.sqrt(np.mean([one.off**2 for one in residuals if one.entry.kind != ANGLE] or [0.0]))),
    )  # fmt: skip


class _Work:
    """Holes and entries as arrays; places in one row of numbers x, y, x, y, the axis among them where it is used."""

    def __init__(self, holes: Sequence[HandHole], entries: Sequence[HandEntry]) -> None:
        self.holes, self.entries = tuple(holes), tuple(entries)
        self.has_axis = any(one.kind != DISTANCE or AXIS in (one.a, one.b) for one in entries)
        self.has_angle = sum(one.kind == ANGLE for one in entries) >= 2
        self.names = [hole.name for hole in holes] + ([AXIS] if self.has_axis else [])
        self.at = {name: number for number, name in enumerate(self.names)}
        across = {hole.name: hole.diameter_mm or 0.0 for hole in holes}
        self.first = np.array([self.at[one.a] for one in entries])
        self.second = np.array([self.at[one.b] if one.kind == DISTANCE else self.at[AXIS] for one in entries])
        add = {CENTRE: 0.0, OUTSIDE: -0.5, INSIDE: 0.5}
        both = [across.get(one.a, 0.0) + across.get(one.b, 0.0) for one in entries]
        self.value = np.array([one.value + add[one.how] * wide for one, wide in zip(entries, both, strict=True)])
        self.angle = np.array([one.kind == ANGLE for one in entries])
        self.sigma = np.array([one.u / 1.96 for one in entries])

    def off(self, places: Floats) -> Floats:
        """Answer less entry, each in its own unit."""
        at = places.reshape(-1, 2)
        way = at[self.first] - at[self.second]
        far = np.hypot(way[:, 0], way[:, 1])
        turned = np.degrees(np.arctan2(way[:, 1], way[:, 0])) - self.value
        return np.asarray(np.where(self.angle, (turned + 180) % 360 - 180, far - self.value))

    def weighed(self, places: Floats) -> Floats:
        return np.asarray(self.off(places) / self.sigma)

    def jacobian(self, places: Floats) -> Floats:
        """Of the weighed residuals: a row an entry."""
        at = places.reshape(-1, 2)
        way = at[self.first] - at[self.second]
        far = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)[:, None]
        across = np.column_stack([-way[:, 1], way[:, 0]]) / far**2 * np.degrees(1)
        part = np.where(self.angle[:, None], across, way / far) / self.sigma[:, None]
        made = np.zeros((len(self.entries), places.size))
        row = np.arange(len(self.entries))
        for k in (0, 1):
            made[row, 2 * self.first + k] += part[:, k]
            made[row, 2 * self.second + k] -= part[:, k]
        return made

    def best(self) -> Floats:
        """The answer of least squares, from several beginnings."""
        tried = [self._from(self._by_distances())]
        if np.abs(self.weighed(tried[0])).max() > SNOOPED:
            tried += [self._from(start) for start in self._by_chance()]
        return min(tried, key=lambda places: round(float((self.weighed(places) ** 2).sum()), 6))

    def _from(self, start: Floats) -> Floats:
        # Soft to slips at first, so that one typing error does not bend the whole pattern into another.
        return self.settled(self.settled(start, loss="soft_l1"))

    def settled(self, start: Floats, loss: Literal["linear", "soft_l1"] = "linear") -> Floats:
        """The answer of least squares that lies downhill of a beginning."""
        from scipy.optimize import least_squares  # scipy takes a while to load; only photos and readings need it

        return np.asarray(least_squares(self.weighed, start, jac=self.jacobian, loss=loss, max_nfev=60).x)

    def _by_chance(self) -> list[Floats]:
        chance = np.random.default_rng(1)
        wide = float(np.max(self.value[~self.angle], initial=100.0))
        return [chance.uniform(-wide / 2, wide / 2, 2 * len(self.names)) for _ in range(TRIES)]

    def _by_distances(self) -> Floats:
        """Classical scaling of the shortest ways between all (Torgerson), laid so that angles agree."""
        count = len(self.names)
        far = np.full((count, count), np.inf)
        np.fill_diagonal(far, 0)
        for one, other, value, angle in zip(self.first, self.second, self.value, self.angle, strict=True):
            if not angle:
                far[one, other] = far[other, one] = max(value, 0.0)
        polar = self._polar()
        for one, other in combinations(polar, 2):
            if not np.isfinite(far[one, other]):
                apart = float(np.hypot(*(polar[one] - polar[other])))
                far[one, other] = far[other, one] = apart
        for middle in range(count):
            far = np.minimum(far, far[:, middle, None] + far[None, middle, :])
        far = np.where(np.isfinite(far), far, 100.0)
        centre = np.eye(count) - 1 / count
        values, vectors = np.linalg.eigh(-0.5 * centre @ far**2 @ centre)
        places = vectors[:, -2:] * np.sqrt(np.maximum(values[-2:], 1e-6))
        if len(polar) >= 2:
            places = _laid_on(places, polar)
        return np.asarray(places.ravel())

    def _polar(self) -> dict[int, Floats]:
        """The holes whose angle and radius are both given, about the axis, and the axis itself."""
        far = {int(i if j == self.at.get(AXIS) else j): float(v)
               for i, j, v, angle in zip(self.first, self.second, self.value, self.angle, strict=True)
               if not angle and self.at.get(AXIS) in (i, j)}  # fmt: skip
        turned = {int(i): float(v) for i, v, angle in zip(self.first, self.value, self.angle, strict=True) if angle}
        found = {
            k: np.array([far[k] * cos(radians(turned[k])), far[k] * sin(radians(turned[k]))])
            for k in far
            if k in turned
        }
        return found | {self.at[AXIS]: np.zeros(2)} if found else {}

    def freedom(self) -> int:
        """How many motions of the whole no entry tells."""
        return 2 if self.angle.any() else 3

    def missing(self, places: Floats) -> tuple[tuple[str, str], ...]:
        """The distances that would settle what moves freely: the ones that tell most, one after another."""
        # Asked of places a little off: in a line, a hole could move across it without a change of length.
        wide = max(1.0, float(np.ptp(places)))
        places = places + np.random.default_rng(2).normal(0, 0.2 * wide, places.shape)
        rows = self.jacobian(places)
        asked: list[tuple[str, str]] = []
        while len(asked) < 2 * len(self.names):
            free = _free(rows)
            if free.shape[1] <= self.freedom():
                return tuple(asked)
            at = places.reshape(-1, 2)
            best, told, chosen = 0.0, None, ("", "")
            spare = free - _rigid(at) @ (_rigid(at).T @ free)
            for i, j in combinations(range(len(self.names)), 2):
                way = at[i] - at[j]
                unit = way / max(1e-9, float(np.hypot(*way)))
                row = np.zeros(places.size)
                row[2 * i : 2 * i + 2], row[2 * j : 2 * j + 2] = unit, -unit
                if (tells := float(np.linalg.norm(row @ spare))) > best + 1e-9:
                    best, told, chosen = tells, row, (self.names[i], self.names[j])
            if told is None or best < 1e-4:
                return tuple(asked)
            asked.append(chosen)
            rows = np.vstack([rows, told])
        return tuple(asked)

    def twins(self, places: Floats) -> tuple[str, ...]:
        """Holes that may as well lie mirrored in the line of others: begun there, an equally good answer is found."""
        now = float((self.weighed(places) ** 2).sum())
        at = places.reshape(-1, 2)
        found = []
        for number, name in enumerate(self.names):
            partners = self._partners(number)
            for one, other in combinations(sorted(partners), 2):
                start = at.copy()
                start[number] = _mirrored(at[number], at[one], at[other])
                settled = self.settled(start.ravel())
                good = float((self.weighed(settled) ** 2).sum()) <= now + 4.0
                if good and _unlike(settled.reshape(-1, 2), at) > SAME_MM:
                    found.append(name)
                    break
                if len(partners) > 4:
                    break
        few = [name for name in found if len(self._partners(self.at[name])) == 2]
        return tuple(few or found)

    def _partners(self, number: int) -> set[int]:
        """To which others something is measured from it."""
        pairs = zip(self.first, self.second, strict=True)
        return {int(j if i == number else i) for i, j in pairs if number in (i, j)}

    def area(self, places: Floats, three: tuple[str, str, str]) -> float:
        """Twice the area of three holes, above zero where they follow anticlockwise."""
        a, b, c = (places.reshape(-1, 2)[self.at[name]] for name in three)
        return float((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]))

    def upright(self, places: Floats) -> Floats:
        """The axis (or the middle) at 0, 0; without angles the first hole straight up."""
        at = places.reshape(-1, 2)
        at = at - (at[self.at[AXIS]] if self.has_axis else at.mean(axis=0))
        if not self.angle.any():
            x, y = at[0]
            turn = np.arctan2(x, y)
            at = at @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        return np.asarray(at.ravel())

    def residuals(self, places: Floats) -> tuple[Residual, ...]:
        """Each entry against the answer, and the one that looks like a slip. Where one entry only is to spare, all that
        check each other look alike, and of two that are measured twice either may be it: then none is named."""
        rows = self.jacobian(places)
        hat = rows @ np.linalg.pinv(rows.T @ rows, rcond=1e-10) @ rows.T
        checked = np.clip(1 - np.diag(hat), 0, 1)
        off = self.off(places)
        own = np.where(checked > 0.02, np.abs(off) / self.sigma / np.sqrt(np.maximum(checked, 0.02)), 0.0)
        spare = len(self.entries) - (2 * len(self.names) - self.freedom())
        alike = (checked > 0.02) if spare == 1 else own > ALIKE * own.max()
        odd_ones = alike & (own.max() > SNOOPED)
        said = []
        for number, entry in enumerate(self.entries):
            odd = odd_ones[number]
            alone = odd and odd_ones.sum() == 1
            should = entry.value + float(off[number] / max(checked[number], 0.02)) if alone else None
            said.append(Residual(entry, float(off[number]), float(checked[number]), bool(odd), should))
        return tuple(said)

    def placed(self, places: Floats) -> tuple[PlacedHole, ...]:
        """The holes with how surely each lies about the axis, 95 of 100."""
        at = places.reshape(-1, 2)
        rows = self.jacobian(places)
        if self.has_axis:  # held: places are told about it
            number = self.at[AXIS]
            rows = np.vstack([rows, *(np.eye(places.size)[2 * number + k] * 1e6 for k in (0, 1))])
        spread = np.linalg.pinv(rows.T @ rows, rcond=1e-14)
        freedom = len(self.entries) - (2 * len(self.names) - self.freedom())
        worse = max(1.0, float((self.weighed(places) ** 2).sum()) / freedom) if freedom > 0 else 1.0
        made = []
        for number, hole in enumerate(self.holes):
            block = spread[2 * number : 2 * number + 2, 2 * number : 2 * number + 2] * worse
            u_mm = TWO_AXES * float(np.sqrt(max(0.0, np.linalg.eigvalsh(block)[-1])))
            made.append(PlacedHole(name=hole.name, x_mm=float(at[number][0]), y_mm=float(at[number][1]),
                                   u_mm=max(u_mm, 0.01), diameter_mm=hole.diameter_mm))  # fmt: skip
        return tuple(made)


def _free(rows: Floats) -> Floats:
    """The motions that no row tells, a column each."""
    _, sizes, turned = np.linalg.svd(rows, full_matrices=True)
    rank = int((sizes > 1e-7 * max(1.0, float(sizes.max(initial=0.0)))).sum())
    return np.asarray(turned[rank:].T)


def _rigid(at: Floats) -> Floats:
    """Shifts and the turn of the whole, orthonormal columns."""
    count = len(at)
    right, up = np.tile([1.0, 0.0], count), np.tile([0.0, 1.0], count)
    middle = at - at.mean(axis=0)
    turn = np.column_stack([-middle[:, 1], middle[:, 0]]).ravel()
    return np.asarray(np.linalg.qr(np.column_stack([right, up, turn]))[0])


def _laid_on(places: Floats, known: Mapping[int, Floats]) -> Floats:
    """The places turned, shifted and if need be mirrored so that those that are known come to lie where they are."""
    numbers = list(known)
    target, here = np.array([known[k] for k in numbers]), places[numbers]
    u, _, v = np.linalg.svd((here - here.mean(axis=0)).T @ (target - target.mean(axis=0)))
    return np.asarray((places - here.mean(axis=0)) @ u @ v + target.mean(axis=0))


def _mirrored(place: Floats, one: Floats, other: Floats) -> Floats:
    way = other - one
    square = float(way @ way)
    if square < 1e-12:
        return place
    foot = one + way * float((place - one) @ way) / square
    return np.asarray(2 * foot - place)


def _unlike(a: Floats, b: Floats) -> float:
    """By how much the distances within two answers differ at most."""
    far = [np.hypot(*(one[:, None] - one[None]).transpose(2, 0, 1)) for one in (a, b)]
    return float(np.abs(far[0] - far[1]).max())


def _notes(
    work: _Work, residuals: Sequence[Residual], missing: Sequence[tuple[str, str]], twins: Sequence[str], mirror: bool
) -> list[str]:
    said = []
    if missing:
        pairs = "; ".join(f"{a} to {b}" for a, b in missing)
        said.append(f"not enough is measured to place every hole: measure also {pairs}")
    if twins:
        names = ", ".join(twins)
        said.append(f"{names} may lie at another place as well, on the other side of two holes: measure a third"
                    " distance from there, or an angle")  # fmt: skip
    if mirror and not missing:
        said.append("distances alone do not tell a pattern from its mirror image: name three holes in clockwise order")
    odd = [one for one in residuals if one.odd]
    if len(odd) > 1:
        each = "; ".join(words_of(one.entry) for one in odd)
        said.append(f"one of these {DISAGREES}, and too few are measured to tell which: {each}. Measure each again,"
                    " or add another one")  # fmt: skip
    for one in odd:
        if one.should_be is not None:
            unit = "degrees" if one.entry.kind == ANGLE else "mm"
            said.append(f"{words_of(one.entry)} {DISAGREES}; they say about {one.should_be:.2f} {unit}."
                        " Is it a slip of typing or of reading?")  # fmt: skip
    unchecked = sum(one.checked <= 0.02 for one in residuals)
    if unchecked and not missing:
        said.append(f"{unchecked} of {len(residuals)} entries are checked by no other: a slip in them would not show;"
                    f" {comb(len(work.holes), 2)} distances are possible between the holes")  # fmt: skip
    return said
