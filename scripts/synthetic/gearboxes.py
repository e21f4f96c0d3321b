"""One gearbox family of the invented trade: parts, variants, remedies for two other engines, faults, a dispute."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from scripts.synthetic.plan import BALL_BEARINGS, Cell, Plan
from scripts.synthetic.words import name_of, note, price
from scripts.synthetic.writer import Writer

# place -> part kind, and what a used one costs where one is to be had
MADE_OF = {
    "bell-housing": ("bell-housing", 50, 220, 0.4), "gearbox-case": ("gearbox-case", 60, 260, 0.2),
    "front-retainer": ("front-retainer", 15, 60, 0.3), "release-bearing": ("release-bearing", 20, 70, 0.6),
    "input-shaft": ("input-shaft", 60, 200, 0.4), "layshaft": ("layshaft", 60, 220, 0.3),
    "mainshaft": ("mainshaft", 70, 260, 0.3), "synchro-ring-second": ("synchro-ring", 15, 40, 0.3),
    "tail-housing": ("tail-housing", 40, 160, 0.3), "output-flange": ("output-flange", 15, 60, 0.4),
}  # fmt: skip
SHORT = {
    "bell-housing": "bell", "gearbox-case": "case", "front-retainer": "retainer", "release-bearing": "release",
    "input-shaft": "shaft", "synchro-ring-second": "ring", "tail-housing": "tail", "output-flange": "flange",
}  # fmt: skip
INSIDE = (
    ("bell", "case", "housing-to-case"), ("bell", "retainer", "case-register"),
    ("case", "retainer", "retainer-to-case"), ("case", "shaft", "shaft-location"),
    ("retainer", "release", "release-guide"), ("shaft", "layshaft", "constant-mesh"),
    ("ring", "mainshaft", "synchro-second"), ("case", "tail", "tail-to-case"),
    ("tail", "mainshaft", "tail-on-mainshaft"), ("mainshaft", "flange", "output"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Family:
    """What all functions here need of one gearbox family. `said`: the statement of the note that its facts rest on."""

    id: str
    name: str
    cell: Cell
    said: str
    bearing: str
    dice: Random
    to: Writer


def write_gearbox(plan: Plan, cell: Cell, place: int, to: Writer) -> None:
    """All facts of one gearbox family of the cell."""
    dice = plan.dice("gearbox", cell.number * 3 + place)
    own, name = cell.gearbox(place), name_of(dice, cell.number)
    family = Family(own, name, cell, note(to, dice, own), f"bearing-{dice.choice(sorted(BALL_BEARINGS))}", dice, to)
    _write_parts(family)
    _write_bell(family, f"{own}-bell")
    to.edge("fits", f"{own}-shaft", f"pilot-{cell.pilot}", family.said, at="pilot-on-nose")
    _write_variants(family)
    _write_bench_parts(family)
    for other in (plan.partner(cell), plan.stranger(cell)):
        if other.number != cell.number:
            _write_kit(family, other)
    _write_faults(family)


def _write_parts(f: Family) -> None:
    f.to.part(f.id, f"{f.name} gearboxes", "gearbox", "lay:abstract true")
    for place, (kind, low, high, chance) in MADE_OF.items():
        part = f"{f.id}-{SHORT.get(place, place)}"
        spline = [f"lay:variantOf shop:shafts-spline-{f.cell.spline}"] if kind == "input-shaft" else []
        f.to.part(part, f"{f.name} {place.replace('-', ' ')}", kind, *spline, *price(f.dice, low, high, chance))
        f.to.edge("contains", f.id, part, at=f"at-{place}")
    f.to.edge("contains", f.id, f.bearing, at="at-input-bearing")
    for one, other, joint in INSIDE:
        f.to.edge("fits", f"{f.id}-{one}", f"{f.id}-{other}", f.said, at=joint)
    f.to.edge("fits", f"{f.id}-case", f.bearing, f.said, at="input-bearing-in-housing")
    f.to.edge("fits", f.bearing, f"{f.id}-shaft", f.said, at="input-bearing-on-shaft")
    f.to.edge("fits", f"{f.id}-release", f"covers-clutch-{f.cell.clutch}", f.said, at="release-contact")


def _write_bell(f: Family, bell: str) -> None:
    """What a bell housing offers to engines: patterns that hundreds share."""
    face, starter = f.cell.face, f.cell.starter
    f.to.edge("fits", bell, f"blocks-face-{face}", f.said, at="engine-face")
    f.to.edge("fits", bell, f"cranks-face-{face}", f.said, at="housing-alignment")
    f.to.edge("fits", bell, f"starters-type-{starter}", f.said, at="starter-to-housing")
    other = starter + 1 if starter % 2 == 0 else starter - 1
    f.to.edge(
        "machined", bell, f"starters-type-{other}", f.said, "lay:cash 25.00", "lay:hours 0.8",
        'lay:operations ( "mill the starter pad" )', "lay:irreversible true", at="starter-to-housing",
    )  # fmt: skip


def _write_variants(f: Family) -> None:
    count = f.dice.randint(3, 5)
    for number in range(1, count + 1):
        unit = f.to.part(f"{f.id}-{number}", f"{f.name} {number}", "gearbox", f"lay:variantOf shop:{f.id}", f.said)
        f.to.edge("shifts", unit, "kind:pilot-overlap", f"lay:shiftMm {f.dice.choice((1, 5, 6, 8))}.0")
        f.to.edge("shifts", unit, "kind:release-gap", f"lay:shiftMm {f.dice.randint(18, 22) / 10}")
        if number > 1:
            _write_own_part(f, unit, ("bell", "mainshaft", "tail")[number % 3])
    if f.dice.random() < 0.2:
        f.to.edge("adds", f"{f.id}-1", "kind:reversing-light-switch", f.said)


def _write_own_part(f: Family, unit: str, what: str) -> None:
    """The one part in which a variant differs from its family."""
    place = {"bell": "bell-housing", "tail": "tail-housing"}.get(what, what)
    kind, low, high, _ = MADE_OF[place]
    part = f.to.part(f"{unit}-{what}", f"{f.name} {unit[-1]} {what}", kind, *price(f.dice, low, high, 0.5))
    f.to.edge("contains", unit, part, at=f"at-{place}")
    for one, other, joint in INSIDE:
        if one == what:
            f.to.edge("fits", part, f"{f.id}-{other}", f.said, at=joint)
        elif other == what:
            f.to.edge("fits", f"{f.id}-{one}", part, f.said, at=joint)
    if what == "bell":
        _write_bell(f, part)
        if f.dice.random() < 0.3:
            f.to.edge(
                "misfit", part, f"{f.id}-case", 'lay:reason "two bolts foul the case"', "lay:missMm 2.5",
                "lay:evidence kind:word-of-the-trade", at="housing-to-case",
            )  # fmt: skip


def _write_bench_parts(f: Family) -> None:
    """What the bench keeps for this family: a new ring, another input shaft, a sleeve for the next larger bearing."""
    ring = f.to.part(f"{f.id}-ring-new", f"{f.name} second gear ring, new", "synchro-ring", *price(f.dice, 30, 60))
    f.to.edge("replaces", ring, f"{f.id}-ring", f.said)
    f.to.edge("fits", ring, f"{f.id}-mainshaft", f.said, at="synchro-second")
    shaft = f.to.part(
        f"{f.id}-shaft-long", f"{f.name} long-nose input shaft", "input-shaft",
        f"lay:variantOf shop:shafts-spline-{f.cell.spline + 1}",
        *price(f.dice, 120, 280), "lay:hours 0.5",
    )  # fmt: skip
    f.to.edge("replaces", shaft, f"{f.id}-shaft", f.said)
    f.to.edge("fits", f"{f.id}-case", shaft, f.said, at="shaft-location")
    f.to.edge("fits", f.bearing, shaft, f.said, at="input-bearing-on-shaft")
    f.to.edge("fits", shaft, f"{f.id}-layshaft", f.said, at="constant-mesh")
    f.to.edge("fits", shaft, f"pilot-{f.cell.pilot}", f.said, at="pilot-on-nose")
    f.to.edge("shifts", shaft, "kind:pilot-overlap", "lay:shiftMm 6.0")
    sleeve = f.to.part(f"{f.id}-sleeve", f"{f.name} bearing sleeve", "bearing-sleeve", *price(f.dice, 30, 90))
    larger = f.dice.choice(sorted(BALL_BEARINGS))
    f.to.edge("fits", sleeve, f"bearing-{larger}", f.said, at="input-bearing-in-housing")
    f.to.edge(
        "machined", f"{f.id}-case", sleeve, f.said, "lay:cash 60.00", "lay:hours 0.6",
        "lay:task kind:machine-shop-visit",
        'lay:operations ( "bore the seat" "press the sleeve in" )', "lay:irreversible true",
        at="input-bearing-in-housing",
    )  # fmt: skip


def _write_kit(f: Family, other: Cell) -> None:
    """What somebody sells to put this family behind the other cell's engines."""
    mark = f"{f.id}-for-{other.engine}"
    disc = f.to.part(f"{mark}-disc", f"Disc, {f.name} hub, for {other.engine}", "clutch-disc", *price(f.dice, 80, 190))
    f.to.edge("fits", disc, f"shafts-spline-{f.cell.spline}", f.said, at="clutch-spline")
    f.to.edge("fits", disc, f"{other.engine}-flywheel", f.said, at="disc-to-flywheel")
    f.to.edge("fits", disc, f"{other.engine}-cover", f.said, at="disc-to-cover")
    bush = f.to.part(f"{mark}-bush", f"Pilot bush for {f.name} on {other.engine}", "pilot-bush", *price(f.dice, 25, 90))
    f.to.edge("fits", f"{other.engine}-crank", bush, f.said, at="pilot-in-crank")
    f.to.edge("fits", bush, f"{f.id}-shaft", f.said, at="pilot-on-nose")
    f.to.edge("shifts", bush, "kind:pilot-overlap", "lay:shiftMm 4.0")
    release = f.to.part(
        f"{mark}-release",
        f"Release bearing for {f.name} on {other.engine}",
        "release-bearing",
        *price(f.dice, 40, 110),
    )
    f.to.edge("fits", f"{f.id}-retainer", release, f.said, at="release-guide")
    f.to.edge("fits", release, f"{other.engine}-cover", f.said, at="release-contact")
    if other.face != f.cell.face:
        _write_plate(f, other, mark)


