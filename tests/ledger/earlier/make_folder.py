"""Writes `folder.tar.xz`: a data folder as the service wrote it before notes of cost were lines of the ledger.

To be run with the code of that time, not with today's (today's test of it is in tests/ledger/test_earlier_folders.py):

    git worktree add ../before ace2bf9
    cd ../before && python OUR/tests/ledger/earlier/make_folder.py OUR/tests/ledger/earlier

In the folder: facts (a copy of the demo's, so that later changes of those change no answer here), `ledger.db` with
notes, a revision, a retraction, a settled dispute, an attachment, a token, a key that was sent twice, price lists,
shelf, rates, sublet work, and jobs that were closed, looked back on, taken back and left open; `costs.db`, a record of
cost in a file of its own; and `answers.json`, what the service said of all that. The scenario is invented.
"""

from __future__ import annotations

import json
import shutil
import sys
import tarfile
import tempfile
from pathlib import Path
from typing import Any

from fastapi.testclient import TestClient

from api.service import opened_service
from api.settings import Settings
from graph.costing.notes import Provenance
from graph.costing.shop import rate_note, stock_note
from graph.costing.store import SqlNotes
from graph.ledger.database import open_database, sqlite_url
from graph.ledger.record import Draft  # noqa: F401 (fails early where the code is not that of the time)

QUESTION = {"gearbox": "hollin-5", "engine": "ouzel-20", "vehicle": "sorrel-pick-up",
            "context": {"torque_nm": "180", "duty": "road"}}  # fmt: skip
