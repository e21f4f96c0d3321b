"""Four writers on two services over one ledger: what was acknowledged is readable, and in force or named as left out.

The larger run: LAYSHAFT_RACES=N examples a database.
"""

from __future__ import annotations

import os
import shutil
import tempfile
import threading
from collections.abc import Callable, Sequence
from pathlib import Path

import pyoxigraph as ox
import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from graph.costing.notes import CostNote
from graph.costing.store import SqlNotes
from graph.errors import Conflict, InvalidFacts, NotFound
from graph.ledger.foreign import read_statements
from graph.ledger.identity import new_id, note_iri
from graph.ledger.imports import ImportedAs, import_source
from graph.ledger.notebook import Notebook, open_notebook
from graph.ledger.record import Draft
from tests.ledger.postgres import Postgres
from tests.ledger.test_following_equals_reading_all import BASE, PREFIXES, SAID

EXAMPLES = int(os.environ.get("LAYSHAFT_RACES", "1"))
WRITERS = 4
WORDS = Draft(text="said", author="bench", evidence="measured-on-these-parts")
SOME = st.lists(st.sampled_from(SAID[:-1]), min_size=1, max_size=2, unique=True)
ACTION = st.tuples(
    st.sampled_from(("add", "add", "revise", "retract", "import", "cost")), st.integers(0, 7), SOME, st.booleans()
)


def draft(said: Sequence[str], note_id: str) -> Draft:
    text = read_statements(PREFIXES + "\n".join(said), ox.RdfFormat.TURTLE, BASE, note_iri(BASE, note_id))
    return Draft(text="said", statements=text, author="bench", evidence="measured-on-these-parts")


class Races(RuleBasedStateMachine):
    """What each acknowledged note last said; None once it was taken back."""

    url: Callable[[Path], str]

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="layshaft-races-"))
        self.address = type(self).url(self.folder)
        self.services = [self.opened(0), self.opened(1)]
        self.acknowledged: dict[str, tuple[int, str | None]] = {}
        self.costs: set[str] = set()
        self.lock = threading.Lock()

    def opened(self, number: int) -> Notebook:
        return open_notebook(self.folder / str(number), self.address)

    @rule(actions=st.lists(ACTION, min_size=WRITERS, max_size=WRITERS))
    def four_write_at_once(self, actions: list[tuple[str, int, list[str], bool]]) -> None:
        failures: list[BaseException] = []

        def write(action: tuple[str, int, list[str], bool]) -> None:
            try:
                self.attempt(*action)
            except (InvalidFacts, Conflict, NotFound):
                pass  # refused: nothing was acknowledged
            except BaseException as error:
                failures.append(error)

        threads = [threading.Thread(target=write, args=(each,)) for each in actions]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert failures == []

    def attempt(self, what: str, number: int, said: list[str], there: bool) -> None:
        ledger = self.services[there].ledger
        known = sorted(self.acknowledged)
        if what == "cost":
            note = CostNote(id=new_id(), kind="remark", about="disc", body={"words": "said"}, author="bench")
            SqlNotes(ledger).append([note])
            self.costs.add(note.id)
        elif what == "import":
            import_source(ledger, "a.ttl", (PREFIXES + "\n".join(said)).encode(), ImportedAs(WORDS))
        elif what == "add" or not known:
            note_id = new_id()
            self.keep(note_id, 1, ledger.append(draft(said, note_id), note_id=note_id).statements)
        else:
            note_id = known[number % len(known)]
            revision = ledger.get_note(note_id).revision
            if what == "revise":
                self.keep(note_id, revision + 1, ledger.revise(note_id, revision, draft(said, note_id)).statements)
            else:
                ledger.retract(note_id, revision, Draft(text="mistaken"))
                self.keep(note_id, revision + 1, None)

    def keep(self, note_id: str, revision: int, said: str | None) -> None:
        """The acknowledgement of a later revision may overtake that of an earlier one."""
        with self.lock:
            if self.acknowledged.get(note_id, (0, ""))[0] < revision:
                self.acknowledged[note_id] = revision, said

    @rule(number=st.integers(0, 1))
    def one_starts_again(self, number: int) -> None:
        self.services[number].close()
        self.services[number] = self.opened(number)

    @invariant()
    def every_acknowledged_note_is_readable_and_in_force_or_named(self) -> None:
        out = []
        for service in self.services:
            known = service.catalogue()
            assert service.catalogue_fault == ""
            out.append({one.note for one in service.left_out})
            assert all(one.reason for one in service.left_out)
            for note_id, (revision, said) in self.acknowledged.items():
                read = service.ledger.get_note(note_id)
                assert (read.revision, None if read.retracted else read.statements) == (revision, said)
                assert (f"notes/{note_id}" in known.notes) == (said is not None and note_id not in out[-1])
            assert self.costs <= {note.id for note in SqlNotes(service.ledger).list_notes()}
        assert out[0] == out[1]

    def teardown(self) -> None:
        for service in self.services:
            service.close()
        shutil.rmtree(self.folder)


def test_four_writers_on_two_services_lose_no_note(any_url: str, request: pytest.FixtureRequest) -> None:
    if any_url.startswith("sqlite"):
        Races.url = staticmethod(lambda folder: f"sqlite:///{folder / 'ledger.db'}")
    else:
        server: Postgres = request.getfixturevalue("postgres")
        Races.url = staticmethod(lambda folder: server.new_url())
    run_state_machine_as_test(
        Races,
        settings=settings(
            max_examples=EXAMPLES, stateful_step_count=6, deadline=None, suppress_health_check=list(HealthCheck),
            phases=[Phase.generate], database=None,
        ),
    )  # fmt: skip
