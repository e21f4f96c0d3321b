"""The words of the grammar: what is passed over, what says no, have or must, and the fixed phrases. Data only."""

from __future__ import annotations

NEGATORS = frozenset({
    "no", "not", "without", "avoid", "avoiding", "except", "never", "dont", "doesnt", "cant", "cannot", "wont",
    "nor", "neither", "none", "havent", "hasnt", "isnt", "excluding", "minus",
})  # fmt: skip
LEAVING_OUT = frozenset({"no", "without", "avoid", "avoiding", "except", "excluding", "minus", "nor", "neither", "not"})
HAVING = frozenset({"have", "ive", "own", "owning", "got", "having"})
WISHING = frozenset({"with", "must", "need", "needs", "want", "wants", "keep", "keeping", "offering", "plus"})
IN_HAND = (("in", "hand"), ("on", "hand"), ("on", "the", "shelf"), ("on", "the", "bench"), ("already", "here"),
           ("already", "there"), ("in", "stock"))  # fmt: skip
PLACES = frozenset({"behind", "to", "into", "onto", "for", "in", "on", "front", "at", "from", "as", "by", "against"})
LINKS = frozenset({"of", "the", "a", "an", "with"})
GEAR_WORDS = frozenset({"speed", "speeds", "gears"})
UNIT_WORDS = {"gearbox": ("gearbox", "box", "transmission"), "engine": ("engine", "motor"), "vehicle": ("vehicle",)}
_PASSED_OVER = (
    "and or but i we me us you it its this that these those my our your his her their there here he she they "
    "please would like could can should will shall may is are am was be been do does did id im ill lets let what "
    "which how who where when if so then than just only much cost costs price find show give tell get gets make "
    "put putting go goes going fit fits fitting mate mating join joining marry bolt bolting swap swapping convert "
    "conversion job way route routes hello hi thanks thank any some all up out about know looking look trying try "
    "use using want wants wanted need needs must has have got having offer offering also as possible "
    "question answer best good gearbox engine box motor transmission vehicle keep keeping plus already them one "
)
FILLERS = PLACES | LINKS | frozenset(_PASSED_OVER.split())
# Words in which a slip of the pen is put right where the word as typed is not known. A slip in any other word that is
# passed over is told as not understood: the word could have been meant for something else.
CORRECTED = (
    "without", "behind", "please", "gearbox", "engine", "cheapest", "fastest", "quickest", "under", "below", "within",
    "avoid", "fewest", "hours", "torque", "budget", "deadline", "friday", "monday", "tuesday", "wednesday", "thursday",
    "saturday", "sunday", "least", "above", "weeks", "working", "minimum", "maximum", "euros", "pounds", "dollars",
    "towing", "competition", "marine", "stationary", "exchange", "disputed", "assumed", "fourth", "fifth", "sixth",
    "first", "second", "third", "machining", "machined", "milling", "grinding", "welding",
)  # fmt: skip

# Phrase -> field, value, in words. `+`: the words may be followed by more of the same without meaning more.
FIXED: tuple[tuple[str, str, str, str], ...] = (
    (r"(?:cheapest|least|lowest|fewest) (?:(?:in|of|by) )?(?:cash|money(?: out)?)|(?:cash|money) (?:out )?only",
     "objective", "cash", "least cash"),
    (r"(?:cheapest )?if nothing is worn", "objective", "total", "least cost if nothing is worn"),
    (r"(?:as )?cheap(?:est|ly)?(?: as possible)?|least (?:expensive|cost)|lowest (?:cost|price)", "objective",
     "expected", "least cost with likely faults"),
    (r"(?:as )?(?:fast|quick)(?:est|ly)?(?: (?:as possible|way|route))?|(?:fewest|least) (?:hours|work|labour|labor)"
     r"|(?:shortest|least) time", "objective", "hours", "fewest hours"),
    (r"(?:nothing|no(?:t)?(?:thing)?) (?:that is )?disputed|leave out (?:what is )?disputed", "refuse_disputed", "yes",
     "nothing that notes dispute"),
    (r"(?:nothing|none) assumed|no assumptions?|(?:do not|dont|without) assum(?:e|ing) anything|assume nothing",
     "most_assumed", "0", "nothing assumed"),
    (r"(?:in |as )?part exchange|(?:the )?old (?:one|unit|box|gearbox|engine|motor) (?:is )?(?:handed|traded) in|"
     r"trade in the old (?:one|unit|box|gearbox|engine|motor)", "part_exchange", "yes", "the old unit is handed in"),
    (
        r"(?:without|no|avoid|avoiding) (?:any )?(?:machining|milling|grinding|turning|welding|machine work)|"
        r"(?:nothing|no parts?) (?:is |to be )?(?:machined|milled|ground|turned|welded)",
        "without_machining",
        "yes",
        "nothing machined",
    ),
    (
        r"(?:only )?(?:with )?(?:what is|whats) (?:on the shelf|in stock)|(?:only )?from (?:the |our )?(?:shelf|stock)",
        "from_shelf",
        "yes",
        "only what is on the shelf",
    ),
)  # fmt: skip

# What people ask for and no question can hold: told with its reason, never dropped.
NOT_ASKED: tuple[tuple[str, str], ...] = (
    (r"(?:soonest|asap|as soon as possible|urgent(?:ly)?|straight ?away)",
     "say by which day, or within how many working days"),
    (r"(?:must|has to|have to|needs? to) (?:be used|(?:re)?use)",
     "a question has no wish that a part must be used: say that it is in hand, or leave the others out"),
    (r"(?:only )?(?:used|second-?hand|new|genuine|original) parts(?: only)?",
     "a question has no wish for used or new parts: say which are in hand or to be left out"),
)  # fmt: skip
# Words that ask for something where no phrase has used them: what no question can hold.
NO_SUCH_WISH = {
    "only": 'a question has no wish such as "only": say what is to be left out',
    "used": "a question has no wish for used parts: say which are in hand",
}
