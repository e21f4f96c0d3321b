"""From words to a question: numbers first, then names under what says no, have or must, then what is left over.

Nothing is guessed in silence: every word ends in a chip, a doubt with choices, the words not understood, or the fixed
list of words that are passed over (`graph.spoken.phrases`). No I/O.
"""

from __future__ import annotations

from datetime import date

from graph.lookups.index import CatalogueIndex
from graph.spoken.amounts import find_amounts
from graph.spoken.found import FoundInWords
from graph.spoken.job_words import take_duties, take_job
from graph.spoken.meant import Circumstances
from graph.spoken.model import InWords
from graph.spoken.names import Names
from graph.spoken.pieces import Heard, pieces_of
from graph.spoken.sayings import find_said
from graph.spoken.settle import settle


def understand(index: CatalogueIndex, text: str, today: date) -> InWords:
    """What the words ask. `today`: dates and weekdays are counted from it. Raises InvalidInput for a text too long."""
    names = Names(index)
    clean, pieces = pieces_of(text, names.knows)
    heard = Heard(clean, pieces)
    known = index.catalogue
    found = FoundInWords(heard, names)
    take_job(found)
    for first, stop, meant in find_amounts(heard, Circumstances(known.currency, known.day_hours, today), names.knows):
        found.add_meant(first, stop, meant)
    settle(found, find_said(found))
    take_duties(found)
    return found.in_words()
