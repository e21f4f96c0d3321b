"""What all tests share."""

from __future__ import annotations

import warnings

with warnings.catch_warnings():
    # At import the test client announces a successor of its HTTP library; ours is the one that the locks pin.
    warnings.filterwarnings("ignore", message="Using `httpx` with `starlette.testclient`")
    import fastapi.testclient  # noqa: F401
