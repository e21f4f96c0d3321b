"""The commands of fits: `fit-check`, `identify`, `overlay`, `working`, `measure-next`.

`add_to` puts them on the command line; the work is imported when a command runs.
"""

from __future__ import annotations

import json
from argparse import Namespace
from collections.abc import Callable
from typing import Any

from graph.cli import options
from graph.cli.out_files import asked_file, write_file
from graph.cli.printed import print_lines

MODULE = "fits_commands"


def add_to(commands: Any) -> None:
    """Adds the commands to the subparsers of the command line."""
    check = options.add_command(
        commands, MODULE, "fit-check", "try a joint check on typed dimensions; without KIND, list the checks"
    )
    check.add_argument("kind", metavar="KIND", nargs="?", default="", help="axial-location, spline, length-chains, ...")
    check.add_argument("inputs", metavar="NAME=VALUE", nargs="*", help='such as width="25 mm +/- 0.01 mm"')

    identify = options.add_command(
        commands, MODULE, "identify", "which variant is this unit, and what to find out next"
    )
    identify.add_argument("family", metavar="FAMILY", help="a family, or gearbox or engine for all of them")
    identify.add_argument("inputs", metavar="QUANTITY=READING", nargs="*", help='such as stick-out="147.1 mm"')
    options.add_facts(identify)

    overlay = options.add_command(commands, MODULE, "overlay", "lay one measured bolt face over another")
    overlay.add_argument("a", metavar="PART", help="the part whose face stays")
    overlay.add_argument("b", metavar="PART", help="the part whose face is laid on it")
    overlay.add_argument("--joint", default="engine-face", metavar="KIND", help="joint kind of the faces (engine-face)")
    overlay.add_argument("--svg", default="", metavar="FILE", help="write the drawing into this file")
    options.add_facts(overlay)

    working = options.add_command(commands, MODULE, "working", "the working behind an edge, for checking with a pencil")
    working.add_argument("edge", metavar="EDGE", help="id of a noted or computed edge")
    options.add_facts(working)

    following = options.add_command(commands, MODULE, "measure-next", "what to measure next for a question")
    options.add_question(following)
    options.add_facts(following)


def run(arguments: Namespace) -> int:
    """Runs one of the commands; exit status 0 for an answer, whatever the verdict."""
    acts: dict[str, Callable[[Namespace], None]] = {
        "fit-check": _fit_check,
        "identify": _identify,
        "overlay": _overlay,
        "working": _working,
        "measure-next": _measure_next,
    }
    acts[arguments.act](arguments)
    return 0


def _print_json(value: Any) -> None:
    print(json.dumps(value, ensure_ascii=False))


def _fit_check(arguments: Namespace) -> None:
    from graph.answer.show import what_if_as_json
    from graph.fits.sketch import sketch_text
    from graph.what_if.kinds import WHAT_IFS, get_what_if, read_what_if, try_what_if

    if not arguments.kind:
        for kind, what in WHAT_IFS.items():
            print(f"{kind}: {what.about}")
        return
    if not arguments.inputs:
        for name, field in get_what_if(arguments.kind).fields.items():
            print(f"{name}{' (needed)' if field.needed else ''}: {field.about} - {field.how}")
        return
    if arguments.json:
        _print_json(what_if_as_json(arguments.kind, options.pairs_of(arguments.inputs)))
        return
    inputs = options.pairs_of(arguments.inputs)
    result, sketches = try_what_if(arguments.kind, inputs)
    print(f"{result.joint}: {result.verdict}")
    print(result.summary)
    if result.margin is not None:
        print(f"margin {result.margin} ({result.binding})")
    print_lines("read: ", (f"{name} {words}" for name, words in read_what_if(arguments.kind, inputs).items()))
    print_lines("", (span.text() for span in result.values))
    print_lines("measure: ", (missing.text() for missing in result.measure))
    print_lines("to do: ", (work.text for work in result.work))
    print_lines("", (line.text() for line in result.working.lines))
    print_lines("CAUTION: ", result.cautions)
    for sketch in sketches:
        print(f"\n{sketch_text(sketch)}")


