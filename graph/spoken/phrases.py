"""The words of the grammar: what is passed over, what says no, have or must, and the fixed phrases. Data only."""

from __future__ import annotations

NEGATORS = frozenset({
    "no", "not", "without", "avoid", "avoiding", "except", "never", "dont", "doesnt", "cant", "cannot", "wont",
    "nor", "neither", "none", "havent", "hasnt", "isnt", "arent", "excluding", "excl", "minus", "omit", "omitting",
    "skip", "skipping",
})  # fmt: skip
LEAVING_OUT = frozenset({"no", "without", "avoid", "avoiding", "except", "excluding", "minus", "nor", "neither", "not"})
HAVING = frozenset({"have", "ive", "own", "owning", "got", "having"})
WISHING = frozenset({"with", "must", "need", "needs", "want", "wants", "keep", "keeping", "offering", "plus"})
IN_HAND = (("in", "hand"), ("on", "hand"), ("on", "the", "shelf"), ("on", "the", "bench"), ("already", "here"),
           ("already", "there"), ("in", "stock"))  # fmt: skip
PLACES = frozenset({"behind", "to", "into", "onto", "for", "in", "on", "front", "at", "from", "as", "by", "against"})
# Several words that say one thing of the names after them, read before their words alone.
LEAVE, INSIST, EITHER, OPEN, RESET, LACKING = "leave", "insist", "either", "open", "reset", "lack"
MARKERS: tuple[tuple[tuple[str, ...], str], ...] = (
    (("with", "or", "without"), EITHER), (("with", "and", "without"), EITHER), (("without", "or", "with"), EITHER),
    (("nothing", "but"), INSIST), (("none", "but"), INSIST), (("not", "only"), INSIST), (("not", "just"), INSIST),
    (("nothing", "except"), INSIST), (("nothing", "other", "than"), INSIST),
    (("leave", "out"), LEAVE), (("leaving", "out"), LEAVE), (("instead", "of"), LEAVE), (("rather", "than"), LEAVE),
    (("other", "than"), LEAVE), (("apart", "from"), LEAVE), (("do", "without"), LEAVE), (("in", "place", "of"), LEAVE),
    (("no", "longer"), LACKING), (("not", "any", "longer"), LACKING),
    (("need", "no"), OPEN), (("needs", "no"), OPEN), (("dont", "need"), OPEN), (("doesnt", "need"), OPEN),
    (("not", "need"), OPEN), (("no", "need", "for"), OPEN), (("no", "need", "of"), OPEN),
    (("but", "not"), ""), (("but", "no"), ""), (("but", "without"), ""), (("but",), RESET),
)  # fmt: skip
EXCEPTING = frozenset({"except", "excluding", "excl", "minus", "other", "apart"})  # after a no they turn it round
# Words for all of something, and those that take one out of it: `any gearbox but the tansy`.
OF_ALL = frozenset({"any", "every", "all", "each", "anything", "everything", "whichever", "whatever", "everyone"})
TAKEN_OUT = frozenset({"but", "bar", "barring", "besides", "save"})
ALREADY_DENIED = NEGATORS | {"nothing"}
# Why names under such words are no part of a question.
NOT_TAKEN = {
    INSIST: "a question has no wish that a part must be used: say that it is in hand, or leave the others out",
    EITHER: "with it or without it is no wish: say which, or nothing",
    OPEN: "whether it must be left out, or only need not be there, is not said: say without, or nothing",
}
# Words that compare or say when: never a slip of a word in a name.
NO_SLIPS = frozenset(
    {"later", "longer", "earlier", "sooner", "shorter", "lower", "higher", "lesser", "fewer", "cheaper", "dearer",
     "rather", "either", "other", "others", "half", "latest", "earliest", "leave", "leaving", "neither", "nothing",
     "anything", "everything", "something", "unless", "until", "assume", "assuming"}
)  # fmt: skip
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
    "question answer best good gearbox engine box motor transmission vehicle gearboxes engines boxes motors "
    "transmissions vehicles take takes suit suits keep keeping plus already them one "
)
FILLERS = PLACES | LINKS | frozenset(_PASSED_OVER.split())
# Words in which a slip of the pen is put right where the word as typed is not known. A slip in any other word that is
# passed over is told as not understood: the word could have been meant for something else.
CORRECTED = (
    "without", "behind", "please", "gearbox", "engine", "cheapest", "fastest", "quickest", "under", "below", "within",
    "avoid", "fewest", "hours", "torque", "budget", "deadline", "friday", "monday", "tuesday", "wednesday", "thursday",
    "saturday", "sunday", "least", "above", "weeks", "working", "minimum", "maximum", "euros", "pounds", "dollars",
    "towing", "competition", "marine", "stationary", "exchange", "disputed", "assumed", "fourth", "fifth", "sixth",
    "first", "second", "third", "transmission", "vehicle", "machining", "machined", "milling", "grinding", "welding",
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
    (r"(?:without|no|avoid|avoiding|nothing) (?:any )?(?:machining|milling|grinding|turning|welding|machine work|"
     r"machined|milled|ground|turned|welded)(?: work)?,? "
     r"(?:except|but|other than|apart from|unless|excluding)(?: for)? \w+",
     "machining is left out as a whole, or not at all"),
    (r"(?:must|has to|have to|needs? to) (?:be used|(?:re)?use)",
     "a question has no wish that a part must be used: say that it is in hand, or leave the others out"),
    (r"(?:only )?(?:used|second-?hand|new|genuine|original) parts(?: only)?",
     "a question has no wish for used or new parts: say which are in hand or to be left out"),
)  # fmt: skip
_NO_CONDITIONS = "a question holds as it is said, or not at all: say it without a condition"
NO_EITHER_OR = "a question holds all that is said at once: ask for each on its own"
_NO_DEGREES = "a question knows no more or less of a wish: say it, or leave it out"
# Words that ask for something where no phrase has used them: what no question can hold.
NO_SUCH_WISH = {
    "only": 'a question has no wish such as "only": say what is to be left out',
    "used": "a question has no wish for used parts: say which are in hand",
    **dict.fromkeys(("if", "unless", "otherwise", "depending", "provided", "whenever"), _NO_CONDITIONS),
    **dict.fromkeys(
        ("preferably", "prefer", "ideally", "rather", "maybe", "perhaps", "possibly", "hardly", "almost", "barely",
         "mostly", "mainly", "little", "fewer", "less", "more"),
        _NO_DEGREES,
    ),
}  # fmt: skip
# Before an "if" that only asks whether: `tell me if`, `I wonder if`.
ASKING_WHETHER = frozenset({"me", "us", "know", "see", "wonder", "wondering", "check", "ask", "asking", "tell"})
