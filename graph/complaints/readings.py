"""What a reading of a job says about the limit of its dimension, wherever readings are told."""

from __future__ import annotations

from graph.answer.words import millimetres
from graph.catalogue.model import Catalogue
from graph.catalogue.terms import ChainKind
from graph.complaints.enquiry import find_chain
from graph.errors import InvalidInput
from graph.fits.quantity import quantity_of

NM_PER_UM = 1000


def limits_words(what: str, reading: str, known: Catalogue) -> str:
    """Whether a reading lies within what is allowed; "" for what is no dimension with a limit, or no length.

    `what`: the dimension by its id or name, as somebody wrote it down.
    """
    chain = find_chain(what, known)
    if chain is None or (chain.low_um is None and chain.high_um is None):
        return ""
    try:
        um = round(quantity_of(reading, path="reading").nm / NM_PER_UM)
    except InvalidInput:
        return ""
    low, high = chain.low_um, chain.high_um
    outside = (low is not None and um < low) or (high is not None and um > high)
    return f"{'OUTSIDE what is allowed' if outside else 'within what is allowed'}, {_allowed(chain)}"


def _allowed(chain: ChainKind) -> str:
    low, high = chain.low_um, chain.high_um
    if low is None:
        return f"up to {millimetres(high or 0)}"
    return f"from {millimetres(low)}" if high is None else f"{millimetres(low)} to {millimetres(high)}"
