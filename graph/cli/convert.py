"""`convert GEARBOX ENGINE`: the conversion document of a question, ready for `solve`."""

from __future__ import annotations

import json
from argparse import Namespace

from graph.cli.question import question_of
from graph.cli.shop import shop_of
from graph.conversion.as_json import conversion_as_json


def run(arguments: Namespace) -> int:
    """Prints the document as JSON."""
    question = question_of(arguments)
    with shop_of(arguments) as shop:
        conversion = shop.document(question)
    print(json.dumps(conversion_as_json(conversion), ensure_ascii=False, indent=2))
    return 0
