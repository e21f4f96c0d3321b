"""GET /ask/in-words: a question in one's own words, shown as what was understood, to correct before it is asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from fastapi import Query, Request, Response
from fastapi.responses import RedirectResponse

from api.pages.asked import KNOWN, address
from api.pages.base import page, page_router
from api.pages.choices import Option, is_many, unit_options
from api.pages.question_view import label_of
from api.roles import needs
from api.workshop import workshop_of
from graph.lookups.index import CatalogueIndex
from graph.spoken import InWords, SpokenWord, understand
from graph.spoken.model import CONTEXT, LISTS
from graph.spoken.pieces import LONGEST_TEXT

router = page_router()
MOST_WORDS = 10_000  # characters that the address may hold; a longer text than can be read is told so on the page
WORDS_EXAMPLE = "tansy five speed behind a pipit, no plate, 180 Nm, under 900"


@dataclass(frozen=True, slots=True)
class WordChoice:
    """A box to tick: its `name` and `value` in the address, its `label`; the `words` it is from."""

    name: str
    value: str
    label: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class WordDoubt:
    """Something to choose: what is `asked` about which `words`, and the `choices`; `one`: at most one holds."""

    asked: str
    words: str
    choices: tuple[WordChoice, ...]
    one: bool


@dataclass(frozen=True, slots=True)
class LackingUnit:
    """A unit that was not named: its `name` in the address, its `label`, what can be chosen (`options`).

    `typed`: there are too many for a list.
    """

    name: str
    label: str
    options: tuple[Option, ...]
    typed: bool


@dataclass(frozen=True, slots=True)
class InWordsView:
    """What became of the words. `words`: as typed; `chips`: understood; `doubts`: to choose; `lacking`: to name.

    `not_understood`: each stretch with its reason; `passed_over`: words that say nothing of the question; `example`.
    `fault`: why nothing could be read. `where_to`: the address that lists what goes with the one unit named, and what
    that list holds.
    """

    words: str
    chips: tuple[WordChoice, ...]
    doubts: tuple[WordDoubt, ...]
    lacking: tuple[LackingUnit, ...]
    not_understood: tuple[SpokenWord, ...]
    passed_over: str
    example: str
    fault: str = ""
    where_to: tuple[str, str] = ("", "")


@needs("read")
@router.get("/ask/in-words")
def in_words(request: Request, words: Annotated[str, Query(max_length=MOST_WORDS)] = "") -> Response:
    """What was understood, to correct; nothing is searched for before it is sent on."""
    if not words.strip():
        return RedirectResponse("/ask", status_code=303)
    index = workshop_of(request).index
    if len(words) > LONGEST_TEXT:
        fault = f"At most {LONGEST_TEXT:,} characters can be read at once; these are {len(words):,}."
        view = InWordsView(words[:LONGEST_TEXT], (), (), (), (), "", WORDS_EXAMPLE, fault)
        return page(request, "in_words.html", view, title="In your own words", status=422)
    view = words_view(index, understand(index, words, date.today()))
    return page(request, "in_words.html", view, title="In your own words")


def words_view(index: CatalogueIndex, found: InWords) -> InWordsView:
    """The page's view of what was understood."""
    doubted = {choice.field for doubt in found.doubts for choice in doubt.choices}
    return InWordsView(
        words=found.text,
        chips=tuple(WordChoice(_name(one.field), one.value, one.label, one.words) for one in found.chips),
        doubts=tuple(
            WordDoubt(
                doubt.asked,
                doubt.words,
                tuple(WordChoice(_name(one.field), one.value, one.label) for one in doubt.choices),
                len({one.field for one in doubt.choices}) == 1 and doubt.choices[0].field not in LISTS,
            )
            for doubt in found.doubts
        ),
        lacking=tuple(_lacking(index, what) for what in found.missing if what not in doubted),
        not_understood=found.left_over,
        passed_over=" ".join(one.word for one in found.passed_over),
        example=WORDS_EXAMPLE,
        where_to=_where_to(index, found),
    )


def _where_to(index: CatalogueIndex, found: InWords) -> tuple[str, str]:
    """Where just one of the two units is named, what is looked for may be the other."""
    if len(found.missing) != 1:
        return "", ""
    question, (what,) = found.question(), found.missing
    unit = question.engine if what == "gearbox" else question.gearbox
    told = "gearboxes go behind" if what == "gearbox" else "engines take"
    return address("/reach", question), f"Show which {told} {label_of(index, unit)}"


def _lacking(index: CatalogueIndex, what: str) -> LackingUnit:
    typed = is_many(index, what)
    label = "Gearbox" if what == "gearbox" else "Engine"
    return LackingUnit(what, label, () if typed else unit_options(index, what, ""), typed)


def _name(field: str) -> str:
    return KNOWN + field.removeprefix(CONTEXT) if field.startswith(CONTEXT) else field
