"""The command `measure`: one print on a scan or photo, as text or JSON, or straight into an outcome file."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .finding import FindingsError, FolioproofError, RefusedInputError
from .text import visible

if TYPE_CHECKING:
    from .colorimetry import ColourName
    from .measuring import Measurement

_LIBRARIES = ("numpy", "scipy", "skimage", "PIL")


def _box(text: str) -> tuple[int, int, int, int]:
    try:
        x, y, width, height = (int(part) for part in text.split(","))
    except ValueError:
        raise click.BadParameter(
            f"{visible(text)[:40]!r} is not x,y,width,height in whole pixels, as in 20,20,200,150"
        ) from None
    return x, y, width, height


@click.command()
@click.argument("scan", type=click.Path(path_type=Path))
@click.option(
    "--white",
    type=_box,
    metavar="X,Y,W,H",
    help="Bare white paper, from the upper left corner: colours are corrected to it.",
)
@click.option(
    "--card",
    type=_box,
    metavar="X,Y,W,H",
    help="A grey card in the picture, to correct colours to instead of the paper.",
)
@click.option(
    "--card-lightness",
    default=50.0,
    show_default=True,
    type=click.FloatRange(5, 100),
    help="L* of the card; 50 is a card of 18 %.",
)
@click.option(
    "--box", type=_box, metavar="X,Y,W,H", help="Look for the print in here only; leave bare ground all round it."
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@click.option(
    "--into",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Fill the result of this outcome file; its other lines and comments stay.",
)
def measure(
    scan: Path,
    white: tuple[int, int, int, int] | None,
    card: tuple[int, int, int, int] | None,
    card_lightness: float,
    box: tuple[int, int, int, int] | None,
    as_json: bool,
    into: Path | None,
) -> None:
    """Measure the print on SCAN: its colour, how much of the shape transferred, its edge, its bleed.

    Lay it flat in even light, with bare paper in view, and switch automatic enhancement off.
    """
    if white is not None and card is not None:
        raise click.UsageError("give --white or --card, not both")
    try:
        from .measuring import measure as measured
        from .measuring import read_image
    except ModuleNotFoundError as error:
        if (error.name or "").split(".")[0] not in _LIBRARIES:
            raise
        raise FolioproofError("measuring needs more libraries: pip install 'folioproof[scan]'") from None
    found = measured(read_image(scan), white=white, card=card, card_lightness=card_lightness, box=box)
    name, shown = _named(found)
    if into is not None:
        _fill(into, found)
    if as_json:
        plain = {"file": visible(str(scan)), "colour_name": name.name, "hex": shown, **found.as_json()}
        click.echo(json.dumps(plain, ensure_ascii=False))
        return
    for line in _lines(scan, found, name, shown):
        click.echo(line)
    if into is not None:
        click.echo(f"  Written into {visible(str(into))}")


def _named(found: Measurement) -> tuple[ColourName, str]:
    """Return the nearest ISCC-NBS name and the colour as #rrggbb."""
    from .colorimetry import ColourName, ColourNames, Lab, to_hex
    from .corpus import validate
    from .corpus_files import data_root
    from .records import ColourNameRecord
    from .yaml_reader import read

    document, findings = read(data_root() / "colour-names" / "iscc-nbs.yml")
    record = None
    if document is not None and not findings:
        record, findings = validate(document, ColourNameRecord)
    if record is None:
        raise FindingsError(tuple(findings))
    names = ColourNames([ColourName(each.number, each.name, Lab(*each.lab), each.hex) for each in record.names])
    lab = Lab(*found.lab)
    return names.nearest(lab), to_hex(lab)


def _fill(into: Path, found: Measurement) -> None:
    from .filling import Value, fill_result

    if found.grey:
        raise RefusedInputError("a greyscale picture has no colour to record; scan in colour (nothing was written)")
    values: dict[str, Value] = {
        "lab": tuple(round(value, 1) + 0.0 for value in found.lab),
        "lab_spread": round(found.spread, 1),
        "colour_basis": "scan",
        "transferred": round(found.transferred, 2),
        "bleed": round(found.bleed, 2),
    }
    if found.edge_width_mm is not None:
        values["edge_width_mm"] = round(found.edge_width_mm, 2)
    fill_result(into, values)


def _lines(scan: Path, found: Measurement, name: ColourName, shown: str) -> Iterator[str]:
    red, green, blue = bytes.fromhex(shown[1:])
    swatch = click.style("      ", bg=(red, green, blue))
    yield click.style(visible(str(scan)), bold=True)
    yield f"  Colour       {swatch} {name.name} (ISCC-NBS {name.number}), {shown} on a screen"
    yield f"               CIELAB {_lab(found.lab)}; half of the print lies within {found.spread:.1f},"
    yield f"               nine tenths within {found.spread_90:.1f} of it (CIEDE2000)"
    yield f"  Ground       CIELAB {_lab(found.ground_lab)}; the print stands {found.contrast:.0f} off it (CIEDE2000)"
    yield f"  Transferred  {found.transferred:.0%} of the shape"
    if found.edge_width_px is not None:
        yield f"  Edge         {_length(found.edge_width_px, found.edge_width_mm)} from bare ground to print (10-90 %)"
    yield f"  Bleed        {_bleed(found)}"
    x, y, width, height = found.shape_box
    pieces = "one piece" if found.shapes == 1 else f"{found.shapes} pieces"
    area = "" if found.shape_area_mm2 is None else f", {found.shape_area_mm2 / 100:.1f} cm2"
    yield f"  Shape        {pieces}, {width} x {height} pixels at {x},{y}{area}"
    patch = "white paper" if found.reference == "white" else "grey card"
    yield f"  Corrected    to the {patch}, taken as L* {found.reference_lightness:g} and neutral"
    for warning in found.warnings:
        yield f"  Warning: {warning}"


def _lab(lab: tuple[float, float, float]) -> str:
    return "L* {:.1f}, a* {:.1f}, b* {:.1f}".format(*lab)


def _length(pixels: float | None, millimetres: float | None) -> str:
    return f"{pixels:.1f} pixels" if millimetres is None else f"{millimetres:.2f} mm ({pixels:.1f} pixels)"


def _bleed(found: Measurement) -> str:
    if found.bleed_distance_px is None:
        return "none seen beyond the edge"
    reach = _length(found.bleed_distance_px, found.bleed_distance_mm)
    return f"faint colour beyond the edge, {found.bleed:.0%} of the shape's area, on average {reach} away"
