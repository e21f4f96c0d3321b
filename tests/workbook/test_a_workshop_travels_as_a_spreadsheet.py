"""The workshop out as a workbook and in again: nothing is lost, ids are made from names, a batch goes as it came."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass, replace
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from graph.catalogue.model import Catalogue
from graph.cli.question import DEMO_FACTS, facts_of
from graph.cli.workshop import NewWorkshop, start_workshop
from graph.costing.notes import PRICE, CostNote, Provenance
from graph.costing.price_import import price_body
from graph.costing.prices import Price
from graph.costing.shop import list_prices, list_rates, list_stock, list_sublets, rate_note, stock_note, sublet_note
from graph.counter.opened import opened_shop
from graph.errors import Conflict
from graph.ledger.book import Drafts, DraftVerdict
from graph.ledger.lines import Retry
from graph.reading.question import Question
from graph.workbook.batches import list_batches, preview, take_back, take_in
from graph.workbook.export import workshop_file
from tests.workbook.books import SMALL, WORDS, empty_workshop, filled, saved, sent

pytestmark = pytest.mark.takes_turns(2)  # costly: half of them each day, all when asked for by name

PROVENANCE = ("note", "evidence")  # what is not said by a fact itself is said by the note that brings it


def facts_in(catalogue: Catalogue, *but: str) -> dict[str, Any]:
    """All tables, without the notes that the things came with."""
    found = {}
    for table in (one.name for one in fields(catalogue) if one.name != "notes"):
        value = getattr(catalogue, table)
        if hasattr(value, "items"):
            value = {
                name: replace(one, **{each: "" for each in but if hasattr(one, each)}) for name, one in value.items()
            }
        found[table] = value
    return found


def test_a_workbook_filled_in_by_hand_becomes_facts_and_goes_as_it_came(tmp_path: Path) -> None:
    with empty_workshop(tmp_path) as opened:
        book = saved(filled(SMALL))

        shown = preview(opened.notebook, sent(book))
        batch, _ = take_in(opened.notebook, sent(book))
        known = opened.notebook.catalogue()

        assert shown.problems == () and shown.counts["Parts"] == {"new": 4}
        assert batch is not None and batch.lines == 14
        assert known.parts["linnet-4"].made_for == ("clutch-and-propshaft",)
        plate = known.parts["wren-plate-12-mm"]
        assert (plate.cash_hundredths, plate.days, plate.tasks) == (18050, 4, ("gearbox-out-and-in",))
        assert plate.conditions[0].text == "up to 240 Nm" and plate.to_confirm == ("a bar | in a text", "dowels")
        machined = next(edge for edge in known.edges.values() if edge.kind == "requires-machining")
        assert machined.operations == ("bore the register", "drill six holes")
        assert known.notes[machined.note].evidence == "calculated"
        assert known.bolt_faces["face-wren"].holes[0].thread == "M10x1.5"

        again = preview(opened.notebook, sent(book))
        assert again.changes == 0

        take_back(opened.notebook, batch.id, WORDS)
        assert opened.notebook.catalogue().parts == {} and list_batches(opened.notebook)[0].taken_back
        with pytest.raises(Conflict, match="taken back already"):
            take_back(opened.notebook, batch.id, WORDS)


def test_out_of_one_workshop_and_into_an_empty_one_says_the_same(tmp_path: Path) -> None:
    own = {"Parts": [*SMALL["Parts"], {"name": "Painted lid", "kind": "gearbox case", "own: paint code": "R 12"}]}
    with empty_workshop(tmp_path / "one") as one, empty_workshop(tmp_path / "two") as two:
        take_in(one.notebook, sent(saved(filled({**SMALL, **own}))))
        made = workshop_file(one.notebook, whole=False)

        take_in(two.notebook, sent(made.data))

        assert made.left_out == ()
        here, there = one.notebook.catalogue(), two.notebook.catalogue()
        ours, theirs = (facts_in(known, "note", "id") for known in (here, there))
        assert sorted(map(repr, ours.pop("edges").values())) == sorted(map(repr, theirs.pop("edges").values()))
        readings = [sorted(map(repr, table.pop("measurements").values())) for table in (ours, theirs)]
        assert readings[0] == readings[1] and ours == theirs
        words = {(n.text, n.author, n.evidence) for n in here.notes.values()}
        assert words == {(n.text, n.author, n.evidence) for n in there.notes.values()}
        lid = next(e for e in two.notebook.ledger.iter_current() if "Painted lid" in e.statements)
        assert '<https://shop.example/paint-code> "R 12"' in lid.statements


def test_a_changed_cell_revises_its_note_and_taken_back_it_says_what_it_said(tmp_path: Path) -> None:
    with empty_workshop(tmp_path) as opened:
        take_in(opened.notebook, sent(saved(filled(SMALL))))
        change = {"Parts": [{"name": "Wren plate, 12 mm", "kind": "adapter plate", "cash": 199, "task": "(none)"}]}
        book = saved(filled(change))

        shown = preview(opened.notebook, sent(book, author="counter"))
        batch, _ = take_in(opened.notebook, sent(book, author="counter"), retry=Retry("key", ""))
        sent_again, _ = take_in(opened.notebook, sent(book, author="counter"), retry=Retry("key", ""))
        changed = opened.notebook.catalogue().parts["wren-plate-12-mm"]

        assert [(fate.fate, fate.what) for fate in shown.fates] == [("changed", "cash, task")]
        assert (changed.cash_hundredths, changed.tasks, changed.days) == (19900, (), 4)
        assert batch is not None and batch.lines == 1 and sent_again == batch
        take_back(opened.notebook, batch.id, WORDS)
        back = opened.notebook.catalogue().parts["wren-plate-12-mm"]
        assert (back.cash_hundredths, back.tasks) == (18050, ("gearbox-out-and-in",))


def test_whoever_was_overtaken_is_told_which_row_and_nothing_is_written(tmp_path: Path) -> None:
    with empty_workshop(tmp_path) as opened:
        ledger = opened.notebook.ledger
        take_in(opened.notebook, sent(saved(filled(SMALL))))
        book = saved(filled({"Parts": [{"name": "Linnet case", "cash": 75}]}))
        note = next(e for e in ledger.iter_current() if '"Linnet case"' in e.statements)
        judge = ledger.check
        assert judge is not None

        def overtaken(added: Drafts, removed: Sequence[str]) -> DraftVerdict | None:
            ledger.check = judge
            ledger.revise(note.note_id, 1, replace(WORDS, text="another word", statements=note.statements))
            return judge(added, removed)

        ledger.check = overtaken
        position = ledger.head().position
        with pytest.raises(Conflict, match="sheet 'Parts' row 2 was changed by somebody else meanwhile"):
            take_in(opened.notebook, sent(book))
        assert ledger.head().position == position + 1


def test_what_rests_on_a_batch_keeps_it_from_being_taken_back(tmp_path: Path) -> None:
    with empty_workshop(tmp_path) as opened:
        batch, _ = take_in(opened.notebook, sent(saved(filled(SMALL))))
        later = {"Lengths": [{"part": "Linnet case", "dimension": "pilot overlap", "shift (mm)": -3}]}
        second, _ = take_in(opened.notebook, sent(saved(filled(later))))
        assert batch is not None and second is not None

        with pytest.raises(Exception, match="linnet-case"):
            take_back(opened.notebook, batch.id, WORDS)
        take_back(opened.notebook, second.id, WORDS)
        assert take_back(opened.notebook, batch.id, WORDS).taken_back


def test_prices_rates_shelf_and_work_sent_out_travel_and_go_with_their_batch(tmp_path: Path) -> None:
    def record(opened: Any) -> list[Any]:
        notes = opened.shop.notes
        prices = [replace(price, batch="") for price in list_prices(notes)]
        return [prices, list_rates(notes), list_stock(notes), list_sublets(notes)]

    with empty_workshop(tmp_path / "one") as one, empty_workshop(tmp_path / "two") as two:
        take_in(one.notebook, sent(saved(filled(SMALL))))
        by = Provenance("counter")
        price = Price(part="linnet-case", cash_hundredths=7550, currency="EUR", condition="new",
                      dated=date(2026, 5, 17), supplier="counter", lead_days=Fraction(5, 2))  # fmt: skip
        shelf = {"quantity": "2", "book": "40.00", "currency": "EUR", "condition": "used-tested", "place": "rack 3"}
        one.shop.notes.append([
            CostNote(id="p", kind=PRICE, about=price.part, body=price_body(price), made_on=by.when, batch="p"),
            rate_note("bench", {"per_hour": "61.50", "currency": "EUR"}, by), stock_note("wren-block", shelf, by),
            sublet_note("machine-shop-visit", {"label": "Grinding", "cash": "45", "currency": "EUR", "lead_days": "2",
                                  "wanted": "Ra 0.8"}, by),
        ])  # fmt: skip
        made = workshop_file(one.notebook, whole=False)

        batch, _ = take_in(two.notebook, sent(made.data))
        again = preview(two.notebook, sent(made.data))

        assert record(two) == record(one) and len(list_prices(two.shop.notes)) == 1
        assert again.changes == 0 and again.counts["Price list"] == {"as it stands": 1}
        assert batch is not None
        take_back(two.notebook, batch.id, WORDS)
        assert record(two) == [[], [], [], []] and two.notebook.catalogue().parts == {}


def test_what_the_workshop_is_called_and_reckons_with_stands_on_its_sheet(tmp_path: Path) -> None:
    home = start_workshop(tmp_path, NewWorkshop("Rushy Lane", "EUR", "61.50", "7.5", "19"))
    with opened_shop(home, facts_of(home)) as opened:
        book = load_workbook(io.BytesIO(workshop_file(opened.notebook, whole=False).data))

        assert [cell.value for cell in book["Workshop"][2]][:4] == ["Rushy Lane", "EUR", 61.5, 7.5]
        assert book["Tax"]["A2"].value == 19
        assert preview(opened.notebook, sent(saved(book))).changes == 0


@pytest.mark.slow
def test_the_demo_taken_into_an_empty_workshop_answers_alike_to_the_cent(tmp_path: Path) -> None:
    """Every gearbox with every engine of the demo, in the pick-up: the whole answer but for who says so."""
    with opened_shop(tmp_path / "demo", DEMO_FACTS) as demo, empty_workshop(tmp_path / "own") as own:
        made = workshop_file(demo.notebook, whole=True)
        take_in(own.notebook, sent(made.data))
        own.shop.follow()

        assert made.left_out == ()
        ours, theirs = (facts_in(one.shop.index.catalogue, *PROVENANCE) for one in (own, demo))
        assert (ours.pop("workshop"), theirs.pop("workshop")) == ("Ours", "Brookend Works (invented)")  # each its own
        assert ours == theirs
        units = {what: sorted(demo.shop.index.units(what)) for what in ("gearbox", "engine")}
        parts = demo.shop.index.catalogue.parts
        asked = 0
        for gearbox in units["gearbox"]:
            for engine in units["engine"]:
                if not parts[gearbox].abstract and not parts[engine].abstract:
                    context = {"torque_nm": "180", "duty": "road"}
                    question = Question(gearbox=gearbox, engine=engine, vehicle="sorrel-pick-up", context=context)
                    here, there = own.shop.ask(question), demo.shop.ask(question)
                    assert plain(here) == plain(there), question
                    asked += 1
        assert asked >= 40


def plain(answer: Any) -> str:
    """What the reader sees, without the words of notes and how a fact is known."""
    return "\n".join(_lines(answer, ""))


def _lines(value: Any, path: str) -> Iterator[str]:
    if is_dataclass(value):
        for one in fields(value):
            if "evidence" not in one.name and one.name not in ("note", "notes", "ground"):
                yield from _lines(getattr(value, one.name), f"{path}.{one.name}")
    elif isinstance(value, (tuple, list)):
        for number, item in enumerate(value):
            yield from _lines(item, f"{path}[{number}]")
    else:
        yield f"{path} = {value!r}"


def test_what_was_kept_of_things_that_nobody_knows_is_told_and_not_written_out(tmp_path: Path) -> None:
    """Kept before names were looked up: the workbook would be refused where it is taken in."""
    by = Provenance("counter")
    with empty_workshop(tmp_path / "one") as one:
        take_in(one.notebook, sent(saved(filled(SMALL))))
        one.shop.notes.append([sublet_note("grind", {"label": "Grinding", "cash": "45", "currency": "EUR"}, by)])

        made = workshop_file(one.notebook, whole=False)

        assert any("Work sent out: no task" in line for line in made.left_out), made.left_out
        assert preview(one.notebook, sent(made.data)).problems == ()