def _identify(arguments: Namespace) -> None:
    from graph.answer.show import identification_as_json
    from graph.cli.shop import shop_of
    from graph.identify.units import identify_unit

    with shop_of(arguments) as shop:
        found = identify_unit(shop.index, arguments.family, options.pairs_of(arguments.inputs))
    if arguments.json:
        _print_json(identification_as_json(found))
        return
    print(found.summary)
    for one in found.standings:
        against = f"  no: {'; '.join(one.contradictions)}" if one.contradictions else ""
        print(f"  {one.probability:6.1%}  {one.label} ({one.variant}){against}")
    print(f"  {found.something_else:6.1%}  something else")
    for step in found.next_steps:
        print(f"next: {step.label}, {float(step.minutes):g} min, {step.bits:.2f} bits ({step.how})")


def _overlay(arguments: Namespace) -> None:
    from graph.answer.show import face_of, overlay_as_json
    from graph.cli.shop import shop_of

    with shop_of(arguments) as shop:
        a, b = (face_of(shop.index, part, arguments.joint) for part in (arguments.a, arguments.b))
    found = overlay_as_json(a, b)
    if arguments.svg and found["svg"]:
        write_file(asked_file(arguments.svg, (".svg",), "--svg"), found["svg"])
    if arguments.json:
        _print_json(found)
        return
    print(f"{found['result']['verdict']}: {found['result']['summary']}")
    print_lines("", (f"{row['number']}  {row['state']}  {row['text']}" for row in found["rows"]))


def _working(arguments: Namespace) -> None:
    from graph.answer.show import explained_as_json
    from graph.cli.shop import shop_of
    from graph.derive.explain import explain_edge
    from graph.fits.sketch import sketch_text

    with shop_of(arguments) as shop:
        explained = explain_edge(shop.index, arguments.edge)
    if arguments.json:
        _print_json(explained_as_json(explained))
        return
    edge, finding = explained.edge, explained.finding
    print(f"{edge.source} {edge.kind.replace('-', ' ')} {edge.target} at {edge.joint}: {explained.standing}")
    if explained.note is not None:
        print(f"noted: {explained.note.text} ({explained.note.evidence})")
    if finding is not None and finding.unknown is not None:
        print(finding.unknown.text)
    if finding is not None and finding.result is not None:
        print(f"{finding.result.verdict}: {finding.result.summary}")
        print_lines("", (line.text() for line in finding.result.working.lines))
    for sketch in explained.sketches:
        print(sketch_text(sketch))


def _measure_next(arguments: Namespace) -> None:
    from graph.cli.question import question_of
    from graph.cli.shop import shop_of
    from graph.counter.measuring import plan_as_json

    question = question_of(arguments)
    with shop_of(arguments) as shop:
        plan = shop.measure_next(question)
    if arguments.json:
        _print_json(plan_as_json(plan))
        return
    print(plan.headline)
    print_lines("say first: ", plan.asks)
    for number, look in enumerate(plan.first, start=1):
        print(f"{number}. {look.words}")
        if look.takes_result:
            print(f"   write the result down: {look.takes_result}")
    for one in plan.missing:
        _print_missing(one)
    print_lines("", plan.words)
    print_lines("take care: ", plan.cautions)


def _print_missing(one: Any) -> None:
    """A measurement that a joint waits for, where no assembly is settled."""
    sums = ["no route" if sum_ is None else f"{float(sum_):.2f}" for sum_ in (one.now, one.if_holds, one.if_fails)]
    print(f"measure {one.text} ({one.tool}, {float(one.minutes):g} min)")
    if not one.tried:
        print("  the time did not suffice to find out what would change; allow more with --seconds")
        return
    worked = "" if one.if_work is None else f", {float(one.if_work):.2f} if it holds with work"
    print(f"  now {sums[0]}, {sums[1]} if it holds{worked}, {sums[2]} if it fails ({', '.join(one.joints)})")
