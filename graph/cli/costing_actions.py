"""Does what the commands of cost ask for, at the shop that they name."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from collections.abc import Callable, Mapping
from datetime import date
from fractions import Fraction
from pathlib import Path

from graph.answer.serial import part_as_json
from graph.answer.words import cash, money, percent
from graph.cli import job_actions
from graph.cli.out_files import asked_file, write_file
from graph.cli.question import question_of
from graph.cli.said import pairs, said_by, wish_of, wishes
from graph.cli.shop import recording_shop_of
from graph.costing import shop
from graph.costing.asking import CostedAnswer, RouteCost, joint_odds_lines, odds_lines, route_at, route_cost, spread_at
from graph.costing.notes import TAX
from graph.costing.plot import plot_spread
from graph.costing.price_export import prices_as_csv, prices_as_xlsx
from graph.costing.price_import import ListReading, guess_mapping, preview_prices, price_notes, read_prices
from graph.costing.tables import ReadTable, read_table
from graph.costing.tax import find_tax, tax_note
from graph.counter import Shop
from graph.errors import InvalidInput, InvalidQuestion, NotFound, Problem
from graph.exact import HUNDREDTHS, NotExact, scaled
from graph.papers.details import Details
from graph.papers.html import as_html
from graph.papers.making import make_paper
from graph.papers.pdf import as_pdf
from graph.wear import WhileOut
from graph.wear.said import list_in_words


def run(arguments: Namespace) -> int:
    """Does what was asked; exit status 0. Raises LayshaftError."""
    with recording_shop_of(arguments) as counter:
        _ACTS[arguments.act](arguments, counter)
    return 0


def _asked(arguments: Namespace, counter: Shop) -> CostedAnswer:
    return counter.ask_costed(question_of(arguments), pairs(arguments.sign, "--sign"))


def _asked_if_it_can_be(arguments: Namespace, counter: Shop) -> CostedAnswer | None:
    """None only for a job's paper, whose plan is kept, where the facts no longer know what was asked about."""
    try:
        return _asked(arguments, counter)
    except (NotFound, InvalidQuestion):
        if not arguments.job:
            raise
        return None


def _cost(arguments: Namespace, counter: Shop) -> None:
    found = _asked(arguments, counter)
    limit = _money(arguments.limit, "--limit")
    cost = route_cost(found, arguments.rank, counter.notes, limit)
    if arguments.svg:
        drawn = plot_spread(spread_at(found, route_at(found.answer, arguments.rank)), cost.currency, _units(limit))
        write_file(asked_file(arguments.svg, (".svg",), "--svg"), drawn)
    print(json.dumps(part_as_json(cost), ensure_ascii=False) if arguments.json else _cost_words(cost))


def _while_out(arguments: Namespace, counter: Shop) -> None:
    signs = pairs(arguments.sign, "--sign")
    found = counter.while_out(question_of(arguments), arguments.rank, wish_of(arguments), signs)
    print(json.dumps(part_as_json(found), ensure_ascii=False) if arguments.json else list_in_words(found))


def _units(hundredths: int | None) -> Fraction | None:
    return None if hundredths is None else Fraction(hundredths, HUNDREDTHS)


def _cost_words(cost: RouteCost) -> str:
    lines = [
        cost.summary,
        f"nothing found {money(cost.total, cost.currency)}, expected {money(cost.expected, cost.currency)}, median "
        f"{money(cost.p50, cost.currency)}, nine times in ten at most {money(cost.p90, cost.currency)}",
    ]
    if cost.with_hours_p90 is not None:
        lines.append(f"with uncertain hours: median {cost.with_hours_p50:.2f}, nine in ten {cost.with_hours_p90:.2f}")
    if cost.exceeds is not None and cost.limit_hundredths is not None:
        lines.append(f"chance of exceeding {cash(cost.limit_hundredths, cost.currency)}: {percent(cost.exceeds)}")
    for state in cost.while_open:
        lines.append(f"while open ({state.state}):")
        lines += [f"  {each.label}: {each.words}" for each in state.advice]
    for each in cost.found_on_strip:
        prices = f"now {money(each.now)}, later {money(each.later)}"
        lines.append(f"if found worn: {each.label} ({percent(each.odds)}): {prices}")
    lines += [f"odds of {each.label}: {each.words}" for each in cost.odds]
    return "\n".join([*lines, *filter(None, [cost.independence, *(tie.words for tie in cost.ties)]), *cost.told])


def _found(arguments: Namespace, counter: Shop) -> tuple[CostedAnswer | None, WhileOut | None]:
    if not wishes(arguments):
        return _asked_if_it_can_be(arguments, counter), None
    if arguments.job:
        told = "a planned job's paper prints its own plan, with what was ticked then; leave out --job or --renew"
        raise InvalidInput([Problem("--renew", told)])
    signs = pairs(arguments.sign, "--sign")
    return counter.costed_and_open(question_of(arguments), arguments.rank, wish_of(arguments), signs)