PREFIXES = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
"""
PICTURE = b"\x89PNG\r\n\x1a\n" + b"a drawing of the bush, invented" * 8
READ = (
    "/notes?limit=1000", "/disputes", "/prices", "/prices.csv", "/shop", "/jobs", "/jobs/J-1", "/jobs/J-2", "/jobs/J-3",
    "/odds",
)  # fmt: skip


class Shop:
    """The service of the time, asked over HTTP."""

    def __init__(self, client: TestClient):
        self.client = client

    def post(self, path: str, /, headers: dict[str, str] | None = None, **body: Any) -> dict[str, Any]:
        """POST with a JSON body; what was answered."""
        return self._checked(self.client.post(path, json=body, headers=headers or {}))

    def put(self, path: str, /, revision: int, **body: Any) -> dict[str, Any]:
        """A revision."""
        return self._checked(self.client.put(path, json=body, headers={"If-Match": f'"{revision}"'}))

    def note(self, text: str, turtle: str = "", **words: Any) -> dict[str, Any]:
        """A note, with statements where there are any."""
        said = {"text": text, "author": "bench", "evidence": "measured-on-these-parts", **words}
        return self.post("/notes", None, **said, **({"statements": PREFIXES + turtle} if turtle else {}))

    def prices(self, rows: str) -> str:
        """A price list; its batch."""
        head = "part,price,currency,condition,date,supplier\n"
        files = {"file": ("list.csv", (head + rows).encode(), "text/csv")}
        return str(self._checked(self.client.post("/prices/import", files=files))["batch"])

    def take_back(self, batch: str) -> None:
        """A batch of cost, taken back."""
        self.post(f"/batches/{batch}/retraction", reason="entered by mistake")

    @staticmethod
    def _checked(answer: Any) -> dict[str, Any]:
        assert answer.status_code in (200, 201), answer.text
        found: dict[str, Any] = answer.json()
        return found


def write_notes(shop: Shop) -> None:
    """Notes of every sort."""
    kept = shop.client.post("/attachments?name=bush.png", content=PICTURE, headers={"content-type": "image/png"}).json()
    shop.note("The crank bore is 16.05 mm.", document=kept["iri"], shareable=True)
    disc = 'shop:disc-bought a lay:Part ; rdfs:label "disc bought in" ; lay:kind kind:clutch-disc .'
    first = shop.note("Bought a disc.", disc, method="by the label")
    shop.put(f"/notes/{first['id']}", 1, text="Bought a disc, second hand.", author="bench", evidence="hearsay",
             statements=PREFIXES + disc)  # fmt: skip
    mistaken = shop.note("The plate is 12 mm.")
    shop.post(f"/notes/{mistaken['id']}/retraction", {"If-Match": '"1"'}, text="It was another plate.", author="bench")
    edge = "lay:source shop:disc-bought ; lay:target shop:shaft-hollin-short ; lay:joint kind:clutch-spline"
    fits = shop.note("It slides.", f"shop:bought-fits a lay:Fits ; {edge} .")
    shop.note("It does not.", f'shop:bought-does-not a lay:DoesNotFit ; {edge} ; lay:reason "loose" .')
    shop.note("Tried again: loose.", settles=[fits["iri"]])
    for _ in range(2):
        shop.post("/notes", {"Idempotency-Key": "sent-twice"}, text="Sent twice.", author="bench", evidence="hearsay")
    shop.post("/tokens", name="bench tablet", role="note")


def write_costs(shop: Shop) -> None:
    """Prices, shelf, rates and jobs, some of it taken back."""
    parts = [line for line in shop.post("/routes", None, **QUESTION)["routes"][0]["parts"] if line["price"]]
    rows = "".join(f"{line['part']},{line['price'] + 3},GBP,new,2026-05-01,main supplier\n" for line in parts)
    shop.prices(rows)
    shop.take_back(shop.prices(rows.replace(",new,", ",reconditioned,").replace("main", "other")))
    shop.post("/shop/rates", kind="bench", per_hour="70", currency="GBP")
    shop.take_back(shop.post("/shop/rates", kind="bench", per_hour="90", currency="GBP")["batch"])
    shop.post("/shop/sublets", id="crank-balance", label="Crank balanced", cash="80", currency="GBP", lead_days="5")
    shop.post("/shop/stock", part=parts[0]["part"], quantity=2, book="5", currency="GBP", place="rack 2")
    for number in ("J-1", "J-2", "J-3"):
        job = shop.post("/jobs", question=QUESTION, title=f"pick-up {number}", number=number)
        write_job(shop, job)
    shop.post("/jobs/J-1/closing", outcome="done")
    shop.post("/jobs/J-1/follow-ups", months=7, good=True, words="quiet")
    shop.take_back(shop.post("/jobs/J-2/closing", outcome="done")["closing"])


def write_job(shop: Shop, job: dict[str, Any]) -> None:
    """Hours, a finding, a measurement, what was built and a remark."""
    path = f"/jobs/{job['id']}"
    step = next(step for step in job["steps"] if step["planned"])
    shop.post(f"{path}/hours", step=step["number"], hours=str(step["planned"] + 0.5))
    if job["faults"]:
        shop.post(f"{path}/findings", fault=job["faults"][0], laid_open=True, worn=True)
    shop.post(f"{path}/measurements", what="crank bore", reading="16.05 mm", tool="bore gauge")
    shop.post(f"{path}/as-built", position="pilot", part="bush turned here", condition="new")
    shop.post(f"{path}/remarks", words="The bell housing has been repaired before: größer als gedacht.")


def what_it_says(shop: Shop) -> dict[str, Any]:
    """Every list, and the answer to one question."""
    said: dict[str, Any] = {}
    for path in READ:
        answer = shop.client.get(path)
        assert answer.status_code == 200, answer.text
        said[path] = answer.text if path.endswith(".csv") else answer.json()
    said["/routes"] = shop.post("/routes", None, **QUESTION)
    said["/routes/cost"] = shop.post("/routes/cost", question=QUESTION)
    said["verification"] = shop.client.get("/ledger/verification").json()
    return said


def main() -> None:
    """`make_folder.py INTO`."""
    facts = Path(sys.modules["api.service"].__file__ or "").parents[1] / "facts" / "demo"
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "folder"
        shutil.copytree(facts, folder / "facts")
        with (
            opened_service(folder, Settings()) as (app, _),
            TestClient(app, base_url="http://127.0.0.1") as client,
        ):
            shop = Shop(client)
            write_notes(shop)
            write_costs(shop)
            said = what_it_says(shop)
        (folder / "answers.json").write_text(json.dumps(said, indent=1, ensure_ascii=False))
        own = SqlNotes.on_file(folder / "costs.db")
        when = Provenance("counter", made_on="2026-01-02T10:00:00+00:00")
        own.append([rate_note("bench", {"per_hour": "58", "currency": "GBP"}, when)])
        own.append([stock_note("disc-28", {"quantity": "3", "book": "4", "currency": "GBP"}, when)])
        own.close()
        open_database(sqlite_url(folder / "ledger.db")).dispose()  # folds the write-ahead file in
        for left in (*folder.glob("*.lock"), folder / "views"):
            shutil.rmtree(left) if left.is_dir() else left.unlink()
        assert not list(folder.glob("*-wal"))
        with tarfile.open(Path(sys.argv[1]) / "folder.tar.xz", "w:xz", preset=9) as packed:
            packed.add(folder, ".")


if __name__ == "__main__":
    main()
