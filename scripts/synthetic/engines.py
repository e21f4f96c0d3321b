"""One engine family of the invented trade: its parts, its variants, what else fits it, what may be worn."""

from __future__ import annotations

from scripts.synthetic.plan import Cell, Plan
from scripts.synthetic.words import condition, name_of, note, price
from scripts.synthetic.writer import Writer

HELD = ("block", "crank", "flywheel", "clutch-disc", "clutch-cover", "pilot", "starter")


def write_engine(plan: Plan, cell: Cell, to: Writer) -> None:
    """All facts of the cell's engine family."""
    dice = plan.dice("engine", cell.number)
    own, name = cell.engine, name_of(dice, cell.number)
    said = note(to, dice, own)
    _write_parts(cell, to, own, name, said, dice)
    to.part(own, f"{name} engines", "engine", "lay:abstract true")
    held = {"pilot": f"pilot-{cell.pilot}", "clutch-disc": f"{own}-disc", "clutch-cover": f"{own}-cover"}
    for place in HELD:
        to.edge("contains", own, held.get(place, f"{own}-{place}"), at=f"at-{place}")
    for number in range(1, 3 + cell.number % 2):
        unit = to.part(f"{own}-{number}", f"{name} {number}", "engine", f"lay:variantOf shop:{own}", said)
        to.edge("shifts", unit, "kind:pilot-overlap", f"lay:shiftMm {dice.randint(80, 100) / 10}")
        to.edge("shifts", unit, "kind:release-gap", f"lay:shiftMm {dice.randint(18, 22) / 10}")
    _write_remedies(cell, to, own, name, said, dice)


def _write_parts(cell: Cell, to: Writer, own: str, name: str, said: str, dice) -> None:  # type: ignore[no-untyped-def]
    used = condition(dice)
    to.part(f"{own}-block", f"{name} block", "engine-block", f"lay:variantOf shop:blocks-face-{cell.face}", used)
    to.part(f"{own}-crank", f"{name} crankshaft", "crankshaft", f"lay:variantOf shop:cranks-face-{cell.face}", used)
    flywheel = f"lay:variantOf shop:flywheels-clutch-{cell.clutch}"
    to.part(f"{own}-flywheel", f"{name} flywheel", "flywheel", flywheel, *price(dice, 60, 240, 0.3))
    to.part(f"{own}-disc", f"{name} clutch disc", "clutch-disc", *price(dice, 40, 120, 0.5))
    cover = f"lay:variantOf shop:covers-clutch-{cell.clutch}"
    to.part(f"{own}-cover", f"{name} clutch cover", "clutch-cover", cover, *price(dice, 50, 160, 0.3))
    starter = f"lay:variantOf shop:starters-type-{cell.starter}"
    to.part(f"{own}-starter", f"{name} starter", "starter", starter, *price(dice, 40, 180, 0.3))
    to.edge("fits", f"{own}-disc", f"shafts-spline-{cell.spline}", said, at="clutch-spline")
    to.edge("fits", f"{own}-crank", f"pilot-{cell.pilot}", said, at="pilot-in-crank")
    to.edge("fits", f"{own}-flywheel", f"{own}-starter", said, at="starter-mesh")
    to.edge("fits", f"{own}-disc", f"{own}-flywheel", said, at="disc-to-flywheel")
    to.edge("fits", f"{own}-disc", f"{own}-cover", said, at="disc-to-cover")


def _write_remedies(cell: Cell, to: Writer, own: str, name: str, said: str, dice) -> None:  # type: ignore[no-untyped-def]
    disc = to.part(f"{own}-disc-new", f"{name} clutch disc, new", "clutch-disc", *price(dice, 60, 150), "lay:hours 0.3")
    to.edge("replaces", disc, f"{own}-disc", said)
    to.edge("fits", disc, f"shafts-spline-{cell.spline}", said, at="clutch-spline")
    to.edge("fits", disc, f"{own}-flywheel", said, at="disc-to-flywheel")
    to.edge("fits", disc, f"{own}-cover", said, at="disc-to-cover")
    bush = to.part(f"{own}-bush-long", f"{name} extended pilot bush", "extended-pilot-bush", *price(dice, 60, 130))
    to.edge("replaces", bush, f"pilot-{cell.pilot}", said)
    to.edge("fits", f"{own}-crank", bush, said, at="pilot-in-crank")
    for place in range(cell.gearboxes):
        to.edge("fits", bush, f"{cell.gearbox(place)}-shaft", said, at="pilot-on-nose")
    to.edge("shifts", bush, "kind:pilot-overlap", "lay:shiftMm 8.0")
    worn = f"{own}-disc-worn"
    to.subject(
        f"shop:{worn}", "lay:Fault", f'rdfs:label "{name} clutch disc worn"', "lay:position kind:at-clutch-disc",
        f"lay:of shop:{own}", f"lay:odds {dice.randint(10, 60) / 100}", f"lay:cash {dice.randint(40, 120)}",
        "lay:hours 0.3", "lay:shows true", 'dcterms:source "invented"',
    )  # fmt: skip
    to.edge("opens", "kind:clutch-off-and-on", worn)
