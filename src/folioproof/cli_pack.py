"""The command that writes a field pack: one page that answers by itself, with the network off."""

from __future__ import annotations

from pathlib import Path

import click

from .cli_shared import DATABASE, open_reference, say
from .vocabulary import Company


@click.command()
@click.option(
    "--near",
    required=True,
    help="Where: latitude,longitude, a time-zone city such as Europe/Lisbon, or an ISO 3166 code.",
)
@click.option("--on", metavar="DATE", help="The day, YYYY-MM-DD; today when left out.")
@click.option(
    "--company",
    multiple=True,
    default=[Company.ADULTS.value],
    show_default=True,
    type=click.Choice([c.value for c in Company]),
    help="Who is in the room; may be given more than once.",
)
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Where to write it; named after place and day when left out.",
)
@DATABASE
def pack(near: str, on: str | None, company: tuple[str, ...], output: Path | None, database: Path | None) -> None:
    """Write one HTML file for the field: names, levels, precautions, colours and season, with the network off."""
    from .pack import Packer, write_pack

    with open_reference(database) as reference:
        made = Packer(reference).pack(near, on, company)
    path = output or Path(made.file_name)
    size = write_pack(made, path)
    say(f"{path}: {made.place.name}, {made.on}, {size / 1e6:.2f} MB; open it on the phone before you leave")
