"""The kinds of part that are made for a joint, one record each. A new kind is one more record in the list.

Allowances without a standard are those that the joint's own check goes by (graph/fits), else common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from graph.fits.pilot import BUSH_CLEARANCE_NM, PRESS_NM
from graph.made.allowances import allowance, inside_both, of_class, part_way, turned_down
from graph.made.model import (
    DISC,
    INSIDE,
    LENGTH,
    OPENING,
    OUTSIDE,
    REGISTER,
    SEAT,
    SPIGOT,
    THICKNESS,
    Along,
    MadeKind,
    Take,
)
from graph.plates.bill import BALANCE, BRONZE, FLYWHEEL_BOLTS, SET_UP

COMMON_PRACTICE = "common practice"
PRESS_SOURCE = "press fit 0.0004 to 0.002 in in the crank, forum thread on bush fit"
RUNNING_SOURCE = "0.001 to 0.003 in on the nose, clutch education page"
H7_SOURCE = "ISO 286-2, H7 over the spigot as read"
H7_SPIGOT_SOURCE = "ISO 286-2, h7 in the bore as read"
TURNED_NM = 50_000  # a length turned on a lathe, either way, common practice
LAND_NM = 5_000_000
SEATED_NM = 15_000_000  # of an extension on the turned-down nose, common practice
DOWN_SOURCE = f"two thirds of the nose, to half a millimetre below, {COMMON_PRACTICE}; ISO 286-2"
PAST_SOURCE = f"a little past the pilot, {COMMON_PRACTICE}"
SHORT, SHORT_SOURCE = allowance(-300_000, -50_000), f"a little short of the ring, {COMMON_PRACTICE}"
GROUND_NM = 20_000  # a spacer's thickness ground or turned fine, either way, common practice

PILOT_BUSH = MadeKind(
    id="pilot-bush", label="pilot bush", part_kind="pilot-bush", closes=("pilot-in-crank", "pilot-on-nose"),
    between=("at-crank", "at-input-shaft"), place="at-pilot", operation="make-bush", material="bearing bronze",
    blank=BRONZE, takes=(
        Take(OUTSIDE, (("at-crank", "crank-bore"),), allowance(*PRESS_NM), PRESS_SOURCE),
        Take(INSIDE, (("at-input-shaft", "nose-diameter"),), allowance(*BUSH_CLEARANCE_NM), RUNNING_SOURCE),
    ),
    along=Along(LENGTH, "pilot-rear-face", TURNED_NM, "rear face {size} behind the block's rear face",
                to_seat=("at-crank", "crank-bore-depth"), seat_from="ahead of the block's rear face",
                seat_chain="tip-to-bore-bottom"),
    longest=Fraction(5, 2),
    datum="axis of the outside diameter", surface="bore turned fine, proved after it is pressed in, for it closes",
    to_confirm=("bush home in its bore, and its rear face where the chains want it, by depth micrometer",
                "hub of the disc clears the bush with the disc worn"),
    cautions=("Press work: guard and eye shield.",),
)  # fmt: skip
PILOT_SLEEVE = MadeKind(
    id="pilot-sleeve", label="pilot sleeve", part_kind="pilot-sleeve", closes=("pilot-in-crank",),
    between=("at-crank", "at-pilot"), operation="make-sleeve", works=("make-sleeve",), decided=(OUTSIDE, INSIDE),
    takes=(Take(LENGTH, (("at-pilot", "pilot-length"),), allowance(-200_000, 0), COMMON_PRACTICE),),
    datum="axis of the outside diameter", cautions=("Press work: guard and eye shield.",),
)  # fmt: skip
NOSE_SLEEVE = MadeKind(
    id="nose-sleeve", label="nose sleeve", part_kind="bush", closes=("pilot-on-nose",),
    between=("at-pilot", "at-input-shaft"), operation="make-nose-sleeve", works=("make-nose-sleeve",),
    hardness="case-hardened or nitrided after turning, where the pilot has rollers", takes=(
        Take(OUTSIDE, (("at-pilot", "pilot-inside"),), allowance(-BUSH_CLEARANCE_NM[1], -BUSH_CLEARANCE_NM[0]),
             RUNNING_SOURCE),
        Take(INSIDE, (("at-input-shaft", "nose-diameter"),), allowance(-PRESS_NM[1], -PRESS_NM[0]),
             "press fit 0.0004 to 0.002 in on the nose, as in the crank"),
        Take(LENGTH, (("at-pilot", "pilot-length"),), allowance(500_000, 1_500_000), PAST_SOURCE),
    ),
    datum="axis of the bore", surface="outside ground or turned fine",
    to_confirm=("the sleeve's end stays clear of the nose's shoulder and of the bottom of the bore",),
    cautions=("Press work: guard and eye shield. The hardened shaft stays cold; only the sleeve is warmed.",),
)  # fmt: skip
NOSE_EXTENSION = MadeKind(
    id="nose-extension", label="nose extension", part_kind="nose-extension", closes=("pilot-on-nose",),
    between=("at-pilot", "at-input-shaft"), operation="make-nose-extension", works=("make-nose-extension",),
    hardness="case-hardened or nitrided after turning, where the pilot has rollers", takes=(
        Take(OUTSIDE, (("at-pilot", "pilot-inside"),), allowance(-BUSH_CLEARANCE_NM[1], -BUSH_CLEARANCE_NM[0]),
             RUNNING_SOURCE),
        Take(INSIDE, (("at-input-shaft", "nose-diameter"),), turned_down(2, 3, "H7"), DOWN_SOURCE, "H7"),
        Take(SEAT, (("at-input-shaft", "nose-diameter"),), turned_down(2, 3, "s6"), DOWN_SOURCE, "s6"),
    ),
    along=Along(LENGTH, "nose-extension-length", TURNED_NM, "{size} past the shaft's tip, and 15 mm on its seat",
                plus_nm=SEATED_NM),
    turned=3, faces=3, also=(SET_UP,), least_wall_nm=2_000_000,
    datum="axis of the spline", surface="outside ground or turned fine after it is fitted",
    to_confirm=("extension run true within 0.02 mm of the spline", "pinned or welded, no press fit alone"),
    cautions=("A weak remedy: a longer bush is tried first. A pilot that comes loose wrecks clutch and gearbox.",
              "Grinding wheel and press: guard and eye shield; do not draw the temper of the spline."),
)  # fmt: skip
BEARING_SLEEVE_IN_HOUSING = MadeKind(
    id="bearing-sleeve-in-housing", label="bearing sleeve", part_kind="bearing-sleeve",
    closes=("input-bearing-in-housing",), between=("at-gearbox-case", "at-input-bearing"), operation="fit-sleeve",
    works=("fit-sleeve",), decided=(OUTSIDE, INSIDE), takes=(
        Take(LENGTH, (("at-input-bearing", "bearing-width"),), SHORT, SHORT_SOURCE),
    ),
    turned=3, least_wall_nm=1_500_000, datum="bore of the case; the sleeve's bore is finished in place",
    surface="outside ground or turned fine", cautions=("Press work: guard and eye shield.",),
)  # fmt: skip
BEARING_SLEEVE_ON_SHAFT = MadeKind(
    id="bearing-sleeve-on-shaft", label="bearing sleeve", part_kind="bearing-sleeve",
    closes=("input-bearing-on-shaft",), between=("at-input-bearing", "at-input-shaft"), operation="fit-sleeve",
    works=("fit-sleeve",), decided=(OUTSIDE, INSIDE), takes=(
        Take(LENGTH, (("at-input-bearing", "bearing-width"),), SHORT, SHORT_SOURCE),
    ),
    turned=3, least_wall_nm=1_500_000, datum="journal of the shaft; the sleeve's outside is finished in place",
    surface="bore ground or turned fine", cautions=("Press work: guard and eye shield.",),
)  # fmt: skip
BEARING_SPACER = MadeKind(
    id="bearing-spacer", label="bearing spacer", part_kind="shim", closes=("input-bearing-on-shaft",),
    between=("at-input-bearing", "at-input-shaft"), operation="fit-shim", works=("fit-shim",), decided=(THICKNESS,),
    takes=(
        Take(INSIDE, (("at-input-shaft", "journal-diameter"),), allowance(50_000, 150_000), COMMON_PRACTICE),
        Take(OUTSIDE, (("at-input-bearing", "bearing-bore"), ("at-input-bearing", "bearing-outside-diameter")),
             part_way(1, 4, 100_000), f"on the inner ring only, a quarter of the section, {COMMON_PRACTICE}"),
    ),
    datum="one face; the other parallel to it within 0.01 mm", surface="both faces ground",
    edge_break_nm=200_000, to_confirm=("the spacer clears the bearing's cage and outer ring",),
)  # fmt: skip
FLYWHEEL_SPACER = MadeKind(
    id="flywheel-spacer", label="flywheel spacer", part_kind="flywheel-spacer", closes=("flywheel-to-crank",),
    between=("at-crank", "at-flywheel"), operation="make-flywheel-spacer", works=("make-flywheel-spacer",), shape=DISC,
    takes=(
        Take(REGISTER, (("at-crank", "crank-register"),), of_class("H7"), H7_SOURCE, "H7"),
        Take(SPIGOT, (("at-flywheel", "flywheel-bore"),), of_class("h7"), H7_SPIGOT_SOURCE, "h7"),
        Take(OPENING, (("at-crank", "crank-register"), ("at-flywheel", "flywheel-bore")),
             inside_both(LAND_NM, 200_000), f"5 mm of land inside register and spigot, {COMMON_PRACTICE}"),
    ),
    along=Along(THICKNESS, "flywheel-spacer-thickness", GROUND_NM, "thickness {size}"),
    face="flywheel-to-crank", turned=4, also=(FLYWHEEL_BOLTS, BALANCE),
    least_wall_nm=2_000_000, datum="register bore and the crankshaft's side",
    surface="both faces ground or turned fine, parallel within 0.02 mm",
    to_confirm=("balance flywheel and cover with the spacer",
                "the crankshaft's spigot stands out less than the register is deep",
                "the opening clears shaft and pilot",
                "new graded bolts, longer by the spacer, do not stand through the flange"),
    cautions=("A flywheel that comes loose kills: steel of known strength, new dowels, stated torque.",),
)  # fmt: skip

MADE_KINDS: Mapping[str, MadeKind] = {
    kind.id: kind
    for kind in (
        PILOT_BUSH, NOSE_SLEEVE, NOSE_EXTENSION, FLYWHEEL_SPACER, BEARING_SLEEVE_IN_HOUSING, BEARING_SLEEVE_ON_SHAFT,
        BEARING_SPACER, PILOT_SLEEVE,
    )
}  # fmt: skip


def kind_for_work(joint: str, operation: str) -> MadeKind | None:
    """The kind of part that a piece of work at a joint makes; None where it makes none that is drawn here."""
    return next((one for one in MADE_KINDS.values() if one.closes[0] == joint and operation in one.works), None)
