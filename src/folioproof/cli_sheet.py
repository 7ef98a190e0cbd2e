"""The command that writes a class sheet to a file."""

from __future__ import annotations

from pathlib import Path

import click

from .cli_shared import DATABASE, NO_CONFIDENT_ANSWER, names_of, open_reference, say
from .vocabulary import Company


@click.command()
@click.argument("names", nargs=-1, required=True)
@click.option("--material", multiple=True, metavar="ID", help="A material on the table, by its id; repeatable.")
@click.option("--country", metavar="CC", help="ISO 3166 code of the country whose poison help line is wanted.")
@click.option("--near", help="Where, for the season: latitude,longitude, a time-zone city, or an ISO 3166 code.")
@click.option("--on", metavar="DATE", help="The day of the class, YYYY-MM-DD; today when left out.")
@click.option(
    "--company",
    multiple=True,
    default=[Company.CLASS.value],
    show_default=True,
    type=click.Choice([c.value for c in Company]),
    help="Who is in the room; may be given more than once.",
)
@click.option(
    "--format", "paper", default="A4", show_default=True, type=click.Choice(["A4", "Letter"]), help="The paper."
)
@click.option(
    "-o",
    "--output",
    required=True,
    type=click.Path(path_type=Path, dir_okay=False),
    help="Where to write it: a name that ends in .html or .pdf (PDF needs a Chromium on this machine).",
)
@DATABASE
def sheet(
    names: tuple[str, ...],
    material: tuple[str, ...],
    country: str | None,
    near: str | None,
    on: str | None,
    company: tuple[str, ...],
    paper: str,
    output: Path,
    database: Path | None,
) -> None:
    """Write the class sheet of the plants NAMES to hand out. `-` reads one name per line."""
    from .class_sheet import class_sheet
    from .reading import Reading
    from .web.sheet_file import write_sheet

    with open_reference(database) as reference:
        reading = Reading(reference.path)
        try:
            made = class_sheet(
                reference, reading, list(names_of(names)), material, company=company, country=country, near=near, on=on
            )
        finally:
            reading.close()
    write_sheet(made, output, paper)
    say(f"{output}: {len(made.plants)} plants on the table, {len(made.left_out)} left out, {len(made.unnamed)} unnamed")
    for each in made.unnamed:
        say(f"{each.query}: not one plant by its very name, so it stands under Do not bring ({each.status})")
    if made.unnamed:
        raise click.exceptions.Exit(NO_CONFIDENT_ANSWER)
