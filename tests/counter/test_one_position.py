"""Facts and costs of an answer stand at one position of the ledger, also when a note comes in between."""

from __future__ import annotations

from pathlib import Path

import pytest

from graph.cli.question import DEMO_FACTS
from graph.costing.notes import Provenance
from graph.costing.shop import rate_note
from graph.counter.opened import opened_shop
from graph.ledger.record import Draft

SAID = Draft(text="The bush is bronze.", author="bench", evidence="measured-on-these-parts")


def test_a_note_that_comes_between_facts_and_costs_is_followed_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with opened_shop(tmp_path, DEMO_FACTS) as opened:
        shop, ledger = opened.shop, opened.notebook.ledger
        costed, seen = shop._costs.costed, list[object]()

        def between(*given: object) -> object:
            if not seen:  # a fact and a rate, after the facts were taken and before the costs are
                ledger.append(SAID)
                body = {"per_hour": "91.00", "currency": "EUR"}
                shop.notes.append([rate_note("bench", body, Provenance("bench"))])
            seen.append(given)
            return costed(*given)  # type: ignore[arg-type]

        monkeypatch.setattr(shop._costs, "costed", between)

        standing = shop.standing()

        assert standing.index.catalogue.rate_hundredths == 9100
        assert opened.notebook.position == ledger.head().position and len(seen) == 2