def _write_plate(f: Family, other: Cell, mark: str) -> None:
    plate = f.to.part(f"{mark}-plate", f"Adapter plate 15, {f.name} to {other.engine}", "adapter-plate",
                      *price(f.dice, 180, 420))  # fmt: skip
    f.to.edge("fits", f"{other.engine}-block", plate, f.said, at="engine-face")
    f.to.edge("fits", plate, f"{f.id}-bell", f.said, at="engine-face")
    f.to.edge("fits", f"{other.engine}-crank", f"{f.id}-bell", f.said, at="housing-alignment")
    f.to.edge("shifts", plate, "kind:pilot-overlap", "lay:shiftMm -3.0")
    f.to.edge(
        "machined", f"{f.id}-bell", f"starters-type-{other.starter}", f.said, "lay:cash 40.00", "lay:hours 1.2",
        'lay:operations ( "open the starter bore" )', at="starter-to-housing",
    )  # fmt: skip


def _write_faults(f: Family) -> None:
    for what, place, task, chance in (
        ("ring-worn", "synchro-ring-second", "gear-train-out-and-in", 1.0),
        ("layshaft-worn", "layshaft", "gear-train-out-and-in", 0.5),
        ("release-tired", "release-bearing", "gearbox-out-and-in", 0.5),
    ):
        if f.dice.random() >= chance:
            continue
        fault = f"{f.id}-{what}"
        f.to.subject(
            f"shop:{fault}", "lay:Fault", f'rdfs:label "{f.name} {what.replace("-", " ")}"',
            f"lay:position kind:at-{place}", f"lay:of shop:{f.id}", f"lay:odds {f.dice.randint(5, 60) / 100}",
            f"lay:cash {f.dice.randint(20, 160)}", "lay:hours 0.5", "lay:shows true", 'dcterms:source "invented"',
        )  # fmt: skip
        f.to.edge("opens", f"kind:{task}", fault)
    f.to.subject(
        f"shop:{f.id}-road-test", "lay:Inspection", f'rdfs:label "{f.name}: road test"', "lay:hours 1.0",
        f"lay:settles shop:{f.id}-ring-worn",
    )  # fmt: skip
