"""What the commands share: options, opening the reference, and how answers and errors are said."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .finding import FindingsError, FolioproofError
from .vocabulary import Status

if TYPE_CHECKING:
    from .reference import Reference

NO_CONFIDENT_ANSWER = 3
DATABASE = click.option(
    "--database",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Ask this built file, not the cached one.",
)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="One JSON object per line.")


class Group(click.Group):
    """Turns every error that is meant for a person into one line and exit code 1."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; what is wrong with the input is one line each, then one failure."""
        if os.environ.get("NO_COLOR"):
            ctx.color = False
        try:
            return super().invoke(ctx)
        except FindingsError as error:
            for finding in error.findings[:20]:
                click.echo(str(finding), err=True)
            raise click.ClickException(str(error)) from None
        except FolioproofError as error:
            raise click.ClickException(str(error)) from None


def names_of(given: tuple[str, ...]) -> Iterator[str]:
    """Yield the names; `-` stands for one name a line on standard input, without its end or a byte-order mark."""
    for name in given:
        if name != "-":
            yield name
            continue
        for number, line in enumerate(sys.stdin.buffer):
            text = line.decode("utf-8", "replace")
            if number == 0:
                text = text.removeprefix("\ufeff")
            yield text.removesuffix("\n").removesuffix("\r")


def say(line: str) -> None:
    """Print one line; what cannot be written as UTF-8 becomes a question mark."""
    click.echo(line.encode("utf-8", "replace").decode("utf-8"))


def say_json(value: dict[str, Any]) -> None:
    """Print one JSON object on one line."""
    # Lone surrogates (an argument that is not UTF-8) cannot be written; they become question marks.
    say(json.dumps(value, ensure_ascii=False))


def open_reference(database: Path | None) -> Reference:
    """Open the named database, or the records that came with folioproof, built on first use."""
    from .reference import Reference

    if database is not None:
        return Reference.open(database)
    from .cache import ready_database

    with Progress() as advance:
        path = ready_database(advance)
    return Reference.open(path)


class Progress:
    """A progress bar on standard error, drawn only when there is work to wait for and a person looks on."""

    def __enter__(self) -> Callable[[str, int, int], None]:
        self._bar: Any = None
        return self._advance

    def _advance(self, stage: str, done: int, total: int) -> None:
        if not sys.stderr.isatty():
            return
        if self._bar is not None and self._bar.length != total:
            # Another kind of work: what is done of it is counted in other units.
            self.__exit__()
            self._bar = None
        if self._bar is None:
            self._bar = click.progressbar(length=total, label=stage, file=sys.stderr)
            self._bar.__enter__()
        self._bar.label = stage
        self._bar.update(done - self._bar.pos)

    def __exit__(self, *error: object) -> None:
        if self._bar is not None:
            self._bar.__exit__(None, None, None)


def answer(
    names: tuple[str, ...],
    as_json: bool,
    ask: Callable[[str], Any],
    lines: Any,
    plain: Any,
    confident: Any,
    *,
    several: bool = False,
) -> None:
    """Ask name by name, show each answer at once, and leave with 3 when any answer is not confident.

    `several` says that one name gets a sequence of answers, each an object of its own in JSON.
    """
    from .terminal import caution_lines

    unsure = False
    for count, name in enumerate(names_of(names)):
        found = ask(name)
        unsure |= not confident(found)
        if as_json:
            for each in found if several else (found,):
                say_json(plain(each))
            continue
        if count:
            say("")
        for line in lines(found):
            say(line)
    if not as_json:
        say("")
        for line in caution_lines():
            say(line)
    sys.stdout.flush()
    if unsure:
        raise click.exceptions.Exit(NO_CONFIDENT_ANSWER)


def is_exact(answer: Any) -> bool:
    """Say whether an answer is about one plant by its very name."""
    return bool(answer.status is Status.EXACT)
