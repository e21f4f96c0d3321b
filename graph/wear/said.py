"""The list in words."""

from __future__ import annotations

from graph.answer.words import hours, listed, money, percent
from graph.wear.model import ALWAYS, LOOK, NOT_PRICED, RENEW, DeeperItem, RenewalWish, WearItem, WhileOut, WishSum


def words_of(item: WearItem, seen: bool, if_sound_too: bool, currency: str) -> str:
    """What to do with a part, and why. `seen`: a look tells; `if_sound_too`: renewing a sound one pays as well."""
    if item.decision == ALWAYS:
        return f"always renewed while it is out{_price_missing(item)}"
    if item.decision == LOOK:
        limit = f" ({item.limit})" if item.limit else ""
        return f"look while it is open: renew it if it is worn{limit}; leave a sound one{_price_missing(item)}"
    if item.decision == NOT_PRICED:
        return f"not known: {_listed(item)} not stated; renewing it unseen pays up to {_up_to(item, currency)}"
    now, leaving = money(item.now, currency), money(item.leaving, currency)
    if item.decision == RENEW:
        also = "renew it, a sound one too" if seen and if_sound_too else "renew it"
        return f"{also}: {now} now, leaving it is expected to cost {leaving}"
    return f"leave it: renewing costs {now}, leaving it is expected to cost {leaving}"


def _price_missing(item: WearItem) -> str:
    return f"; {_listed(item)} not stated" if item.lacks else ""


def _listed(item: WearItem) -> str:
    return listed(item.lacks)


def _up_to(item: WearItem, currency: str) -> str:
    return "any price" if item.pays_up_to is None else money(item.pays_up_to, currency)


def notes_of(wish: RenewalWish, rate_stated: bool, proven: bool) -> tuple[str, ...]:
    """What holds for the whole list."""
    notes = ["Odds are of used parts of unknown history, unless the shop's own count stands beside them."]
    if wish.warranty_months is None:
        notes.append("No warranty is stated: only what is worn today is weighed, not what wears out later.")
    else:
        share = "Wear within the warranty is taken as even over the year"
        notes.append(f"{share}; {wish.warranty_months} months.")
    if not rate_stated:
        notes.append("No bench rate is stated: hours are in no sum.")
    if not proven:
        notes.append("So many parts lie open that not every set of them was tried; the set shown may not be the best.")
    return tuple(notes)


def odds_words(item: WearItem) -> str:
    """How likely it is worn, now and within the warranty."""
    later = "" if item.within is None or item.within == item.odds else f", {percent(item.within)} within the warranty"
    return f"{percent(item.odds)} worn now{later}"


def amounts_words(item: WearItem, currency: str) -> str:
    """What renewing costs now, and later with all that comes off again; the odds at which that turns, taken alone."""
    least = "at least " if item.lacks else ""
    if item.lacks and not item.now:
        return "price not stated"
    later = f"{least}{money(item.later, currency)} later" if item.later or not item.lacks else "later not stated"
    said = f"{least}{money(item.now, currency)} now, {later}"
    return said if item.break_even is None else f"{said}; turns at {percent(item.break_even)}"


def sum_words(found: WishSum, currency: str) -> str:
    """A sum, with what is not in it."""
    if not found.lacks:
        return money(found.total, currency)
    return f"at least {money(found.total, currency)} (not stated: {listed(found.lacks)})"


def renewal_words(item: WearItem, ordered: bool) -> str:
    """A ticked part as a step of the work: what is renewed, and which one comes out; what it is renewed by stands at
    its order, if it has one."""
    of = f": {item.part}" if item.part else ""
    return f"Renew as ticked, {_renewed(item)}{of}{'' if ordered else _bought(item)}"


def order_words(item: WearItem, named: bool) -> str:
    """The same part as a step that buys it: the new one, if it is `named`, else the one that it takes the place of."""
    if named:
        return f"Order as ticked, {_renewed(item)}: {item.price_source}"
    of = f" for {item.part}" if item.part else " to suit"
    return f"Order as ticked, {_renewed(item)}{of}{_bought(item)}"


