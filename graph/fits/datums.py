"""From which face each position is usually taken (common practice), so that a reading says so without much typing.

The faces are those of the length chains; a shop that measures from another face says so with the reading.
"""

from __future__ import annotations

from collections.abc import Mapping

from graph.fits.length_sheet import BELL_FACE, BLOCK_FACE, BOX_FACE, FRICTION_FACE

USUAL_DATUM: Mapping[str, str] = {
    "hub-front-reach": FRICTION_FACE,
    "hub-rear-reach": FRICTION_FACE,
    "spring-front-reach": FRICTION_FACE,
    "bolt-head-depth": FRICTION_FACE,
    "release-height": BOX_FACE,
    "pilot-rear-face": BLOCK_FACE,
    "housing-depth": BELL_FACE,
    "stick-out": BOX_FACE,
    "shoulder-to-ring": "journal shoulder",
    "shoulder-stock": "journal shoulder",
    "level-plug-behind": "middle of the oil space",
    "bearing-proud": BOX_FACE,
    "retainer-recess": "retainer's mounting face",
    "tail-length": "case rear face",
}
