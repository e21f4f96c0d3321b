"""Drawn photos that several tests look at: drawing one takes a second or two."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from tests.photo.drawn import bell, coarse, draw


@pytest.fixture(scope="session")
def bell_grey() -> NDArray[np.uint8]:
    with coarse():
        return draw(bell())


@pytest.fixture(scope="session")
def bell_photo(bell_grey: NDArray[np.uint8]) -> bytes:
    """The same as a phone sends it."""
    done, coded = cv2.imencode(".jpg", bell_grey, [cv2.IMWRITE_JPEG_QUALITY, 92])
    assert done
    return bytes(coded)
