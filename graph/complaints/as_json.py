"""A verdict as JSON values, for the API and the command alike."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from graph.catalogue.model import Catalogue
from graph.complaints.model import Trade
from graph.complaints.verdict import ComplaintVerdict

PLACES = 4


def verdict_as_json(verdict: ComplaintVerdict) -> dict[str, Any]:
    """The verdict. Odds are between 0 and 1, minutes and hours numbers."""
    found = asdict(verdict)
    found["something_else"] = round(verdict.something_else, PLACES)
    for suspect in found["suspects"]:
        suspect["odds"], suspect["before"] = round(suspect["odds"], PLACES), round(suspect["before"], PLACES)
    for test in found["tests"]:
        test["opening_hours"] = test.pop("opening_hours_hundredths") / 100
        test["settles"] = round(test["settles"], PLACES)
    for doubted in found["doubted"]:
        doubted["odds"] = round(doubted["odds"], PLACES)
    return found


def trade_as_json(trade: Trade, catalogue: Catalogue) -> dict[str, Any]:
    """What can be complained of and what can be answered."""
    tasks = catalogue.tasks
    return {
        "complaints": [{"id": one.id, "label": one.label, "source": one.source} for one in trade.complaints.values()],
        "tests": [
            {
                "id": one.id, "asks": one.asks, "how": one.how, "minutes": one.minutes, "source": one.source,
                "needs": [{"id": task, "label": tasks[task].label if task in tasks else task} for task in one.needs],
            }
            for one in trade.tests.values()
        ],
        "dimensions": [{"id": one.id, "label": one.label} for one in catalogue.chain_kinds.values()],
    }  # fmt: skip
