"""Standard bearings as parts: searched in the published table for the seats of case and shaft, never listed by hand."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from itertools import product

from graph.catalogue.model import Catalogue, Part
from graph.derive.joints.bearing import IN_HOUSING, ON_SHAFT, housing_seat, shaft_seat
from graph.derive.joints.record import Case
from graph.derive.kept import KeptFindings
from graph.derive.measured import Measured
from graph.fits.bearing_search import propose_bearings
from graph.fits.model import bare_mm
from graph.fits.tables import Bearing
from graph.fits.tables_drive import DriveTables
from graph.lookups.findings import COMPUTED, Unknown, listed

STANDARD = f"{COMPUTED}iso15-"
MOST_BEARINGS = 3  # for one case and shaft; those with the least work come first


class StandardBearings:
    """Finds them, and keeps what was found for each case and shaft."""

    def __init__(self, catalogue: Catalogue, measured: Measured, drive: DriveTables, kept: KeptFindings):
        self.catalogue, self.measured, self.drive, self._kept = catalogue, measured, drive, kept

    def around(
        self, positions: Mapping[str, tuple[str, ...]], homes: Mapping[str, str]
    ) -> tuple[dict[str, tuple[str, ...]], list[Unknown]]:
        """Published bearings that close a case and a shaft of those around, as parts at the bearing's position."""
        joints = [self.catalogue.joint_kinds.get(one) for one in (IN_HOUSING.joint, ON_SHAFT.joint)]
        if any(joint is None for joint in joints):
            return {}, []
        in_housing, on_shaft = (joint for joint in joints if joint is not None)
        cases, shafts = positions.get(in_housing.between[0], ()), positions.get(on_shaft.between[1], ())
        position = in_housing.between[1]
        if position not in positions:
            return {}, []
        known = {self.measured.part(part).number for part in positions[position]}
        parts: dict[str, None] = {}
        unknowns = []
        for case, shaft in product(cases, shafts):
            found, unknown = self._between(case, shaft)
            parts.update(dict.fromkeys(part for part in found if self.measured.part(part).number not in known))
            assembled = homes.get(case) is not None and homes.get(case) == homes.get(shaft)
            if unknown is not None and not assembled:
                unknowns.append(unknown)
        return {position: tuple(sorted(parts))}, unknowns

    def _between(self, case: str, shaft: str) -> tuple[tuple[str, ...], Unknown | None]:
        key = (case, shaft, *self._kept.stamps_of(case, shaft))
        known = self._kept.bearings.get(key)
        if known is None:
            known = self._search(case, shaft)
            self._kept.bearings.put(key, known)
        return known

    def _search(self, case: str, shaft: str) -> tuple[tuple[str, ...], Unknown | None]:
        wanted = [
            (case, "housing-bore"),
            (case, "housing-material"),
            (shaft, "journal-diameter"),
            (shaft, "shoulder-to-ring"),
        ]
        missing = tuple(self.measured.gap(*need) for need in wanted if not self.measured.known(*need))
        if len(missing) == len(wanted):
            return (), None
        if missing:
            text = f"unknown: measure {listed(missing)}, then a standard bearing can be looked for"
            return (), Unknown(IN_HOUSING.joint, (case, shaft), missing, text)
        at = Case(self.measured, self.drive, IN_HOUSING.joint, (case, shaft))
        seat = housing_seat(at, case)
        assert seat is not None
        spacing = self.measured.length(shaft, "shoulder-to-ring")
        found = propose_bearings(
            self.measured.tables, self.drive, shaft_seat(at, shaft), seat, spacing, bearing_steel=at.bearing_steel
        )
        return tuple(self.part(choice.bearing).id for choice in found[:MOST_BEARINGS]), None

    def part(self, bearing: Bearing) -> Part:
        """The published bearing as a part; its price is the price list's, None where that has none."""
        price = self.catalogue.standard_prices.get(bearing.designation)
        sizes = " x ".join(
            bare_mm(nm).rstrip("0").rstrip(".") for nm in (bearing.bore_nm, bearing.od_nm, bearing.width_nm)
        )
        rated = min((rating for _, rating, _ in bearing.ratings), default=0)
        life = f"dynamic rating {rated / 1000:g} kN: life goes with its cube (ISO 281); check it against the load"
        return self.measured.add(
            Part(
                id=f"{STANDARD}{bearing.designation}", label=f"Bearing {sizes} (ISO 15, {bearing.designation})",
                kind="input-bearing", number=bearing.designation, condition="new",
                cash_hundredths=price.cash_hundredths if price else None, days=price.days if price else Fraction(0),
                hours_hundredths=price.hours_hundredths if price else None, to_confirm=(life,) if rated else (),
            )
        )  # fmt: skip
