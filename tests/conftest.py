"""What all tests share."""

from __future__ import annotations

import gc
import warnings

with warnings.catch_warnings():
    # At import the test client announces a successor of its HTTP library; ours is the one that the locks pin.
    warnings.filterwarnings("ignore", message="Using `httpx` with `starlette.testclient`")
    import fastapi.testclient  # noqa: F401

gc.freeze()  # what libraries hold stays, as do catalogues that tests share: walking them at every turn costs a fifth
gc.set_threshold(50_000, 20, 50)
