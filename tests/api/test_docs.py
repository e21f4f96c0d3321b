"""The API reads offline: its page, script and assets come from this service under a strict policy."""

from __future__ import annotations

import re
from typing import Any

from fastapi.testclient import TestClient

from api.docs import as_openapi_30


def test_the_page_asks_no_outside_host_and_runs_no_inline_script(client: TestClient) -> None:
    response = client.get("/docs")

    assert "http" not in response.text
    assert not re.search(r"<script(?![^>]*\bsrc=)", response.text)
    assert not re.search(r"\son\w+=|\sstyle=", response.text)
    policy = response.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy


def test_everything_the_page_asks_for_is_served(client: TestClient) -> None:
    page = client.get("/docs").text
    wanted = re.findall(r'(?:src|href)="([^"]+)"', page)

    assert len(wanted) == 5
    for address in wanted:
        assert client.get(f"/{address}").status_code == 200, address
    assert client.get("/docs/assets/index.html").status_code == 404
    assert client.get("/docs/assets/..%2f__init__.py").status_code == 404


def test_the_description_for_the_page_is_in_the_older_dialect(client: TestClient) -> None:
    found = client.get("/docs/openapi-3.0.json").json()

    assert found["openapi"] == "3.0.3"
    assert '{"type":"null"}' not in client.get("/docs/openapi-3.0.json").text
    assert client.get("/openapi.json").json()["openapi"].startswith("3.1")


def test_a_value_that_may_be_null_is_nullable_in_the_older_dialect() -> None:
    newer: dict[str, Any] = {
        "openapi": "3.1.0",
        "a": {"anyOf": [{"type": "number"}, {"type": "null"}]},
        "b": {"const": 1, "examples": [2, 3]},
    }

    assert as_openapi_30(newer) == {
        "openapi": "3.0.3",
        "a": {"nullable": True, "allOf": [{"type": "number"}]},
        "b": {"enum": [1], "example": 2},
    }


def test_every_operation_is_described_and_every_reference_leads_somewhere(client: TestClient) -> None:
    described = client.get("/openapi.json").json()

    schemas = described["components"]["schemas"]
    for name in re.findall(r'"#/components/schemas/([^"]+)"', client.get("/openapi.json").text):
        assert name in schemas, name
    operations = [operation for methods in described["paths"].values() for operation in methods.values()]
    assert operations
    assert all(operation["summary"] and operation["description"] for operation in operations)
    assert schemas["QuestionBody"]["examples"]
    assert described["paths"]["/solve"]["post"]["requestBody"]["content"]["application/json"]["examples"]


def test_every_response_carries_the_safe_headers(client: TestClient) -> None:
    for path in ("/healthz", "/nowhere", "/docs"):
        headers = client.get(path).headers
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
