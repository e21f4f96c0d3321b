"""GET /docs: the API to read and try, from assets in a Python package; no outside host is asked for anything.

The bundled reader knows OpenAPI 3.0, so it gets the description in that dialect; `/openapi.json` stays 3.1.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.responses import FileResponse, HTMLResponse
from starlette.exceptions import HTTPException
from swagger_ui_bundle import swagger_ui_path  # type: ignore[import-untyped]

from api.json import PlainJson
from api.roles import OPEN, needs

ASSETS = Path(str(swagger_ui_path))
SERVED = ("swagger-ui.css", "index.css", "swagger-ui-bundle.js", "favicon-32x32.png")

PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Layshaft API</title>
<link rel="stylesheet" href="docs/assets/swagger-ui.css">
<link rel="stylesheet" href="docs/assets/index.css">
<link rel="icon" type="image/png" href="docs/assets/favicon-32x32.png">
</head>
<body>
<div id="api">Reading the description of the API &hellip;</div>
<script src="docs/assets/swagger-ui-bundle.js"></script>
<script src="docs/start.js"></script>
</body>
</html>
"""
START = """SwaggerUIBundle({
  url: new URL("docs/openapi-3.0.json", document.baseURI).href,
  dom_id: "#api",
  deepLinking: true,
  validatorUrl: null,
});
"""


def install(app: FastAPI) -> None:
    """Adds the page, its script and its assets."""

    @cache
    def older() -> dict[str, Any]:
        return as_openapi_30(app.openapi())

    @needs(OPEN)
    @app.get("/docs", include_in_schema=False)
    async def page() -> Response:
        return HTMLResponse(PAGE)

    @needs(OPEN)
    @app.get("/docs/start.js", include_in_schema=False)
    async def start() -> Response:
        return Response(START, media_type="text/javascript")

    @needs(OPEN)
    @app.get("/docs/openapi-3.0.json", include_in_schema=False)
    async def description(request: Request) -> Response:
        return PlainJson(older())

    @needs(OPEN)
    @app.get("/docs/assets/{name}", include_in_schema=False)
    async def asset(name: str) -> Response:
        if name not in SERVED:
            raise HTTPException(404)
        return FileResponse(ASSETS / name, headers={"cache-control": "max-age=86400"})


def as_openapi_30(description: dict[str, Any]) -> dict[str, Any]:
    """The description in the 3.0 dialect: `nullable` for null, one `example` for `examples`, `enum` for `const`.

    Its security requirements name no roles, which 3.0 knows for OAuth only; the operation's words say them as well.
    """
    return {**_older(description), "openapi": "3.0.3"}


def _older(value: Any) -> Any:
    if isinstance(value, list):
        return [_older(item) for item in value]
    if not isinstance(value, dict):
        return value
    found = {key: _older(item) for key, item in value.items()}
    if isinstance(found.get("anyOf"), list) and {"type": "null"} in found["anyOf"]:
        rest = [item for item in found.pop("anyOf") if item != {"type": "null"}]
        found["nullable"] = True
        found["allOf" if len(rest) == 1 else "anyOf"] = rest
    if isinstance(found.get("examples"), list):
        found["example"] = next(iter(found.pop("examples")), None)
    if isinstance(found.get("security"), list):
        found["security"] = [{name: [] for name in one} for one in found["security"]]
    if "const" in found:
        found["enum"] = [found.pop("const")]
    return found
