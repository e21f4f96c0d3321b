"""Worked jobs of the trade as conversion documents, each small enough to be done by hand.

`spline_and_pilot`: hours and prices of a kit car whose disc does not suit the spline and whose shaft is short.
`plate_window`: the thickness of an adapter plate behind which five dimensions must come right at once.
`while_it_is_split`: a part that could be renewed while a tractor is split, or left to fail.
"""

from __future__ import annotations

from typing import Any

Document = dict[str, Any]


def _position(name: str, *candidates: Document) -> Document:
    return {"id": name, "kind": name, "label": name, "candidates": list(candidates)}


def _candidate(name: str, as_found: bool = False, **more: Any) -> Document:
    return {"id": name, "part": name, "label": name, "as_found": as_found, **more}


def _joint(name: str, between: tuple[str, str], *pairs: tuple[str, str]) -> Document:
    links = [{"id": f"{name} {number}", "parts": list(pair), "kind": "fits"} for number, pair in enumerate(pairs)]
    return {"id": name, "kind": name, "label": name, "between": list(between), "links": links}


def spline_and_pilot(odds: float, ring_may_be_renewed: bool = False, sound_ring: bool = False) -> Document:
    """Rate 60; box out and in 4.5 h, strip and rebuild 5.0 h with 110 of consumables.

    Disc and bush close the joints outside, the long-nose shaft inside. The ring is worn with the given odds.
    """
    ring = [_candidate("ring0", as_found=True)]
    if ring_may_be_renewed:
        ring.append(_candidate("ring1", cash=48, hours=0.4, tasks=["strip"], features=["sound ring"]))
    return {
        "gearbox": "x",
        "engine": "y",
        "rate": 60,
        "tasks": [{"id": "out", "hours": 4.5}, {"id": "strip", "after": ["out"], "cash": 110, "hours": 5}],
        "positions": [
            _position("shaft", _candidate("shaft0", True), _candidate("long", cash=160, hours=0.5, tasks=["strip"])),
            _position("disc", _candidate("disc0", True), _candidate("disc1", cash=135, hours=0.6, tasks=["out"])),
            _position(
                "pilot", _candidate("bush0", True), _candidate("bush1", cash=110, hours=0.5, days=5, tasks=["out"])
            ),
            _position("ring", *ring),
        ],
        "joints": [
            _joint("spline", ("shaft", "disc"), ("shaft0", "disc1"), ("long", "disc0")),
            _joint("nose", ("shaft", "pilot"), ("shaft0", "bush1"), ("long", "bush0")),
        ],
        "features": ["sound ring"] if sound_ring else [],
        "faults": [
            {
                "id": "worn",
                "position": "ring",
                "odds": odds,
                "cash": 48,
                "hours": 0.4,
                "reach": ["strip"],
                "shows": True,
            }
        ],
        "inspections": [{"id": "look", "hours": 1, "settles": ["worn"]}],
    }


def plate_window(least_overlap_mm: float = 12) -> Document:
    """Rate 65; lengths in mm behind the block face, plate T thick.

    Pilot overlap 33 - T (least 12), shoulder to bearing T - 11 (least 2), release gap T - 11 (3 to 5), starter rest gap
    T - 11.5 (2 to 4), starter mesh 31.5 - T (least 9). A flywheel spacer of 5 narrows both gaps and deepens the mesh
    by 5; a bearing shim narrows the release gap; milling the starter's pad brings the starter 5 forward.
    """
    plates = [
        _candidate("plate 15", cash=320, days=10, shifts=_plate(15)),
        _candidate("plate 20", shifts=_plate(20)),
        _candidate("plate 25", shifts=_plate(25)),
    ]
    spacer = _candidate("spacer 5", cash=280, hours=0.6, days=6, shifts={"gap": -5, "rest": -5, "mesh": 5})
    shims = [_candidate("shim 5", cash=35, shifts={"gap": -5}), _candidate("shim 10", cash=35, shifts={"gap": -10})]
    milled = _candidate("pad -5", cash=90, hours=0.8, days=3, shifts={"rest": -5, "mesh": 5})
    return {
        "gearbox": "x",
        "engine": "y",
        "rate": 65,
        "positions": [
            _position("plate", *plates),
            _position("flywheel", _candidate("no spacer", True), spacer),
            _position("bearing", _candidate("no shim", True), *shims),
            _position("pad", _candidate("pad", True), milled),
        ],
        "chains": [
            {"id": "overlap", "start": 33, "low": least_overlap_mm},
            {"id": "shoulder", "start": -11, "low": 2},
            {"id": "gap", "start": -11, "low": 3, "high": 5},
            {"id": "rest", "start": -11.5, "low": 2, "high": 4},
            {"id": "mesh", "start": 31.5, "low": 9},
        ],
    }


def _plate(thickness_mm: float) -> dict[str, float]:
    gains = dict.fromkeys(("shoulder", "gap", "rest"), thickness_mm)
    return {**gains, "overlap": -thickness_mm, "mesh": -thickness_mm}


def while_it_is_split(cash: float, hours: float, odds: float) -> Document:
    """Rate 55; the tractor is split (8 h, loader off 3 h) for another reason, and stands open.

    The part is renewed now, or left and fails within the warranty with the given odds; then all is split again.
    """
    return {
        "gearbox": "x",
        "engine": "y",
        "rate": 55,
        "tasks": [{"id": "loader", "hours": 3}, {"id": "split", "after": ["loader"], "hours": 8}],
        "positions": [
            _position("engine", _candidate("another engine", tasks=["split"])),
            _position("part", _candidate("old", True), _candidate("new", cash=cash, hours=hours, tasks=["split"])),
        ],
        "faults": [{"id": "fails", "position": "part", "odds": odds, "cash": cash, "hours": hours, "reach": ["split"]}],
    }
