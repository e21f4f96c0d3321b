"""A note that joins parts changes the next answer, of the process it was sent to and of another on the same ledger.

The demo's best route from hollin-5 to ouzel-20 buys a disc for 95.00 (facts/demo/remedies.ttl); a disc of the same kind
and work, taken from the shelf for 20.00, makes it cheaper by 75.00 exactly.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import httpx
from fastapi.testclient import TestClient

from api.service import opened_service
from api.settings import Settings
from tests.api.test_notes_from_other_machines import running

QUESTION = {"gearbox": "hollin-5", "engine": "ouzel-20", "context": {"torque_nm": 180}}
PREFIXES = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
"""
DISC = """shop:disc-shelf a lay:Part ; rdfs:label "Disc from the shelf" ; lay:kind kind:clutch-disc ;
    lay:partCondition kind:new ; lay:cash 20.00 ; lay:hours 0.60 ; lay:days 2 .
shop:shelf-on-shaft a lay:Fits ; lay:source shop:disc-shelf ; lay:target shop:shaft-hollin ;
    lay:joint kind:clutch-spline .
shop:shelf-under-cover a lay:Fits ; lay:source shop:cover-ouzel ; lay:target shop:disc-shelf ;
    lay:joint kind:disc-to-cover .
shop:shelf-front a lay:Shifts ; lay:source shop:disc-shelf ; lay:target kind:spline-spare-front ; lay:shiftMm -3.900 .
shop:shelf-rear a lay:Shifts ; lay:source shop:disc-shelf ; lay:target kind:spline-spare-rear ; lay:shiftMm -24.100 .
"""
JOIN = """shop:shelf-on-flywheel a lay:Fits ; lay:source shop:flywheel-ouzel ; lay:target shop:disc-shelf ;
    lay:joint kind:disc-to-flywheel .
"""


def note(statements: str, **more: Any) -> dict[str, Any]:
    return {"text": "Tried on the bench.", "author": "bench", "evidence": "measured-on-these-parts",
            "statements": PREFIXES + statements if statements else "", **more}  # fmt: skip


def best(client: TestClient | httpx.Client) -> tuple[str, bool]:
    """The total of the best route, and whether it takes the disc from the shelf."""
    answer = client.post("/routes", json=QUESTION).json()
    return str(answer["routes"][0]["total"]), "disc-shelf" in str(answer["routes"][0])


def test_a_note_that_joins_parts_changes_the_answers_of_every_process(tmp_path: Path) -> None:
    with (
        opened_service(tmp_path, Settings()) as (app, _),
        TestClient(app, base_url="http://127.0.0.1") as here,
        running(tmp_path, "127.0.0.1") as port,
        httpx.Client(base_url=f"http://127.0.0.1:{port}", timeout=60) as there,
    ):
        assert best(here) == best(there) == ("669", False)
        here.post("/notes", json=note(DISC)).raise_for_status()
        assert best(here) == ("669", False)  # nothing joins it to the flywheel yet

        sent = here.post("/notes", json=note(JOIN))

        assert sent.status_code == 201, sent.text
        assert best(here) == ("594", True)
        assert best(there) == ("594", True)

        ended = there.post(f"{sent.headers['location']}/retraction", json={"text": "It drags."},
                           headers={"If-Match": sent.headers["etag"]})  # fmt: skip

        assert ended.status_code == 200, ended.text
        assert best(there) == best(here) == ("669", False)


def test_a_joint_that_a_later_note_overrules_is_no_longer_built_on(tmp_path: Path) -> None:
    with opened_service(tmp_path, Settings()) as (app, _), TestClient(app, base_url="http://127.0.0.1") as here:
        here.post("/notes", json=note(DISC)).raise_for_status()
        joined = here.post("/notes", json=note(JOIN)).json()
        assert best(here) == ("594", True)
        refuted = JOIN.replace("shelf-on-flywheel", "shelf-off-flywheel").replace("lay:Fits", "lay:DoesNotFit")
        said = note(refuted.replace(" .\n", ' ; lay:reason "it drags" .\n'), settles=[joined["iri"]])

        sent = here.post("/notes", json=said)

        assert sent.status_code == 201, sent.text
        assert best(here) == ("669", False)
