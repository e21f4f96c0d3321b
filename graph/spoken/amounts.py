"""Numbers with units in a question: torque, power, money, days, hours, a year, demands: where they stand. No I/O.

What they mean is in `graph.spoken.meant`, how numbers are written in `graph.spoken.numbers_said`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import graph.spoken.meant as meant
from graph.fits.wanted import GEARS
from graph.reading.job_keys import USUAL_DUTIES
from graph.spoken.by_date import DATE
from graph.spoken.meant import BOUND, KMH, LBFT, LOW, Circumstances, Meant
from graph.spoken.model import SpokenChoice
from graph.spoken.numbers_said import (
    BELOW_NOTHING,
    CHANGED,
    CHANGING,
    IN_PARTS,
    NUM,
    ONE,
    is_a_fragment,
    is_below_nothing,
    is_no_range,
)
from graph.spoken.phrases import FILLERS, FIXED, HAVING, NEGATORS, NO_SUCH_WISH, NOT_ASKED, WISHING
from graph.spoken.pieces import Heard, fold

_HIGH = (
    r"at most|no more than|not more than|not over|not above|up to|maximum|max|under|below|less than|within|in|"
    r"cheaper than|budget of|budget is|budget|not exceeding|no higher than|stay under|stay below|<=?|\u2264|"
    r"(?:(?:must|should|may|can|shall) ?not|mustn'?t|shouldn'?t|can'?t|not) "
    r"(?:exceed|(?:cost|be|come to) (?:more than|over|above))"
)
_ABOUT = r"about|around|roughly|some|ca|~|\u2248"
_BOUNDED = f"(?P<bound>{'|'.join(sorted(BOUND, key=len, reverse=True))})"
_BOUNDED_TOO = _BOUNDED.replace("bound", "bound2")
_GEAR = rf"(?P<gear>{'|'.join((*GEARS, 'top'))})(?: gear)?"
_RPM = r"(?:rpm|revs?/min|revs|1?/ ?min|(?:a|per) minute)"
_KMH = KMH
_NM = r"(?:n ?[-/.*\u00b7\u22c5]? ?m|newton ?-?met(?:re|er)s?)"
_A_WEEK = r"(?:a|1|next) week"
_READY = r"(?:(?:ready|done|finished) )?"
_WITHIN = rf"(?:(?:(?P<low>{LOW})|{_HIGH}|deadline|deadline of) ?)?"
_BOUND_AFTER = re.compile(  # `900 EUR at most`
    r",? ?(?:(?P<low>at (?:the )?least|minimum|min|or (?:more|over|above)|and (?:up|more|over|above)|upwards|\+)"
    r"|(?:at (?:the )?most|maximum|max|tops|or (?:less|under|below)))(?! ?\d)(?![^\W_])"
)
AT_LEAST = "the words after the number make it a least, and a question takes a most"
DENIED = "it is said with a no, and there is nothing that could be left out"
COUNTED = "what is counted is no money, and nothing that a question limits: a price says its currency, such as 900 EUR"
ALONE_ON_THE_ROAD = "say what it must come to, such as: 75 mph in fifth gear below 3000 rpm"
SPACED = "a number with a space in it can be read in two ways: write it without"


Rule = tuple[re.Pattern[str], Callable[[re.Match[str], Circumstances], Meant | None]]


def find_amounts(
    heard: Heard, by: Circumstances, is_a_name: Callable[[str], bool] = lambda _: False
) -> Iterator[tuple[int, int, Meant]]:
    """The pieces, from and up to, with what they mean. They are taken, or refused with the reason.

    `is_a_name`: whether a word is in the name of something, so that a number after it may belong to it.
    """
    for pattern, meaning in _RULES:
        at = 0
        while (match := pattern.search(heard.line, at)) is not None:
            span = heard.span(match)
            said = match.groupdict().get("n") or ""
            if span is None or is_no_range(said) or (found := meaning(match, by)) is None:
                at = match.start() + 1
                continue
            at = max(match.end(), at + 1)
            first, stop, found = _as_it_stands(heard, span, match, found, is_a_name)
            heard.take(first, stop)
            if found.reason:
                heard.refuse(first, stop, found.reason)
                heard.take(first, stop)
            yield first, stop, found


def _as_it_stands(
    heard: Heard, span: tuple[int, int], match: re.Match[str], found: Meant, is_a_name: Callable[[str], bool]
) -> tuple[int, int, Meant]:
    """What is meant beside the words around it, which may deny it, change it or make it a part of something longer."""
    first, stop = span
    if heard.is_denied(first):
        return first, stop, Meant(reason=DENIED)
    numbers = [said for name, said in match.groupdict().items() if said and name in ("n", "n2", "at", "by", "year")]
    if not numbers:
        return first, stop, found
    if any(map(is_below_nothing, numbers)):
        return first, stop, Meant(reason=BELOW_NOTHING)
    before = heard.pieces[first - 1] if first and not heard.taken[first - 1] else None
    if is_a_fragment(heard.line[: match.start()], heard.line[match.end() :]):
        return *_widened(heard, first, stop), Meant(reason=IN_PARTS)
    if before is not None and before.plain in CHANGING and not match.groupdict().get("by"):
        return first - 1, stop, Meant(reason=CHANGED)
    if before is not None and before.is_number and heard.pieces[first].is_number and not heard.pieces[first].glued \
            and not (first > 1 and is_a_name(heard.pieces[first - 2].plain)):  # fmt: skip
        return first - 1, stop, Meant(reason=SPACED)
    if found.bare and _is_counted(heard, stop, is_a_name):
        return first, stop + 1, Meant(reason=COUNTED)
    bound = _BOUND_AFTER.match(heard.line[match.end() :])
    if bound is None or "n" not in match.groupdict():
        return first, stop, found
    while stop < len(heard.pieces) and not heard.taken[stop] and heard.starts[stop] < match.end() + bound.end():
        stop += 1
    return first, stop, Meant(reason=AT_LEAST) if bound["low"] else found


_AFTER_A_SUM = (
    FILLERS | NEGATORS | HAVING | WISHING | {*NO_SUCH_WISH, *USUAL_DUTIES}
    | {"total", "totally", "altogether", "overall", "together", "max", "tops", "maximum", "nothing", "at"}
)  # fmt: skip


def _is_counted(heard: Heard, at: int, is_a_name: Callable[[str], bool]) -> bool:
    """Whether a word that nothing else explains stands directly after a bare number: `under 900 km`."""
    if at >= len(heard.pieces) or heard.taken[at]:
        return False
    word = heard.pieces[at].plain
    named = fold(word) == word and len(word) > 2 and is_a_name(word)  # `parts`, `bolts` would be counted
    return word[:1].isalpha() and word not in _AFTER_A_SUM and not named


def _widened(heard: Heard, first: int, stop: int) -> tuple[int, int]:
    """With the signs and numbers directly around that are not taken yet."""

    def belongs(at: int) -> bool:
        piece = heard.pieces[at]
        return not heard.taken[at] and (
            piece.is_number or piece.plain in "+-/*^:%<>~x\u00b1\u00d7\u2013\u2014\u2212\u2248"
        )

    while first > 0 and belongs(first - 1):
        first -= 1
    while stop < len(heard.pieces) and belongs(stop):
        stop += 1
    return first, stop


def _fixed(choice: SpokenChoice) -> Callable[[re.Match[str], Circumstances], Meant]:
    return lambda match, by: Meant((choice,))


def _refused(reason: str) -> Callable[[re.Match[str], Circumstances], Meant]:
    return lambda match, by: Meant(reason=reason)


def _pattern(text: str) -> re.Pattern[str]:
    return re.compile(rf"(?<![^\W_])(?:{text})(?![^\W_])")


_CODE = r"(?P<word>eur|gbp|usd|chf|sek|nok|dkk|pln|czk|huf|aud|nzd|cad|jpy|euros?|pounds?|quid|dollars?|[€£$])"
_SIGN = r"(?P<sign>[€£$])"
_MOST = rf"(?:(?P<bound>{LOW}|{_HIGH}|{_ABOUT}|for) ?)?"
_LIMIT = rf"(?:(?:(?P<low>{LOW})|{_HIGH}|{_ABOUT}) ?)?"
_LIMIT2 = _LIMIT.replace("<low>", "<low2>")
_UNIT = rf"(?:{_NM}|{LBFT}|kw|b?hp|ps|{_RPM}|{_KMH}|mm|eur|days?|weeks?|hours?|h|speed|routes)(?![^\W_])"
_RULES: tuple[Rule, ...] = (
    (_pattern(rf"(?:the )?{_GEAR}(?: ratio)?(?: of)? {_BOUNDED} (?P<n>{ONE}),? and {_BOUNDED_TOO} (?P<n2>{ONE})"
              rf"(?! ?(?:{_RPM}|{_KMH}))"), meant.demand),
    (_pattern(rf"(?:the )?{_GEAR}(?: ratio)?(?: of| is)? (?:between )?(?P<low_end>{ONE}) ?(?:and|to|-) ?"
              rf"(?P<high_end>{ONE})(?! ?{_UNIT})"), meant.demand_between),
    (_pattern(rf"(?:the )?{_GEAR}(?: ratio)?(?: of)? {_BOUNDED} (?P<n>{ONE})(?: ?: ?1| to 1)?(?! ?(?:{_RPM}|{_KMH}))"),
     meant.demand),
    (_pattern(rf"(?:at )?(?P<at>{ONE}) ?(?P<speed>{_KMH}),?(?: (?:at|with|is|turning))? {_BOUNDED} (?P<n>{ONE}) ?{_RPM}"
              rf" (?:in|at) (?:the )?{_GEAR}"), meant.demand),
    (_pattern(rf"{_BOUNDED} (?P<n>{ONE}) ?{_RPM} (?:in|at) (?:the )?{_GEAR},? at (?P<at>{ONE}) ?(?P<speed>{_KMH})"),
     meant.demand),
    (_pattern(rf"(?:at )?(?P<at>{ONE}) ?(?P<speed>{_KMH})(?: (?:in|at) (?:the )?{_GEAR})?,?(?: at)? {_BOUNDED} "
              rf"(?P<n>{ONE}) ?{_RPM}"), meant.demand),
    (_pattern(rf"{_BOUNDED} (?P<n>{ONE}) ?{_RPM} at (?P<at>{ONE}) ?(?P<speed>{_KMH})(?: in (?:the )?{_GEAR})?"),
     meant.demand),
    (_pattern(rf"(?:at )?(?P<at>{ONE}) ?{_RPM}(?: (?:in|at) (?:the )?{_GEAR})?,? {_BOUNDED} "
              rf"(?P<n>{ONE}) ?(?P<road>{_KMH})"), meant.demand),
    (_pattern(r"output turns (?:the same way|the other way|clockwise|anti-?clockwise)"), meant.turns),
    *((_pattern(words), _refused(reason)) for words, reason in NOT_ASKED),
    *((_pattern(words), _fixed(SpokenChoice(field, value, label[:1].upper() + label[1:])))
      for words, field, value, label in FIXED),
    (_pattern(rf"(?:torque (?:of |is )?)?(?:(?:makes?|making|takes|delivers|gives|has) )?{_LIMIT}"
              rf"(?P<n>{NUM}) ?-?(?P<unit>{_NM}|{LBFT})(?: (?:of )?torque)?"), meant.torque),
    (_pattern(rf"torque (?:of |is )?(?P<n>{NUM})(?! ?(?:{_NM}|{LBFT}))"), meant.bare_torque),
    (_pattern(rf"(?:(?:makes?|making|power of|has) )?{_LIMIT}(?P<n>{NUM}) ?(?P<unit>kw|b?hp|ps)"
              r"(?: (?:of )?power)?"),
     meant.power),
    (_pattern(rf"(?:(?:at|bench|rate|of|is) )*(?:(?P<bound>{LOW}|{_HIGH}) ?)?(?:{_SIGN} ?)?(?P<n>{NUM}) ?(?:{_CODE} ?)?"
              r"(?:an hour|per hour|/ ?h(?:our)?)"),
     meant.rate),
    (_pattern(rf"(?:bench )?rate (?:of |is )?(?:(?P<bound>{LOW}|{_HIGH}) ?)?(?:{_SIGN} ?)?(?P<n>{NUM})(?: ?{_CODE})?"),
     meant.rate),
    (_pattern(rf"(?:another (?:one|box|gearbox|engine)|a replacement|not doing it|leaving it) (?:costs|is|for) "
              rf"(?:{_SIGN} ?)?(?P<n>{NUM})(?: ?{_CODE})?"), meant.money),
    (_pattern(rf"{_MOST}(?:{_SIGN} ?)(?P<n>{NUM})"), meant.money),
    (_pattern(rf"{_MOST}(?P<n>{NUM}) ?{_CODE}"), meant.money),
    (_pattern(rf"{_MOST}{_CODE} ?(?P<n>{NUM})"), meant.money),
    (_pattern(rf"{_READY}{_WITHIN}(?P<n>{NUM}|half an?|half)[ -]?(?P<unit>weeks?),? and (?P<more>\d+) "
              r"(?:working |work )?days?"), meant.deadline),
    (_pattern(rf"{_READY}{_WITHIN}(?P<n>{NUM}|half an?|half)[ -]?(?P<unit>(?:working |work )?days?|weeks?)"),
     meant.deadline),
    (_pattern(rf"{_READY}(?:within |in |under )?(?:an?|1) (?P<unit>day|week) and an? half"), meant.day_and_a_half),
    (_pattern(rf"{_READY}(?:within|in|under) {_A_WEEK}"), meant.a_week),
    (_pattern(rf"{_READY}(?:within|in|under) a (?:working )?day"), meant.a_day),
    (_pattern(rf"{_READY}(?:by|on)? ?(?P<by>no(?:t)? later than|by|until|before|till|on) (?:the )?{DATE}"),
     meant.by_date),
    (_pattern(rf"(?:(?:{_HIGH}|{LOW}|{_ABOUT}) ?)?(?P<n>{NUM}|half an)[ -]?(?:hours?|hrs?|h)"
              r"(?:,? (?:and )?(?P<minutes>\d{1,2}) ?min(?:ute)?s?)?"), meant.hours),
    (_pattern(r"(?:(?:built|made|from|between|in|model|years?|of build) )*(?P<year>(?:19|20)\d\d) ?"
              rf"(?:-|\u2013|\u2014|to|and|or|until|till) ?(?P<to>(?:19|20)\d\d)(?! ?{_UNIT})"), meant.years),
    (_pattern(r"(?:built(?: in)?|year(?: of build)?|model year|from|made in) (?P<n>(?:19|20)\d\d)"), meant.year),
    (_pattern(r"(?P<n>(?:19|20)\d\d) model"), meant.year),
    (_pattern(r"(?:at most |show |up to )?(?P<n>\d+) (?P<unit>routes|alternatives|ways)"), meant.routes),
    (_pattern(r"at most (?P<n>\d+)(?: things?)?(?: assumed| assumptions?)"), meant.assumed),
    (_pattern(r"assume at most (?P<n>\d+)(?: things?)?"), meant.assumed),
    (_pattern(rf"(?:at )?(?:{_LIMIT}(?P<n>{NUM}) ?{_RPM},? (?:at|and|with) )?(?:{_LIMIT2})(?P<n2>{NUM}) ?{_KMH}"
              rf"(?: (?:in|at) (?:the )?{_GEAR})?(?:,? (?:at|and|with) (?P<at>{NUM}) ?{_RPM})?"),
     _refused(ALONE_ON_THE_ROAD)),
    (_pattern(rf"(?:{_HIGH.replace('|in|', '|')}) (?P<n>{NUM})"), meant.bare_money),
    (_pattern(rf"(?:the )?{_GEAR}(?: ratio)?(?:(?: (?:of|is|not|at|about|around|under|over|between|below|above|least|"
              rf"most|from|exactly|than|less|more|no|[<>]=?|\u2265|\u2264)|,? =|:))*,? (?P<n>{NUM})(?! ?{_UNIT})"),
     _refused("say what it must come to: at least, at most, above or below which ratio")),
    (_pattern(rf"(?P<n>\d+[.,]\d+)(?: ?: ?1)?,? (?:in |for )?(?:the )?{_GEAR}"),
     _refused("say what it must come to: at least, at most, above or below which ratio")),
    (_pattern(r"(?P<n>(?:19[3-9]|20[0-4])\d)(?! ?(?:mm|rpm|in\b))"), meant.bare_year),
)  # fmt: skip
