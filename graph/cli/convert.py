"""`convert GEARBOX ENGINE`: the conversion document of a question, ready for `solve`."""

from __future__ import annotations

import json
from argparse import Namespace

from graph.cli.question import index_of, question_of
from graph.conversion.parse import conversion_as_json
from graph.reading import read_conversion


def run(arguments: Namespace) -> int:
    """Prints the document as JSON."""
    question = question_of(arguments)
    reading = read_conversion(index_of(arguments.facts), question)
    print(json.dumps(conversion_as_json(reading.conversion), ensure_ascii=False, indent=2))
    return 0
