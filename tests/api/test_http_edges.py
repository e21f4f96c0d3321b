"""Requests at the edge of what HTTP and JSON allow, and beyond: each gets an answer that the description names.

Against the service as it runs. What is right: RFC 9110 (HTTP semantics), RFC 3986 (URI), RFC 8259 (JSON), RFC 7493
(I-JSON: UTF-8, no name twice, no lone surrogates, numbers that a double holds), RFC 6585 (431); each beside its check.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest

from tests.api.processes import Service, read_to_end, running, status_of

JSON = b"Content-Type: application/json\r\n"
FORM = b"Content-Type: application/x-www-form-urlencoded\r\n"
QUESTION = b'{"gearbox": "hollin-5", "engine": "ouzel-20"}'
NOTE = b'{"text": "Bush turned to 21.", "author": "bench", "evidence": "measured-on-these-parts"}'


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with running(tmp_path_factory.mktemp("edges") / "data") as made:
        yield made
        assert [line for line in made.lines() if "exception" in line] == []


def sent(method: str, target: str, body: bytes = b"", headers: bytes = JSON, host: bytes = b"127.0.0.1") -> bytes:
    head = f"{method} {target} HTTP/1.1\r\nConnection: close\r\nContent-Length: {len(body)}\r\n".encode()
    return head + b"Host: " + host + b"\r\n" + headers + b"\r\n" + body


def answer_to(service: Service, request: bytes) -> tuple[int, dict[str, Any]]:
    """The status, and the problem details that came with it."""
    answer = read_to_end(service.connect(request))
    head, _, body = answer.partition(b"\r\n\r\n")
    assert b"content-type: application/problem+json" in head.lower(), answer[:500]
    return status_of(answer), json.loads(body)


def asked(**further: str) -> bytes:
    """The question with further members, written as given."""
    members = "".join(f', "{name}": {text}' for name, text in further.items())
    return QUESTION[:-1] + members.encode() + b"}"


# Bodies that are not JSON, or not JSON that everybody reads alike

BODIES = {
    "not UTF-8 (RFC 8259, 8.1)": '{"gearbox": "é", "engine": "x"}'.encode("latin-1"),
    "UTF-16": QUESTION.decode().encode("utf-16"),
    "a name twice (RFC 7493, 2.3)": asked(gearbox='"tansy-5"'),
    "half a surrogate pair (2.1)": b'{"gearbox": "\\ud800", "engine": "x"}',
    "a surrogate in UTF-8": b'{"gearbox": "\xed\xa0\x80", "engine": "x"}',
    "nested deep": asked(avoid="[" * 100_000 + "]" * 100_000),
    "nested rather deep": asked(avoid="[" * 101 + "]" * 101),
    "never closed": b'{"a":' * 50_000,
    "never closed text": b'{"a": "' + b'\\"' * 100_000,
    "more than a double holds (2.2)": asked(rate="1e5000000"),
    "an exponent beyond all counting": asked(rate="1e99999999999999999999999"),
    "less than a double holds": asked(deadline="1e-5000000"),
    "denormal": asked(rate="5e-324"),
    "a whole number of 400 digits": asked(context='{"torque_nm": 1' + "0" * 400 + "}"),
    "a whole number of 5,000 digits": asked(context='{"torque_nm": 1' + "0" * 5_000 + "}"),
    "more names than one thing has": asked(settings=json.dumps(dict.fromkeys(map(str, range(1_001)), 0))),
    "not a number": asked(rate="NaN"),
    "infinity": asked(rate="-Infinity"),
    "two values": QUESTION + QUESTION,
    "a control character": b'{"gearbox": "a\x00b", "engine": "x"}',
}


@pytest.mark.parametrize("target", ["/routes", "/solve"])
@pytest.mark.parametrize("body", BODIES.values(), ids=BODIES.keys())
def test_a_body_that_is_not_plain_json_is_refused(service: Service, target: str, body: bytes) -> None:
    status, problem = answer_to(service, sent("POST", target, body))

    assert status == 422
    (fault,) = problem["problems"]
    assert fault["message"].startswith("not JSON: ") or (fault["path"] and "a double holds" in fault["message"])


def test_more_names_than_a_thousand_questions_have_are_refused_before_each_is_a_fault(service: Service) -> None:
    things = json.dumps([dict.fromkeys(map(str, range(100)), 0)] * 301)

    status, problem = answer_to(service, sent("POST", "/routes", asked(avoid=things)))

    assert status == 422
    assert problem["problems"][0]["message"] == "not JSON: more than 30,000 names in its objects; send less at once"


@pytest.mark.parametrize(
    ("target", "body"),
    [
        ("/routes", asked(rate='"1e5000000"')),
        ("/routes", asked(rate='"1e-5000000"')),
        ("/routes", asked(deadline='"1e-5000000"')),
        ("/routes", asked(rate='"sNaN"')),
        ("/reach", b'{"engine": "ouzel-20", "budget": "1e-5000000"}'),
        ("/reach", b'{"engine": "ouzel-20", "seconds": 1e200}'),
        ("/reach/stock", b'{"questions": [%s], "budget": "1e-5000000"}' % QUESTION),
        ("/solve", b'{"rate": 1e100}'),
        ("/solve", b'{"rate": 1e-100}'),
        ("/solve", b'{"deadline": 1e-100}'),
        ("/solve", b'{"rate": -1e100}'),
        ("/solve", b'{"tasks": [{"id": "out", "days": 0.%s1}]}' % (b"0" * 60)),
        ("/routes/cost", b'{"question": %s, "rank": 1e200}' % QUESTION),
        ("/routes/cost", b'{"question": %s, "limit": "1e5000000"}' % QUESTION),
        ("/fit-checks/axial-location", b'{"inputs": {"width": "1e5000000 mm", "spacing": "1e-5000000 mm"}}'),
        ("/identify", b'{"family": "tansy", "observations": {"stick-out": "1e999999999 mm +/- 1e-99999999 mm"}}'),
        ("/shop/stock", b'{"part": "x", "quantity": 1e200, "book": 0, "currency": "EUR"}'),
    ],
)
def test_a_number_that_nothing_at_a_bench_has_is_refused(service: Service, target: str, body: bytes) -> None:
    status, problem = answer_to(service, sent("POST", target, body))

    assert status == 422
    assert problem["problems"]
    assert len(problem["detail"]) < 2_000


def test_what_is_unusual_but_plain_json_is_read(service: Service) -> None:
    """RFC 8259, 8.1: a parser may pass over a byte order mark; 7: a pair of surrogates is one character."""
    odd = [
        b"\xef\xbb\xbf" + QUESTION, b" \t\r\n" + QUESTION + b"\n", QUESTION.replace(b"hollin", b"h\\u006fllin"),
        asked(avoid='["\\ud83d\\ude00", "[[[[{{{{", "\\"[\\\\"]'), asked(rate="65.00000"), asked(rate="6.5e1"),
    ]  # fmt: skip

    statuses = [status_of(read_to_end(service.connect(sent("POST", "/routes", body)))) for body in odd]

    assert statuses == [200, 200, 200, 404, 200, 200]  # no part is called so


# What the body is said to be (RFC 9110, 15.5.16: 415)


@pytest.mark.parametrize(
    "headers",
    [
        b"", b"Content-Type: text/plain\r\n", b"Content-Type: ;;;=\xff\r\n", b"Content-Type: application/jsonp\r\n",
        b"Content-Type: application/json; charset=utf-16\r\n", b"Content-Type: application/json; charset=\xff\r\n",
        JSON + b"Content-Encoding: gzip\r\n",
    ],
)  # fmt: skip
def test_a_body_of_another_media_type_is_refused(service: Service, headers: bytes) -> None:
    status, problem = answer_to(service, sent("POST", "/routes", QUESTION, headers))

    assert status == 415
    assert "expected" in problem["detail"]


def test_json_by_another_of_its_names_is_read(service: Service) -> None:
    """RFC 6839, 3.1: what ends in +json is JSON; RFC 9110, 8.3.1: names and values of parameters in either case."""
    names = ("Application/JSON", "application/json; charset=UTF-8", 'application/json;charset="utf-8"',
             "application/problem+json")  # fmt: skip

    found = [
        status_of(read_to_end(service.connect(sent("POST", "/routes", QUESTION, f"Content-Type: {name}\r\n".encode()))))
        for name in names
    ]

    assert found == [200] * len(names)


# Addresses (RFC 3986, 2.1) and headers


@pytest.mark.parametrize(
    "target",
    ["/parts/%zz", "/parts/x%", "/parts/%4", "/parts/%ff", "/parts/%00", "/notes?author=%ff", "/notes?author=%",
     "/notes?author=%00", "/search?q=%00", "/notes?author=%ed%a0%80", "/static/%00", "/part/a%00b", "/docs/assets/%c3"],
)  # fmt: skip
def test_an_address_that_cannot_be_read_is_refused(service: Service, target: str) -> None:
    status, problem = answer_to(service, sent("GET", target, headers=b""))

    assert status == 400
    assert "%" in problem["detail"] or "NUL" in problem["detail"]


@pytest.mark.parametrize(
    ("headers", "host", "status"),
    [
        (JSON + b"Origin: http://[\r\n", b"127.0.0.1", 403),
        (JSON + b"Origin: http://127.0.0.1:x\r\n", b"127.0.0.1", 403),
        (JSON + b"Origin: \xe9\r\n", b"127.0.0.1", 403),
        (JSON, b"[", 400),
        (JSON, b"127.0.0.1:x", 400),
        (JSON, b"\xe9", 400),
        (JSON, b"a b", 400),
        (JSON + b"Authorization: Bearer \xe9\r\n", b"127.0.0.1", 401),
        (JSON + b"X: " + b"a" * 70_000 + b"\r\n", b"127.0.0.1", 431),
        (JSON + b"X: a\r\n" * 7_000, b"127.0.0.1", 431),
    ],
)  # fmt: skip
def test_a_header_that_cannot_be_read_is_refused(service: Service, headers: bytes, host: bytes, status: int) -> None:
    assert answer_to(service, sent("POST", "/notes", NOTE, headers, host))[0] == status


def test_a_range_is_not_offered_and_not_stumbled_over(service: Service) -> None:
    """RFC 9110, 14.2: a server may ignore the Range header."""
    for wanted in (b"bytes=a-b", b"bytes=999999999-", b"lines=1-2"):
        answer = read_to_end(service.connect(sent("GET", "/static/base.css", headers=b"Range: " + wanted + b"\r\n")))
        assert status_of(answer) == 200


@pytest.mark.parametrize(
    ("target", "headers", "body"),
    [
        ("/prices/preview", b"Content-Type: multipart/form-data\r\n", b"--x"),
        ("/prices/preview", b"Content-Type: multipart/form-data; boundary=x\r\n", b"--x\r\nfoo"),
        ("/prices/preview", b"Content-Type: multipart/form-data; boundary=\xff; charset=none\r\n", b"--x\r\nfoo"),
        ("/sparql", b"Content-Type: application/sparql-query\r\n", b"\xff"),
        ("/sparql", FORM, b"query=%ff"),
        ("/sparql", FORM, b"\xff\xfe"),
    ],
)
def test_a_form_that_cannot_be_read_is_refused(service: Service, target: str, headers: bytes, body: bytes) -> None:
    assert answer_to(service, sent("POST", target, body, headers))[0] in (400, 422)


def test_every_operation_describes_what_its_edges_may_say(service: Service) -> None:
    described = service.get("/openapi.json").json()["paths"]

    for path, operations in described.items():
        for method, operation in operations.items():
            stated = set(operation["responses"])
            wanted = {"400", "429", "431", "503"} | ({"413", "415", "422"} if "requestBody" in operation else set())
            assert wanted <= stated, (method, path, wanted - stated)
            told = [one for status, one in operation["responses"].items() if status >= "400" and status != "503"]
            assert all("application/problem+json" in one["content"] for one in told), (method, path)
