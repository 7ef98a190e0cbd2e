"""The command line. Exit codes: 0 done, 1 findings or a refused input, 2 wrong usage, 3 no confident answer."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from . import __version__
from .cli_changes import changes
from .cli_measure import measure
from .cli_pack import pack
from .cli_prints import COMMANDS
from .cli_record import record
from .cli_shared import (
    AS_JSON,
    DATABASE,
    Group,
    Progress,
    answer,
    is_exact,
    names_of,
    open_reference,
    say,
    say_json,
)
from .cli_sheet import sheet
from .vocabulary import Company, Part, State

if TYPE_CHECKING:
    from .answers import Plant


@click.group(cls=Group, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="folioproof")
def main() -> None:
    """Ask before you pick: which plant a name means, and whether its leaf may be handled and heated."""


@main.command()
@click.argument("names", nargs=-1, required=True)
@click.option("--prefix", is_flag=True, help="List names that begin with the text; never a level.")
@AS_JSON
@DATABASE
def find(names: tuple[str, ...], prefix: bool, as_json: bool, database: Path | None) -> None:
    """Say which plants each of NAMES may mean, and why. `-` reads one name per line."""
    from .answers import lookup_json
    from .terminal import lookup_lines

    with open_reference(database) as reference:
        if not prefix:
            answer(names, as_json, reference.find, lookup_lines, lookup_json, is_exact)
            return
        for name in names_of(names):
            found = reference.starting_with(name)
            if as_json:
                say_json({"query": name, "names": list(found)})
            else:
                for each in found:
                    say(each)


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
@AS_JSON
@DATABASE
def check(
    names: tuple[str, ...],
    part: str,
    state: str,
    company: tuple[str, ...],
    as_json: bool,
    database: Path | None,
) -> None:
    """Say whether each of NAMES may be picked, handled and heated, why, and what to do. `-` reads one name per line."""
    from .answers import check_json
    from .terminal import check_lines

    with open_reference(database) as reference:

        def ask(name: str) -> Any:
            return reference.check(name, part=part, state=state, company=company)

        answer(names, as_json, ask, check_lines, check_json, is_exact)


@main.command()
@click.argument("ids", nargs=-1, required=True)
@AS_JSON
@DATABASE
def show(ids: tuple[str, ...], as_json: bool, database: Path | None) -> None:
    """Show everything about the plants with these IDS (find tells a plant's id)."""
    from .answers import plant_json
    from .print_answers import estimate_json
    from .terminal import plant_lines
    from .terminal_prints import on_paper_lines

    with open_reference(database) as reference:

        def lines(plant: Plant) -> Iterator[str]:
            yield from plant_lines(plant)
            yield from on_paper_lines(reference.prints.on_paper(plant.id))

        def plain(plant: Plant) -> dict[str, Any]:
            expected = [estimate_json(*each) for each in reference.prints.on_paper(plant.id)]
            return plant_json(plant) | {"expected_on_paper": expected}

        answer(ids, as_json, reference.plant, lines, plain, lambda _: True)


@main.command()
@click.argument("paths", nargs=-1, type=click.Path(path_type=Path, exists=True))
@click.option("--schema", is_flag=True, help="Write data/schema/ and shared/template.yml anew from the models first.")
@click.option("--rules", is_flag=True, help="List every rule code with its sentence.")
def lint(paths: tuple[Path, ...], schema: bool, rules: bool) -> None:
    """Check the records and the contributed outcomes: all of them, or what lies below PATHS."""
    from .checks import ALL_RULES, check_corpus
    from .corpus import load
    from .corpus_files import data_root, record_files, shared_files, shared_root

    if rules:
        for code, sentence in ALL_RULES.items():
            say(f"{code} {sentence}")
        return
    if schema:
        _write_schemas(data_root(), shared_root())
    findings, count = [], 0
    with Progress() as advance:
        roots = dict.fromkeys(map(_corpus_roots, paths)) if paths else ((data_root(), shared_root()),)
        for root, shared in roots:
            advance("reading records", 0, 2)
            corpus = load(root, shared)
            advance("checking records", 1, 2)
            wanted = [path.resolve() for path in paths] or [each.resolve() for each in (root, shared) if each]
            files = [*record_files(root), *(shared_files(shared) if shared else ())]
            count += sum(_lies_below(path, wanted) for path in files)
            findings += [f for f in check_corpus(corpus) if _lies_below(f.path, wanted)]
    for finding in findings:
        say(str(finding))
    say(f"{len(findings)} findings in {count} files")
    if findings:
        raise click.exceptions.Exit(1)


def _corpus_roots(path: Path) -> tuple[Path, Path | None]:
    """Return the data folder and the folder of outcomes to read, so that rules across records see all neighbours."""
    from .corpus_files import data_root

    for folder in (path, *path.resolve().parents):
        if (folder / "plants").is_dir() or (folder / "vocabularies").is_dir():
            return folder, None
        if (folder / "outcomes").is_dir():
            return data_root(), folder
    raise click.UsageError(f"{path} lies in no data folder (one that holds plants/) and in no folder with outcomes/")


def _lies_below(path: Path, folders: list[Path]) -> bool:
    resolved = path.resolve()
    return any(resolved == folder or folder in resolved.parents for folder in folders)


def _write_schemas(root: Path, shared: Path | None) -> None:
    from .outcome_text import template_text
    from .records import schemas

    folder = root / "schema"
    folder.mkdir(exist_ok=True)
    for name, schema in schemas().items():
        (folder / name).write_text(json.dumps(schema, indent=2, sort_keys=True) + "\n", encoding="utf-8")
    if shared is not None:
        (shared / "template.yml").write_text(template_text(), encoding="utf-8")


@main.command()
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Where to write the database; the cache folder when left out.",
)
@click.option(
    "--outcomes",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A CSV or Parquet file with more outcomes, one a row, in the columns of the table outcomes; needs -o.",
)
def build(output: Path | None, outcomes: Path | None) -> None:
    """Build the database from the records: whole, or not at all."""
    from .corpus_files import data_root, shared_root
    from .loader import build as build_database

    if output is None:
        if outcomes is not None:
            raise click.UsageError("--outcomes needs -o: the cached database holds the records alone")
        from .cache import cache_folder, rebuild

        with Progress() as advance:
            facts = rebuild(advance)
        output = cache_folder() / "reference.db"
    else:
        with Progress() as advance:
            facts = build_database(data_root(), output, advance, shared=shared_root(), bulk=outcomes)
    counts = ", ".join(
        f"{facts[key]} {key.replace('_', ' ')}" for key in ("taxa", "names", "hazards", "all_clears", "outcomes")
    )
    say(f"{output}: {counts}")


@main.command()
@click.option("--host", default="127.0.0.1", show_default=True)
@click.option("--port", default=8642, show_default=True, type=click.IntRange(1, 65535))
@click.option("--demo", is_flag=True, help="With invented prints, said to be invented on every page.")
@DATABASE
def serve(host: str, port: int, demo: bool, database: Path | None) -> None:
    """Serve the pages, read-only, until you press Ctrl-C."""
    from .serving import serve as serve_pages

    if demo and database is not None:
        raise click.UsageError("--demo has a database of its own; leave --database out")
    if database is None:
        from .cache import ready_database
        from .demo import ready_demo

        with Progress() as advance:
            database = ready_demo(advance) if demo else ready_database(advance)
    serve_pages(database, host, port, lambda: say(f"folioproof is on http://{host}:{port}/ (Ctrl-C ends it)"))


for command in (*COMMANDS, changes, measure, pack, record, sheet):
    main.add_command(command)
