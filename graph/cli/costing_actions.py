"""Does what the commands of cost ask for, at the shop that they name."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from pathlib import Path

from graph.answer.serial import part_as_json
from graph.answer.words import cash, money, percent
from graph.cli.question import question_of
from graph.cli.shop import recording_shop_of
from graph.costing import jobs, shop
from graph.costing.asking import CostedAnswer, RouteCost, joint_odds_lines, odds_lines, route_at, route_cost, spread_at
from graph.costing.known_names import KnownNames
from graph.costing.notes import TAX, CostNote, Provenance
from graph.costing.past_jobs import JobFilter, find_jobs, last_times, state_words
from graph.costing.plan import plan_and_open
from graph.costing.plot import plot_spread
from graph.costing.price_export import prices_as_csv, prices_as_xlsx
from graph.costing.price_import import ListReading, guess_mapping, preview_prices, price_notes, read_prices
from graph.costing.stops import halt_entry
from graph.costing.tables import ReadTable, read_table
from graph.costing.tax import find_tax, tax_note
from graph.counter import Shop
from graph.errors import InvalidInput, InvalidQuestion, NotFound, Problem
from graph.exact import HUNDREDTHS, NotExact, scaled
from graph.papers.details import Details
from graph.papers.html import as_html
from graph.papers.making import make_paper
from graph.papers.pdf import as_pdf
from graph.wear import RenewalWish, WhileOut, read_wish
from graph.wear.said import list_in_words


def run(arguments: Namespace) -> int:
    """Does what was asked; exit status 0. Raises LayshaftError."""
    with recording_shop_of(arguments) as counter:
        _ACTS[arguments.act](arguments, counter)
    return 0


def _asked(arguments: Namespace, counter: Shop) -> CostedAnswer:
    return counter.ask_costed(question_of(arguments), _pairs(arguments.sign, "--sign"))


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
        Path(arguments.svg).write_text(drawn, encoding="utf-8")
    print(json.dumps(part_as_json(cost), ensure_ascii=False) if arguments.json else _cost_words(cost))


def _while_out(arguments: Namespace, counter: Shop) -> None:
    signs = _pairs(arguments.sign, "--sign")
    found = counter.while_out(question_of(arguments), arguments.rank, _wish(arguments), signs)
    print(json.dumps(part_as_json(found), ensure_ascii=False) if arguments.json else list_in_words(found))


def _wish(arguments: Namespace) -> RenewalWish:
    return read_wish(arguments.renew, arguments.warranty, "--warranty")


def _wishes(arguments: Namespace) -> bool:
    return bool(arguments.renew) or arguments.warranty is not None


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
    if not _wishes(arguments):
        return _asked_if_it_can_be(arguments, counter), None
    if arguments.job:
        told = "a planned job's paper prints its own plan, with what was ticked then; leave out --job or --renew"
        raise InvalidInput([Problem("--renew", told)])
    signs = _pairs(arguments.sign, "--sign")
    return counter.costed_and_open(question_of(arguments), arguments.rank, _wish(arguments), signs)


def _paper(arguments: Namespace, counter: Shop) -> None:
    out = Path(arguments.out)
    if out.suffix not in (".pdf", ".html"):
        raise InvalidInput([Problem("--out", f"expected a file that ends in .pdf or .html, found {arguments.out!r}")])
    details = Details(
        number=arguments.number, dated=date.today().isoformat(), shop=arguments.shop, customer=arguments.customer,
        vehicle=arguments.vehicle_name, wish=arguments.wish, identified_by=arguments.identified_by,
        valid_until=arguments.valid_until, address=arguments.address, units=arguments.units,
        limit_hundredths=_money(arguments.limit, "--limit"),
    )  # fmt: skip
    found, renewals = _found(arguments, counter)
    known = counter.index.catalogue
    paper = make_paper(arguments.kind, found, arguments.rank, details, counter.notes, arguments.job, known, renewals)
    out.write_bytes(as_pdf(paper) if out.suffix == ".pdf" else as_html(paper).encode())
    print(f"{paper.kind} {paper.number}: {out}")


def _prices(arguments: Namespace, counter: Shop) -> None:
    if arguments.what in ("export", "list"):
        prices = shop.list_prices(counter.notes)
        if arguments.what == "list" or not arguments.file:
            sys.stdout.write(prices_as_csv(prices))
        else:
            xlsx = arguments.file.endswith(".xlsx")
            Path(arguments.file).write_bytes(prices_as_xlsx(prices) if xlsx else prices_as_csv(prices).encode())
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
    made = counter.keep(price_notes(read, _said(arguments, f"price list {arguments.file}")))
    print(f"{len(made)} prices kept as {made[0].batch} (python -m graph take-back {made[0].batch})")
    if read.left_out:
        print(f"{len(read.left_out)} rows left out, of parts that nobody knows: {', '.join(read.left_out[:10])}")


def _reading(arguments: Namespace, table: ReadTable) -> ListReading:
    mapping = _pairs(arguments.column, "--column") or guess_mapping(table.header)
    defaults = _pairs(arguments.default, "--default")
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
        note = tax_note(arguments.about, _said(arguments))
    else:
        note = makers[arguments.what](arguments.about, _pairs(arguments.values, "--set"), _said(arguments))
    counter.keep([note])
    print(f"kept as {note.batch}")


def _plan(arguments: Namespace, counter: Shop) -> None:
    if _wishes(arguments):
        signs = _pairs(arguments.sign, "--sign")
        found, ticked = counter.costed_and_open(question_of(arguments), arguments.rank, _wish(arguments), signs)
    else:
        found, ticked = _asked(arguments, counter), None
    said = _said(arguments)
    job = plan_and_open(counter.notes, found, arguments.rank, arguments.title, said, arguments.number, ticked)
    _print_job(job, arguments, counter.names)


def _job(arguments: Namespace, counter: Shop) -> None:
    if arguments.what == "list":
        wanted = JobFilter(words=arguments.words, gearbox=arguments.gearbox, engine=arguments.engine)
        for job in reversed(find_jobs(counter.notes, counter.index, wanted)):
            print(f"{job.id}: {job.title}: {state_words(job)}")
        return
    if arguments.what == "last":
        _last_times(arguments, counter)
        return
    job = jobs.get_job(counter.notes, arguments.job)
    if arguments.what != "show":
        values = _pairs(arguments.values, "--set")
        try:
            if arguments.what == "close":
                made = jobs.close_job(job, values["outcome"], _said(arguments), shop.list_stock(counter.notes))
            elif arguments.what == "reopen":
                made = [jobs.reopen(counter.notes, job, _said(arguments), values["reason"])]
            elif arguments.what == "take-back":
                reason = values.get("reason", "")
                made = [jobs.take_entry_back(counter.notes, job, values["entry"], _said(arguments), reason)]
            elif arguments.what == "halt":
                tasks = counter.index.catalogue.tasks
                made = [halt_entry(job, values.get("stop", ""), values.get("words", ""), _said(arguments), tasks)]
            else:
                made = _ENTRIES[arguments.what](job, values, _said(arguments))
        except KeyError as missing:
            raise InvalidInput([Problem("--set", f"expected {missing.args[0]}=...")]) from None
        counter.keep_entry(made)
    _print_job(jobs.get_job(counter.notes, job.id), arguments, counter.names)


def _last_times(arguments: Namespace, counter: Shop) -> None:
    found = last_times(counter.notes, counter.index, counter.names, arguments.gearbox, arguments.engine)
    if arguments.json:
        print(json.dumps(part_as_json(found), ensure_ascii=False))
        return
    for job in found:
        print(f"{job.id}: {job.title} ({job.near}): {job.state}; {job.took}; {job.lasted}")
        for said in (*(f"worn: {one}" for one in job.found), *job.remarks):
            print(f"  {said}")
    if not found:
        print("No job of these two, or of their families, is known.")


def _print_job(job: jobs.Job, arguments: Namespace, known: KnownNames) -> None:
    noted = job.actual_hundredths or {}
    words = {note.id: jobs.words_of_entry(note, known.names_in(note, job)) for note in job.noted}
    if arguments.json:
        entries = [{"id": note.id, "words": words[note.id], "author": note.author} for note in job.noted]
        said = {"id": job.id, "outcome": job.outcome, "closing": job.closing, "actual": noted, "entries": entries}
        print(json.dumps(said, ensure_ascii=False))
        return
    print(f"{job.id}: {job.title}: {state_words(job)}{f' (batch {job.closing})' if job.closing else ''}")
    for step in job.steps:
        actual = f", actual {noted[step.number] / HUNDREDTHS:.2f} h" if step.number in noted else ""
        print(f"  {step.number}. {step.stage}: {step.text} ({step.hours_hundredths / HUNDREDTHS:.2f} h{actual})")
    for note in job.noted:
        print(f"  {note.id}: {words[note.id]} ({note.author})")


def _take_back(arguments: Namespace, counter: Shop) -> None:
    note = shop.take_back(counter.notes, arguments.batch, _said(arguments), arguments.reason)
    print(f"taken back: {arguments.batch} ({note.body['notes']} notes)")


def _said(arguments: Namespace, method: str = "") -> Provenance:
    return Provenance(arguments.author or "command line", method)


def _pairs(texts: Sequence[str], option: str) -> dict[str, str]:
    pairs = [text.partition("=") for text in texts]
    bad = [before for before, equals, _ in pairs if not equals]
    if bad:
        raise InvalidInput([Problem(option, f"expected NAME=VALUE, found {each!r}") for each in bad])
    return {before.strip(): after.strip() for before, _, after in pairs}


def _money(text: str | None, option: str) -> int | None:
    if text is None:
        return None
    try:
        return scaled(text, HUNDREDTHS)
    except NotExact as fault:
        raise InvalidInput([Problem(option, str(fault))]) from None


def _yes(values: Mapping[str, str], key: str) -> bool:
    said = values.get(key, "no")
    if said not in ("yes", "no"):
        raise InvalidInput([Problem(f"--set {key}", f"expected yes or no, found {said!r}")])
    return said == "yes"


def _whole(values: Mapping[str, str], key: str) -> int:
    if not values[key].isdecimal():
        raise InvalidInput([Problem(f"--set {key}", f"expected a whole number, found {values[key]!r}")])
    return int(values[key])


_Values = Mapping[str, str]


def _finding(job: jobs.Job, v: _Values, said: Provenance) -> list[CostNote]:
    signs = {
        sign.strip(): state.strip()
        for sign, _, state in (each.partition(":") for each in v.get("signs", "").split(",") if each.strip())
    }
    found = jobs.finding_entry(job, v["fault"], _yes(v, "laid_open"), _yes(v, "worn"), said, v.get("words", ""), signs)
    return [found]


def _measurement(job: jobs.Job, v: _Values, said: Provenance) -> list[CostNote]:
    optional = (v.get(name, "") for name in ("datum", "tool", "by"))
    return [jobs.measurement_entry(job, jobs.JobMeasurement(v["what"], v["reading"], *optional), said)]


def _as_built(job: jobs.Job, v: _Values, said: Provenance) -> list[CostNote]:
    built = jobs.AsBuilt(v["position"], v["part"], v.get("condition", ""), v.get("words", ""))
    return [jobs.as_built_entry(job, built, said)]


_ENTRIES: Mapping[str, Callable[[jobs.Job, _Values, Provenance], list[CostNote]]] = {
    "hours": lambda job, v, said: [jobs.hours_entry(job, _whole(v, "step"), v["hours"], said)],
    "finding": _finding,
    "measurement": _measurement,
    "as-built": _as_built,
    "remark": lambda job, v, said: [jobs.remark_entry(job, v["words"], said)],
    "follow-up": lambda job, v, said: jobs.follow_up(
        job, _whole(v, "months"), _yes(v, "good"), said, v.get("words", "")
    ),
}
_ACTS: Mapping[str, Callable[[Namespace, Shop], None]] = {
    "cost": _cost, "while-it-is-out": _while_out, "paper": _paper, "prices": _prices, "odds": _odds, "shop": _shop,
    "plan-job": _plan, "job": _job, "take-back": _take_back,
}  # fmt: skip
