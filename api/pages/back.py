"""The way back to an answer: whoever goes from it to a form comes back to it once the form is sent.

The address of the answer goes along as the field `back`. Only an answer of this service is ever gone back to.
"""

from __future__ import annotations

from urllib.parse import quote, urlsplit

from fastapi import Request
from starlette.datastructures import FormData

BACK = "back"
ANSWERS = ("/compare", "/route")
LONGEST = 4_000


def answer_in(text: str) -> str:
    """The address of an answer that the text is; empty for anything else.

    >>> answer_in("/route?gearbox=a&engine=b"), answer_in("//elsewhere.example/route"), answer_in("/keeping")
    ('/route?gearbox=a&engine=b', '', '')
    >>> answer_in("///route"), answer_in("////elsewhere.example/route"), answer_in("/\\\\elsewhere.example/route")
    ('', '', '')
    """
    if len(text) > LONGEST or not text.startswith("/") or not text.isprintable() or "\\" in text:
        return ""
    if text.startswith("//"):  # another host to a browser, also with an empty authority: `///route`
        return ""
    parts = urlsplit(text)
    return text if not parts.netloc and parts.path in ANSWERS else ""


def back_of(request: Request) -> str:
    """The answer that the request's address or form comes from; empty where it is none."""
    sent = getattr(request.state, BACK, "") or request.query_params.get(BACK, "")
    return answer_in(sent)


def keep_back(request: Request, form: FormData) -> None:
    """Remembers for this request which answer its form comes from."""
    sent = form.get(BACK, "")
    setattr(request.state, BACK, sent if isinstance(sent, str) else "")


def with_back(request: Request, address: str) -> str:
    """The address to go to after a form, with the answer that waits behind it."""
    back = back_of(request)
    if not back:
        return address
    plain, hash_mark, anchor = address.partition("#")
    return f"{plain}{'&' if '?' in plain else '?'}{BACK}={quote(back, safe='')}{hash_mark}{anchor}"
