"""What notes make of the facts is kept from one start to the next: equal to reading them all, and never stale."""

from __future__ import annotations

import random
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from graph.catalogue.load import load_catalogue
from graph.catalogue.model import Catalogue
from graph.ledger import kept
from graph.ledger.facts import StandingFacts, standing_notes
from graph.ledger.identity import new_id
from graph.ledger.notebook import Notebook, open_notebook
from tests.ledger.test_following_equals_reading_all import ACTION, BASE, LEVELS, PREFIXES, SAID, attempt, draft

OWN = (
    PREFIXES
    + """shop:ours a lay:Shop ; rdfs:label "ours" ; lay:currency "EUR" ; lay:rate 60.00 .
shop:plate a lay:Part ; rdfs:label "plate" ; lay:kind kind:adapter-plate ; lay:cash 80.00 .
"""
)


SEARCH = (Phase.explicit, Phase.reuse, Phase.generate)  # a case of many steps is not worth minutes of shrinking


@contextmanager
def opened(folder: Path) -> Iterator[Notebook]:
    notebook = open_notebook(folder, facts=sorted(folder.glob("shop.ttl")))
    try:
        yield notebook
    finally:
        notebook.close()


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """One entry for every time that all notes are read."""
    found: list[int] = []
    whole = StandingFacts.whole

    def counted(facts: StandingFacts, stated: object) -> Catalogue:
        found.append(1)
        return whole(facts, stated)  # type: ignore[arg-type]

    monkeypatch.setattr(StandingFacts, "whole", counted)
    return found


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A shop with a fact of its own and notes, stopped."""
    (tmp_path / "shop.ttl").write_text(OWN)
    with opened(tmp_path) as notebook:
        add(notebook, SAID[0], SAID[5], SAID[9])
        notebook.catalogue()
    return tmp_path


def add(notebook: Notebook, *said: str) -> None:
    for one in said:
        key = new_id()
        notebook.ledger.append(draft([one], LEVELS[0], key), note_id=key)


def read_anew(notebook: Notebook) -> Catalogue:
    stated = [note.stated for note in standing_notes(notebook.ledger, notebook.hidden())]
    return load_catalogue(notebook.facts, shop_base=BASE, stated=stated)


def test_a_restart_reads_no_note_again(folder: Path, reads: list[int]) -> None:
    with opened(folder) as notebook:
        assert notebook.catalogue() == read_anew(notebook)

    assert reads == []


def test_a_restart_reads_what_came_since(folder: Path, reads: list[int]) -> None:
    with opened(folder) as notebook:
        add(notebook, SAID[12])
        notebook._followed.catalogue = None  # as if it were killed now: nothing newer is kept

    with opened(folder) as notebook:
        assert notebook.catalogue() == read_anew(notebook)
        assert "s1" in notebook.catalogue().edges

    assert reads == []


@settings(max_examples=5, deadline=None, phases=SEARCH, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.one_of(ACTION, st.none()), min_size=5, max_size=14))
def test_with_restarts_anywhere_the_catalogue_is_that_of_reading_everything(
    actions: list[tuple[str, int, list[str], str] | None],
) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for actions_until_restart in _parted(actions):
            with opened(folder) as notebook:
                for action in actions_until_restart:
                    attempt(notebook, action)
                    notebook.catalogue()
                if not notebook.catalogue_fault:
                    assert notebook.catalogue() == read_anew(notebook)


def _parted(actions: list[tuple[str, int, list[str], str] | None]) -> list[list[tuple[str, int, list[str], str]]]:
    parts: list[list[tuple[str, int, list[str], str]]] = [[]]
    for action in actions:
        if action is None:
            parts.append([])
        else:
            parts[-1].append(action)
    return [*parts, []]


def test_changed_facts_are_read(folder: Path, reads: list[int]) -> None:
    (folder / "shop.ttl").write_text(OWN.replace("80.00", "81.00"))

    with opened(folder) as notebook:
        assert notebook.catalogue().parts["plate"].cash_hundredths == 81_00

    assert reads


def test_another_program_reads_anew(folder: Path, reads: list[int], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "_program", lambda: "of another release")

    with opened(folder) as notebook:
        assert "disc" in notebook.catalogue().parts

    assert reads


def test_another_ledger_in_the_same_folder_is_read(folder: Path, tmp_path: Path, reads: list[int]) -> None:
    for file in folder.glob("ledger.db*"):
        file.unlink()

    with opened(folder) as notebook:
        assert set(notebook.catalogue().parts) == {"plate"}


def test_a_file_with_any_bit_turned_is_never_believed(folder: Path, reads: list[int]) -> None:
    (file,) = folder.rglob("notes-as-facts")
    whole, chance = file.read_bytes(), random.Random(7)
    with opened(folder) as notebook:
        expected = notebook.catalogue()
    for _ in range(12):
        place = chance.randrange(len(whole))
        file.write_bytes(whole[:place] + bytes([whole[place] ^ 1 << chance.randrange(8)]) + whole[place + 1 :])

        with opened(folder) as notebook:
            assert notebook.catalogue() == expected

    assert len(reads) == 12


def test_it_is_kept_while_the_service_runs_as_well(
    folder: Path, reads: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("graph.ledger.following.KEEP_EVERY", 1)
    with opened(folder) as notebook:
        add(notebook, SAID[12])
        notebook.catalogue()
        shutil.copytree(folder, folder.parent / "after-a-kill")

    with opened(folder.parent / "after-a-kill") as notebook:
        assert "s1" in notebook.catalogue().edges
        assert notebook._followed._kept_at == notebook.ledger.head().position