def _paper(arguments: Namespace, counter: Shop) -> None:
    out = asked_file(arguments.out, (".pdf", ".html"))
    details = Details(
        number=arguments.number, dated=date.today().isoformat(), shop=arguments.shop, customer=arguments.customer,
        vehicle=arguments.vehicle_name, wish=arguments.wish, identified_by=arguments.identified_by,
        valid_until=arguments.valid_until, address=arguments.address, units=arguments.units,
        limit_hundredths=_money(arguments.limit, "--limit"),
    )  # fmt: skip
    found, renewals = _found(arguments, counter)
    known = counter.index.catalogue
    paper = make_paper(arguments.kind, found, arguments.rank, details, counter.notes, arguments.job, known, renewals)
    write_file(out, as_pdf(paper) if out.suffix.lower() == ".pdf" else as_html(paper))
    print(f"{paper.kind} {paper.number}: {out}")


def _prices(arguments: Namespace, counter: Shop) -> None:
    if arguments.what in ("export", "list"):
        prices = shop.list_prices(counter.notes)
        if arguments.what == "list" or not arguments.file:
            sys.stdout.write(prices_as_csv(prices))
        else:
            out = asked_file(arguments.file, (".csv", ".xlsx"), "FILE")
            write_file(out, prices_as_xlsx(prices) if out.suffix.lower() == ".xlsx" else prices_as_csv(prices))
            print(f"{len(prices)} prices: {arguments.file}")
        return
    if not arguments.file:
        raise InvalidInput([Problem("FILE", "expected a price list, CSV or XLSX")])
    with Path(arguments.file).open("rb") as file:
        table = read_table(file, Path(arguments.file).name)
    reading = _reading(arguments, table)
    if arguments.what == "preview":
        _print_preview(table, reading, counter)
        return
    read = read_prices(table, reading, date.today(), counter.names)
    made = counter.keep(price_notes(read, said_by(arguments, f"price list {arguments.file}")))
    print(f"{len(made)} prices kept as {made[0].batch} (python -m graph take-back {made[0].batch})")
    if read.left_out:
        print(f"{len(read.left_out)} rows left out, of parts that nobody knows: {', '.join(read.left_out[:10])}")


def _reading(arguments: Namespace, table: ReadTable) -> ListReading:
    mapping = pairs(arguments.column, "--column") or guess_mapping(table.header)
    defaults = pairs(arguments.default, "--default")
    return ListReading(mapping, defaults, arguments.date_order, arguments.decimal_mark, arguments.leave_out_unknown)


def _print_preview(table: ReadTable, reading: ListReading, counter: Shop) -> None:
    found = preview_prices(table, reading, date.today(), counter.names)
    for name, column in found.mapping.items():
        print(f"{name}: column {column!r}")
    print(f"columns not used: {', '.join(found.unused) or 'none'}; rows: {found.rows}")
    for price in found.first:
        print(f"  {price.part}: {cash(price.cash_hundredths, price.currency)}, {price.condition}, {price.dated}")
    if found.left_out:
        print(f"{len(found.left_out)} rows would be left out: {', '.join(found.left_out[:10])}")
    for problem in found.problems:
        print(problem)


def _odds(arguments: Namespace, counter: Shop) -> None:
    costed = counter.standing().costed
    lines = (*odds_lines(costed), *joint_odds_lines(costed))
    if arguments.json:
        print(json.dumps(part_as_json(lines), ensure_ascii=False))
    else:
        print("\n".join(f"{line.fault}: {line.label}: {line.words}" for line in lines))


def _shop(arguments: Namespace, counter: Shop) -> None:
    if arguments.what == "list":
        found = {
            "stock": shop.list_stock(counter.notes),
            "rates": shop.list_rates(counter.notes),
            "sublets": shop.list_sublets(counter.notes),
            "tax": find_tax(counter.notes),
        }
        print(json.dumps(part_as_json(found), ensure_ascii=False, indent=None if arguments.json else 2))
        return
    if not arguments.about:
        raise InvalidInput([Problem("ID", "expected a part, a kind of work, an id of work sent out, or the tax (%)")])
    makers = {"stock": shop.stock_note, "rate": shop.rate_note, "sublet": shop.sublet_note}
    if arguments.what == TAX:
        note = tax_note(arguments.about, said_by(arguments))
    else:
        note = makers[arguments.what](arguments.about, pairs(arguments.values, "--set"), said_by(arguments))
    counter.keep([note])
    print(f"kept as {note.batch}")


def _take_back(arguments: Namespace, counter: Shop) -> None:
    note = shop.take_back(counter.notes, arguments.batch, said_by(arguments), arguments.reason)
    print(f"taken back: {arguments.batch} ({note.body['notes']} notes)")


def _money(text: str | None, option: str) -> int | None:
    if text is None:
        return None
    try:
        return scaled(text, HUNDREDTHS)
    except NotExact as fault:
        raise InvalidInput([Problem(option, str(fault))]) from None


_ACTS: Mapping[str, Callable[[Namespace, Shop], None]] = {
    "cost": _cost, "while-it-is-out": _while_out, "paper": _paper, "prices": _prices, "odds": _odds, "shop": _shop,
    "plan-job": job_actions.plan, "job": job_actions.act, "take-back": _take_back,
}  # fmt: skip