def _renewed(item: WearItem) -> str:
    return f"{item.renews[:1].lower()}{item.renews[1:]}"


def _bought(item: WearItem) -> str:
    if item.cash_hundredths is None:
        return "; price not stated"
    return f"; {item.price_source}" if item.price_source else ""


def ticked_words(found: WhileOut) -> str:
    """What is ticked, what that comes to, and the route with it; "" where nothing is."""
    ticked = [item.renews for item in found.items if item.ticked]
    if not ticked:
        return ""
    return f"{listed(ticked)}: {sum_words(found.wish, found.currency)}; with the route {with_route_words(found)}"


def advice_words(found: WhileOut) -> str:
    """What is always renewed and what pays come to, and what leaving the rest is expected to cost."""
    if not found.items:
        return "This route leaves nothing open that is known to wear."
    least = "at least " if any(item.lacks and item.decision != ALWAYS for item in found.items) else ""
    later = f"{least}{money(found.expected_later, found.currency)}"
    advised = sum_words(found.advised, found.currency)
    if least and not found.expected_later:
        return f"Always renewed, and what pays: {advised}; what leaving the rest costs later is not stated."
    return f"Always renewed, and what pays: {advised}; leaving the rest is expected to cost {later} later."


def spread_words(found: WhileOut) -> str:
    """What following the advice comes to on top of the route; "" where the outcomes are too many to follow."""
    spread = found.spread
    if spread is None or not found.items:
        return ""
    half, ninth, mean = (money(value, found.currency) for value in (spread.p50, spread.p90, spread.expected))
    if any(item.lacks for item in found.items):
        if not spread.expected:
            return "What following this adds to the route is not stated: nothing of it has a price."
        return (
            f"Following this adds to the route at least {mean} on average: what has a price, and stated labour."
            " What nine such jobs in ten stay below cannot be said: not all of it has a price."
        )
    shares = f"half of such jobs at most {half}, nine in ten at most {ninth}"
    return f"Following this adds to the route: {mean} on average, {shares}."


def deeper_words(item: DeeperItem, currency: str) -> str:
    """What this route would have to open as well."""
    more = f"{hours(item.hours_hundredths)}, {money(item.cost, currency)}"
    return f"{item.label} ({percent(item.odds)}): opens also {listed(item.opens)}, {more}"


def list_in_words(found: WhileOut) -> str:
    """The whole list as text."""
    lines = [f"While it is out: {found.summary}", ""]
    for state in found.states:
        lines.append(f"{state.label} (once more: {money(state.again, found.currency)}):")
        for item in state.items:
            mark = "x" if item.ticked else " "
            lines.append(f"  [{mark}] {item.label}{f', {item.part}' if item.part else ''}: {odds_words(item)}")
            lines.append(f"      {item.words}")
            lines.append(f"      {amounts_words(item, found.currency)} [{item.id}]")
    lines += ["", advice_words(found), spread_words(found)]
    if found.spread is not None and found.spread.tied:
        lines.append(found.spread.tied)
    if any(item.ticked for item in found.items):
        lines.append(f"Ticked: {sum_words(found.wish, found.currency)}; with the route "
                     f"{with_route_words(found)}.")  # fmt: skip
    if found.renewed:
        lines.append(f"The route renews anyway: {listed(found.renewed)}.")
    if found.not_known:
        lines.append(f"Nobody says whether there is one: {listed(found.not_known)}.")
    if found.deeper:
        lines += ["", "Deeper than this route goes:", *(f"  {deeper_words(d, found.currency)}" for d in found.deeper)]
    return "\n".join([*lines, "", *found.notes])


def with_route_words(found: WhileOut) -> str:
    """The route's sum with what is ticked."""
    return f"{'at least ' if found.at_least else ''}{money(found.with_wish, found.currency)}"
