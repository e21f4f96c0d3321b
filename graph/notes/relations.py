"""What a note can say of two parts, and what else can be written down. Data only."""

from __future__ import annotations

REMARK = "remark"
CONTAINED, NONE, MADE_FOR = "contains", "has-none", "made-for"
# What can be said, in the words of the form.
RELATIONS = {
    "fits": "fits, as it is",
    "requires-machining": "fits after machining",
    "does-not-fit": "does not fit",
    "replaces": "replaces",
    "needs": "needs",
    "excludes": "cannot go together with",
    CONTAINED: "has in it, as found",
    NONE: "has no part at a place",
    MADE_FOR: "was made for a kind of job",
    REMARK: "no relation, only a remark",
}
AT_A_JOINT = ("fits", "requires-machining", "does-not-fit")
AT_A_PLACE = (CONTAINED, NONE)
OF_A_UNIT = (CONTAINED, NONE, MADE_FOR)
ALONE = (NONE, MADE_FOR)  # say something of the first part only
READING, PRICE = "reading", "price"  # written down beside relations
