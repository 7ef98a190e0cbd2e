"""The commands about colour and season: expect, gather, like, swap, palette, calendar."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from .cli_shared import AS_JSON, DATABASE, NO_CONFIDENT_ANSWER, answer, is_exact, open_reference, say, say_json
from .vocabulary import FIBRES, TREATMENTS, Company, Fibre, Part, Status, Treatment

_NEAR_HELP = "Where: latitude,longitude, a time-zone city such as Europe/Lisbon, or an ISO 3166 code."
_TREATMENT = click.option(
    "--treatment",
    default=Treatment.ALUM.value,
    show_default=True,
    type=click.Choice([t.value for t in TREATMENTS]),
    help="What metal meets the leaf.",
)
_ANY_TREATMENT = click.option(
    "--treatment", type=click.Choice([t.value for t in TREATMENTS]), help="All four when left out."
)
_FIBRE = click.option(
    "--fibre",
    default=Fibre.PAPER.value,
    show_default=True,
    type=click.Choice([f.value for f in FIBRES]),
    help="What the leaf is laid on.",
)
_NEAR = click.option("--near", help=_NEAR_HELP)
_NEAR_REQUIRED = click.option("--near", required=True, help=_NEAR_HELP)
_ON = click.option("--on", metavar="DATE", help="The day, YYYY-MM-DD; today when left out.")


_Command = TypeVar("_Command", bound=Callable[..., Any])


def _company(default: Company) -> Callable[[_Command], _Command]:
    return click.option(
        "--company",
        multiple=True,
        default=[default.value],
        show_default=True,
        type=click.Choice([c.value for c in Company]),
        help="Who is in the room; may be given more than once.",
    )


def _limit(default: int) -> Callable[[_Command], _Command]:
    return click.option(
        "--limit", default=default, show_default=True, type=click.IntRange(1, 1000), help="How many to list at most."
    )


@click.command()
@click.argument("names", nargs=-1, required=True)
@_ANY_TREATMENT
@_FIBRE
@click.option("--part", default=Part.LEAF.value, show_default=True, type=click.Choice([p.value for p in Part]))
@_NEAR
@_ON
@AS_JSON
@DATABASE
def expect(
    names: tuple[str, ...],
    treatment: str | None,
    fibre: str,
    part: str,
    near: str | None,
    on: str | None,
    as_json: bool,
    database: Path | None,
) -> None:
    """Say what each of NAMES is expected to print, how strongly, and what that rests on. `-` reads names."""
    from .print_answers import expectation_json
    from .terminal_prints import expectation_lines

    with open_reference(database) as reference:

        def ask(name: str) -> Any:
            return reference.prints.expect(name, treatment, fibre, part, near, on)

        def is_sure(found: Any) -> bool:
            return bool(found[0].status is Status.EXACT)

        answer(names, as_json, ask, expectation_lines, expectation_json, is_sure, several=True)


@click.command()
@_NEAR_REQUIRED
@_ON
@_TREATMENT
@_FIBRE
@_company(Company.ADULTS)
@click.option("--wants", multiple=True, metavar="COLOUR", help="A colour wanted: hex, L,a,b, or a name; repeatable.")
@_limit(30)
@AS_JSON
@DATABASE
def gather(
    near: str,
    on: str | None,
    treatment: str,
    fibre: str,
    company: tuple[str, ...],
    wants: tuple[str, ...],
    limit: int,
    as_json: bool,
    database: Path | None,
) -> None:
    """List what to gather at a place on a day: plants that may be used in this company, strongest now first."""
    from .print_answers import gathered_json
    from .terminal_prints import gathering_lines

    with open_reference(database) as reference:
        found = reference.prints.gather(near, on, treatment, fibre, company, wants, limit)
        if as_json:
            for row in found.plants:
                say_json(gathered_json(row))
        else:
            _say_with_cautions(gathering_lines(found))
    _leave_unless(bool(found.plants))


@click.command()
@click.argument("colour")
@_ANY_TREATMENT
@_FIBRE
@_company(Company.ADULTS)
@_limit(20)
@AS_JSON
@DATABASE
def like(
    colour: str,
    treatment: str | None,
    fibre: str,
    company: tuple[str, ...],
    limit: int,
    as_json: bool,
    database: Path | None,
) -> None:
    """List the plants and treatments whose expected colour is nearest to COLOUR: hex, L,a,b, or a name."""
    from .print_answers import near_json
    from .terminal_prints import like_lines

    with open_reference(database) as reference:
        found = reference.prints.like(colour, treatment, fibre, company, limit)
        if as_json:
            for row in found.found:
                say_json(near_json(row))
        else:
            _say_with_cautions(like_lines(found))
    _leave_unless(bool(found.found))


@click.command()
@click.argument("name")
@_TREATMENT
@_FIBRE
@_NEAR
@_ON
@_company(Company.CLASS)
@_limit(12)
@AS_JSON
@DATABASE
def swap(
    name: str,
    treatment: str,
    fibre: str,
    near: str | None,
    on: str | None,
    company: tuple[str, ...],
    limit: int,
    as_json: bool,
    database: Path | None,
) -> None:
    """List plants that may stand in for NAME: near in colour, like in leaf shape, usable in this company."""
    from .print_answers import near_json
    from .terminal_prints import swap_lines

    with open_reference(database) as reference:
        found = reference.prints.swap(name, treatment, fibre, near, on, company, limit)
        if as_json:
            for row in found.found:
                say_json({"query": found.query, "status": found.status, **near_json(row)})
        else:
            _say_with_cautions(swap_lines(found))
    _leave_unless(bool(found.found) and found.status is Status.EXACT)


@click.command()
@click.argument("names", nargs=-1, required=True)
@_TREATMENT
@_FIBRE
@AS_JSON
@DATABASE
def palette(names: tuple[str, ...], treatment: str, fibre: str, as_json: bool, database: Path | None) -> None:
    """Show the colours of a planned sheet together, and which will be hard to tell apart."""
    from .print_answers import palette_json
    from .terminal_prints import palette_lines

    with open_reference(database) as reference:
        found = reference.prints.palette(names, treatment, fibre)
        if as_json:
            say_json(palette_json(found))
        else:
            _say_with_cautions(palette_lines(found))
    _leave_unless(all(each.status is Status.EXACT for each in found.colours))


@click.command()
@click.argument("name")
@_NEAR_REQUIRED
@click.option("--year", type=click.IntRange(1900, 2100), help="This year when left out.")
@AS_JSON
@DATABASE
def calendar(name: str, near: str, year: int | None, as_json: bool, database: Path | None) -> None:
    """Show the twelve months of NAME at a place: leaf stage, strength, and the rule that set the dates."""
    from .print_answers import year_json
    from .terminal_prints import year_lines

    with open_reference(database) as reference:
        found = reference.prints.calendar(name, near, year)
        if as_json:
            say_json(year_json(found))
        else:
            _say_with_cautions(year_lines(found))
    _leave_unless(is_exact(found))


def _say_with_cautions(lines: Any) -> None:
    from .terminal import caution_lines

    for line in lines:
        say(line)
    say("")
    for line in caution_lines():
        say(line)
    sys.stdout.flush()


def _leave_unless(confident: bool) -> None:
    if not confident:
        raise click.exceptions.Exit(NO_CONFIDENT_ANSWER)


COMMANDS = (expect, gather, like, swap, palette, calendar)
