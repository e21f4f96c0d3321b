"""What-if on the length chains: readings of engine and gearbox, remedies, and the window of plate for all of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any

from graph.fits.length_chain import check_chain
from graph.fits.length_sheet import (
    IN_CRANK,
    IN_FLYWHEEL,
    ON_BELL,
    ON_BLOCK,
    PAD_MILLING,
    PLATE,
    SHIM,
    SPACER,
    BoxSide,
    EngineSide,
    chain_of,
)
from graph.fits.length_window import Errors, find_region, find_window
from graph.fits.model import CheckResult, Line, Working
from graph.fits.side_effects import side_effects
from graph.what_if.inputs import LENGTH, SIZE, WORD, Field, WhatIf

REMEDIES: Mapping[str, str] = {
    "plate": PLATE,
    "flywheel_spacer": SPACER,
    "bearing_shim": SHIM,
    "pad_milling": PAD_MILLING,
}
WORDS = {"pilot_in": (IN_CRANK, IN_FLYWHEEL), "starter_on": (ON_BELL, ON_BLOCK)}
ENGINE = tuple(field.name for field in fields(EngineSide))
BOX = tuple(field.name for field in fields(BoxSide))


def _field(name: str) -> Field:
    label = name.replace("_", " ")
    if name in WORDS:
        return Field(WORD, f"{label}, {WORDS[name][0]} if left out", words=WORDS[name])
    return Field(LENGTH, f"{label}, with its datum")


def _run(values: Mapping[str, Any]) -> CheckResult:
    engine = EngineSide(**{name: values[name] for name in ENGINE if values[name] is not None})
    box = BoxSide(**{name: values[name] for name in BOX if values[name] is not None})
    limit = values["pad_milling_limit"]
    chain = chain_of(engine, box, limits={PAD_MILLING: (0, limit)} if limit is not None else {})
    known = chain.list_remedies()
    asked = {REMEDIES[name]: values[name] for name in REMEDIES if values[name] is not None and REMEDIES[name] in known}
    result = check_chain(chain, asked)
    if PLATE not in known:  # too little is measured for a plate to move anything
        return result
    others = {name: nm for name, nm in asked.items() if name != PLATE}
    moved = tuple(
        Line("also", effect.text(), "", "", "a plate moves what hangs behind it by its own thickness (common practice)")
        for effect in side_effects(asked, {})
    )
    windows = [(errors, find_window(chain, PLATE, others, errors)) for errors in Errors]
    lines = tuple(Line(f"window, {errors}", window.text(), "", "", "all chains together") for errors, window in windows)
    if SPACER in known:
        together = find_region(chain, PLATE, SPACER, {name: nm for name, nm in others.items() if name != SPACER})
        lines += (Line("plate with flywheel spacer", together.text(), "", "", "corners of what holds, nominally"),)
    summary = f"{result.summary}; window: {windows[0][1].text()}"
    return replace(result, summary=summary, working=result.working + Working(lines + moved))


LENGTH_CHAINS = WhatIf(
    "The length chains between block and gearbox, and the window of plate that satisfies all of them.",
    {name: _field(name) for name in (*ENGINE, *BOX)}
    | {name: Field(SIZE, f"{name.replace('_', ' ')} as built, 0 if left out", signed=True) for name in REMEDIES}
    | {"pad_milling_limit": Field(SIZE, "the most that may be milled off the starter pad")},
    _run,
    title="Plate window and length chains",
)
