"""The guard before the query engine cuts a text into tokens: as the grammar has them, and in time that grows evenly."""

from __future__ import annotations

import re
import signal
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.errors import InvalidQuestion
from graph.ledger.sparql_guard import MAX_QUERY_BYTES, query_form

# The tokens of the grammar (W3C SPARQL 1.1, section 19.8) as they are usually written: with backtracking.
BY_THE_BOOK = re.compile(
    r"""<[^<>"{}|^`\\\x00-\x20]*>
      | \"{3}(?:\"{0,2}(?:[^\"\\]|\\.))*\"{3} | '{3}(?:'{0,2}(?:[^'\\]|\\.))*'{3}
      | "(?:[^"\\\n\r]|\\.)*" | '(?:[^'\\\n\r]|\\.)*'
      | \#[^\n\r]* | [?$]\w+ | @[A-Za-z]+(?:-[A-Za-z0-9]+)* | _:\w(?:[\w.-]*[\w-])?
      | (?:[^\W\d_](?:[\w.-]*[\w-])?)?:(?:(?:[\w:]|%[0-9A-Fa-f]{2}|\\[_~.\-!$&'()*+,;=/?\#@%])
           (?:(?:[\w.:-]|%[0-9A-Fa-f]{2}|\\[_~.\-!$&'()*+,;=/?\#@%])*(?:[\w:-]|%[0-9A-Fa-f]{2}|\\[_~.\-!$&'()*+,;=/?\#@%]))?)?
      | (?P<word>[A-Za-z]+) | (?P<unclosed>["']) | .""",
    re.VERBOSE | re.DOTALL,
)
PIECES = ["DROP", "DROP:", "a", "1", "é", "_", "-", ".", ":", "%41", "%4", "\\", '"', '"""', "'", "'''", "#"]
PIECES += ["<", ">", "?", "@", " ", "{", "}", "\n", "\r"]
TEXTS = st.lists(st.sampled_from(PIECES), max_size=16).map("".join)


@pytest.fixture
def ten_seconds_of_processor_time() -> Iterator[None]:
    """Ends a test that would go on for minutes; what grows as it should needs a hundredth of it."""

    def end(*_: object) -> None:
        raise TimeoutError("10 s of processor time")

    before = signal.signal(signal.SIGPROF, end)
    signal.setitimer(signal.ITIMER_PROF, 10)
    yield
    signal.setitimer(signal.ITIMER_PROF, 0)
    signal.signal(signal.SIGPROF, before)


@pytest.mark.parametrize("again", ["a1", "a.", "a_-", "a ", "<a", "a:b.", "a:%41.", "_:a.", "@a-", "\\u0061", "a:\\-"])
def test_the_longest_query_is_judged_whatever_it_is_made_of(again: str, ten_seconds_of_processor_time: None) -> None:
    """The first three made a tokenizer that goes back look at the rest of the text from every place in it."""
    assert query_form(filled("SELECT * { ?s ?p ?o } ", again)) == "SELECT"


@pytest.mark.parametrize("quotes", ['"""', "'''"])
def test_texts_that_are_never_closed_are_looked_for_once(quotes: str, ten_seconds_of_processor_time: None) -> None:
    with pytest.raises(InvalidQuestion, match="query line 2: a text that begins with"):
        query_form(filled(f"SELECT * {{ ?s ?p ?o }}\n{quotes}\n", f"\\{quotes}\n"))


@pytest.mark.parametrize("text", ["SELECT * { ?s ?p 'it's' }", 'ASK { ?s ?p """a"" }', "ASK { ?s ?p 'a\nb' }"])
def test_a_text_that_is_not_closed_is_named_with_its_line(text: str) -> None:
    with pytest.raises(InvalidQuestion, match=r"query line 2: a text that begins with . is not closed"):
        query_form("\n" + text)


@given(TEXTS)
def test_the_quick_tokens_are_the_tokens_of_the_grammar(text: str) -> None:
    tokens = list(BY_THE_BOOK.finditer(f"SELECT {text}"))
    words = [token.lastgroup if token.lastgroup == "unclosed" else token[0].upper() for token in tokens
             if token.lastgroup]  # fmt: skip
    expected = "not closed" if "unclosed" in words else "changes data" if "DROP" in words else ""

    try:
        found = query_form(f"SELECT {text}")
    except InvalidQuestion as error:
        assert expected and expected in str(error)
    else:
        assert (found, expected) == ("SELECT", "")


def filled(start: str, again: str) -> str:
    """As long a query as is taken."""
    return start + again * ((MAX_QUERY_BYTES - len(start)) // len(again))
