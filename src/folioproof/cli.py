"""The command line. Exit codes: 0 done, 1 findings or a refused input, 2 wrong usage, 3 no confident answer."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from . import __version__
from .cli_measure import measure
from .finding import FindingsError, FolioproofError
from .vocabulary import Company, Part, State, Status

if TYPE_CHECKING:
    from .reference import Reference

_NO_CONFIDENT_ANSWER = 3
_DATABASE = click.option(
    "--database",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Ask this built file, not the cached one.",
)
_JSON = click.option("--json", "as_json", is_flag=True, help="One JSON object per line.")


class _Group(click.Group):
    """Turns every error that is meant for a person into one line and exit code 1."""

    def invoke(self, ctx: click.Context) -> Any:
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


@click.group(cls=_Group, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="folioproof")
def main() -> None:
    """Ask before you pick: which plant a name means, and whether its leaf may be handled and heated."""


main.add_command(measure)


def _names(given: tuple[str, ...]) -> Iterator[str]:
    """Yield the names; `-` stands for one name a line on standard input, stripped of nothing but the line end."""
    for name in given:
        if name != "-":
            yield name
            continue
        for line in sys.stdin.buffer:
            text = line.decode("utf-8", "replace")
            yield text.removesuffix("\n").removesuffix("\r")


def _say(line: str) -> None:
    click.echo(line.encode("utf-8", "replace").decode("utf-8"))


def _say_json(value: dict[str, Any]) -> None:
    # Lone surrogates (an argument that is not UTF-8) cannot be written; they become question marks.
    _say(json.dumps(value, ensure_ascii=False))


def _open(database: Path | None) -> Reference:
    from .reference import Reference

    if database is not None:
        return Reference.open(database)
    from .cache import ready_database

    with _progress() as progress:
        path = ready_database(progress)
    return Reference.open(path)


class _progress:  # noqa: N801 - used like a function
    """A progress bar on standard error, drawn only when there is work to wait for and a person looks on."""

    def __enter__(self) -> Callable[[str, int, int], None]:
        self._bar: Any = None
        return self._advance

    def _advance(self, stage: str, done: int, total: int) -> None:
        if not sys.stderr.isatty():
            return
        if self._bar is None:
            self._bar = click.progressbar(length=total, label=stage, file=sys.stderr)
            self._bar.__enter__()
        self._bar.label = stage
        self._bar.update(done - self._bar.pos)

    def __exit__(self, *error: object) -> None:
        if self._bar is not None:
            self._bar.__exit__(None, None, None)


def _answer(
    names: tuple[str, ...], as_json: bool, ask: Callable[[str], Any], lines: Any, plain: Any, confident: Any
) -> None:
    """Ask name by name, show each answer at once, and leave with 3 when any answer is not confident."""
    from .terminal import caution_lines

    unsure = False
    for count, name in enumerate(_names(names)):
        answer = ask(name)
        unsure |= not confident(answer)
        if as_json:
            _say_json(plain(answer))
            continue
        if count:
            _say("")
        for line in lines(answer):
            _say(line)
    if not as_json:
        _say("")
        for line in caution_lines():
            _say(line)
    sys.stdout.flush()
    if unsure:
        raise click.exceptions.Exit(_NO_CONFIDENT_ANSWER)


def _is_exact(answer: Any) -> bool:
    return bool(answer.status is Status.EXACT)


@main.command()
@click.argument("names", nargs=-1, required=True)
@click.option("--prefix", is_flag=True, help="List names that begin with the text; never a level.")
@_JSON
@_DATABASE
def find(names: tuple[str, ...], prefix: bool, as_json: bool, database: Path | None) -> None:
    """Say which plants each of NAMES may mean, and why. `-` reads one name per line."""
    from .answers import lookup_json
    from .terminal import lookup_lines

    with _open(database) as reference:
        if not prefix:
            _answer(names, as_json, reference.find, lookup_lines, lookup_json, _is_exact)
            return
        for name in _names(names):
            found = reference.starting_with(name)
            if as_json:
                _say_json({"query": name, "names": list(found)})
            else:
                for each in found:
                    _say(each)


@main.command()
@click.argument("names", nargs=-1, required=True)
@click.option("--part", default=Part.LEAF.value, show_default=True, type=click.Choice([p.value for p in Part]))
@click.option("--state", default=State.ANY.value, show_default=True, type=click.Choice([s.value for s in State]))
@click.option(
    "--company",
    multiple=True,
    default=[Company.ADULTS.value],
    show_default=True,
    type=click.Choice([c.value for c in Company]),
    help="Who is in the room; may be given more than once.",
)
@_JSON
@_DATABASE
def check(
    names: tuple[str, ...],
    part: str,
    state: str,
    company: tuple[str, ...],
    as_json: bool,
    database: Path | None,
) -> None:
    """Say whether each of NAMES may be picked, handled and heated: level, reasons, precautions, sources."""
    from .answers import check_json
    from .terminal import check_lines

    with _open(database) as reference:

        def ask(name: str) -> Any:
            return reference.check(name, part=part, state=state, company=company)

        _answer(names, as_json, ask, check_lines, check_json, _is_exact)


@main.command()
@click.argument("ids", nargs=-1, required=True)
@_JSON
@_DATABASE
def show(ids: tuple[str, ...], as_json: bool, database: Path | None) -> None:
    """Show everything about the plants with these IDS (find tells a plant's id)."""
    from .answers import plant_json
    from .terminal import plant_lines

    with _open(database) as reference:
        _answer(ids, as_json, reference.plant, plant_lines, plant_json, lambda _: True)


@main.command()
@click.argument("paths", nargs=-1, type=click.Path(path_type=Path, exists=True))
@click.option("--schema", is_flag=True, help="Write data/schema/ anew from the record models first.")
@click.option("--rules", is_flag=True, help="List every rule code with its sentence.")
def lint(paths: tuple[Path, ...], schema: bool, rules: bool) -> None:
    """Check the records: all of them, or what lies below PATHS."""
    from .checks import ALL_RULES, check_corpus
    from .corpus import load
    from .corpus_files import data_root, record_files

    if rules:
        for code, sentence in ALL_RULES.items():
            _say(f"{code} {sentence}")
        return
    if schema:
        _write_schemas(data_root())
    findings, count = [], 0
    with _progress() as progress:
        for root in dict.fromkeys(_corpus_root(path) for path in paths) if paths else (data_root(),):
            progress("reading records", 0, 2)
            corpus = load(root)
            progress("checking records", 1, 2)
            wanted = [path.resolve() for path in paths] or [root.resolve()]
            count += sum(_lies_below(path, wanted) for path in record_files(root))
            findings += [f for f in check_corpus(corpus) if _lies_below(f.path, wanted)]
    for finding in findings:
        _say(str(finding))
    _say(f"{len(findings)} findings in {count} files")
    if findings:
        raise click.exceptions.Exit(1)


def _corpus_root(path: Path) -> Path:
    """Return the data folder that `path` lies in, so that rules across records see its neighbours."""
    for folder in (path, *path.resolve().parents):
        if (folder / "plants").is_dir() or (folder / "vocabularies").is_dir():
            return folder
    raise click.UsageError(f"{path} lies in no data folder (one that holds plants/)")


def _lies_below(path: Path, folders: list[Path]) -> bool:
    resolved = path.resolve()
    return any(resolved == folder or folder in resolved.parents for folder in folders)


def _write_schemas(root: Path) -> None:
    from .records import schemas

    folder = root / "schema"
    folder.mkdir(exist_ok=True)
    for name, schema in schemas().items():
        (folder / name).write_text(json.dumps(schema, indent=2, sort_keys=True) + "\n", encoding="utf-8")


@main.command()
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Where to write the database; the cache folder when left out.",
)
def build(output: Path | None) -> None:
    """Build the database from the records: whole, or not at all."""
    from .corpus_files import data_root
    from .loader import build as build_database

    if output is None:
        from .cache import cache_folder, rebuild

        with _progress() as progress:
            facts = rebuild(progress)
        output = cache_folder() / "reference.db"
    else:
        with _progress() as progress:
            facts = build_database(data_root(), output, progress)
    counts = ", ".join(f"{facts[key]} {key.replace('_', ' ')}" for key in ("taxa", "names", "hazards", "all_clears"))
    _say(f"{output}: {counts}")


@main.command()
@click.option("--host", default="127.0.0.1", show_default=True)
@click.option("--port", default=8642, show_default=True, type=click.IntRange(1, 65535))
@_DATABASE
def serve(host: str, port: int, database: Path | None) -> None:
    """Serve the pages, read-only, until you press Ctrl-C."""
    from .serving import serve as serve_pages

    if database is None:
        from .cache import ready_database

        with _progress() as progress:
            database = ready_database(progress)
    serve_pages(database, host, port, lambda: _say(f"folioproof is on http://{host}:{port}/ (Ctrl-C ends it)"))
