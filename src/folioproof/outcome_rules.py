"""What must be true of one outcome, whoever wrote it: the same rules for lint, for `record` and for a spreadsheet.

Pure: what must be known of plants, materials and colours is handed in.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import NamedTuple

from .colorimetry import fold
from .outcome_record import UNKNOWN, OutcomeRecord
from .photo_file import tells_place
from .places import far_from_country, region_problem
from .vocabulary import ColourBasis, Fibre, Grade, LightScale, MaterialKind, Rank, Treatment

EARLIEST = date(1990, 1, 1)
HOTTEST_C = 200
MAX_PHOTO_BYTES = 20_000_000
PHOTO_ENDINGS = (".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff")

_IRON = frozenset({"iron", "ferrous", "ferric"})
_ALUM = frozenset({"alum", "aluminium"})
#: Kinds of material that meet leaf, fibre or bath; sheets and felts do not.
APPLIED = frozenset(
    {
        MaterialKind.MORDANT, MaterialKind.DIP, MaterialKind.TANNIN, MaterialKind.ASSIST, MaterialKind.BINDER,
        MaterialKind.BLANKET,
    }
)  # fmt: skip
_METALS = {
    Treatment.NONE: (False, False),
    Treatment.ALUM: (True, False),
    Treatment.IRON: (False, True),
    Treatment.ALUM_IRON: (True, True),
}
_FIBRE_WORDS = (
    ("paper", Fibre.PAPER),
    ("cotton", Fibre.PLANT_FIBRE),
    ("linen", Fibre.PLANT_FIBRE),
    ("silk", Fibre.SILK),
    ("wool", Fibre.WOOL),
)
_COLOUR_KEYS = {
    ColourBasis.INSTRUMENT: "lab",
    ColourBasis.SCAN: "lab",
    ColourBasis.HEX: "hex",
    ColourBasis.COLOUR_NAME: "colour_name",
}
_GRADES = {LightScale.BLUE_WOOL: r"[1-8](-[1-8])?", LightScale.AATCC: r"L[2-9](-L?[2-9])?"}


@dataclass(frozen=True, slots=True)
class Known:
    """What an outcome may point to: ranks of taxa, kinds of materials, folded colour names; and the latest day."""

    ranks: dict[str, Rank]
    materials: dict[str, MaterialKind]
    colours: frozenset[str]
    today: date


class Problem(NamedTuple):
    """What is wrong with one outcome, where, and what to write instead."""

    code: str
    where: tuple[str | int, ...]
    problem: str
    remedy: str


def plant_is_known(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    """O251."""
    rank = known.ranks.get(record.taxon)
    if rank is None:
        problem = f"there is no plant record {record.taxon}"
        yield Problem("O251", ("taxon",), problem, "Ask `folioproof find` for the id; the genus when you know no more")
    elif rank is Rank.FAMILY:
        yield Problem("O251", ("taxon",), f"{record.taxon} is a whole family", "Write the species, or the genus")


def region_is_known(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    """O252."""
    if said := region_problem(record.region):
        yield Problem("O252", ("region",), *said)


def id_is_made_of_its_record(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    """O253."""
    if not re.fullmatch(re.escape(record.stem) + r"-[1-9][0-9]{0,3}", record.id):
        yield Problem("O253", ("id",), f"{record.id} is not made of its record", f"Write {record.stem}-1 (or -2, -3)")


def date_can_be(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    """O254."""
    if record.date > known.today:
        yield Problem("O254", ("date",), f"{record.date} is in the future", "Write the day on which it was printed")
    elif record.date < EARLIEST:
        yield Problem("O254", ("date",), f"{record.date} is before 1990", "Write the year with four digits")
    if record.review and not record.date <= record.review.on <= known.today:
        problem = f"a review on {record.review.on} is before the print or in the future"
        yield Problem("O254", ("review", "on"), problem, "Write the day of the review")


def temperature_can_be(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    """O255."""
    if record.temperature and not 0 <= record.temperature.celsius <= HOTTEST_C:
        said = record.temperature
        problem = f"{said.value:g} {said.unit} is outside 0 to {HOTTEST_C} degrees C"
        yield Problem("O255", ("temperature", "value"), problem, "Write what a thermometer showed, and its unit")


def materials_are_known(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    """O256."""
    for i, mordant in enumerate(record.mordants):
        where = ("mordants", i, "material")
        kind = known.materials.get(mordant.material)
        if kind is None and mordant.material != UNKNOWN:
            usable = sorted(each for each, kind in known.materials.items() if kind in APPLIED)
            problem = f"there is no material {mordant.material}"
            yield Problem("O256", where, problem, f"Write one of: {', '.join(usable)}, unknown")
        elif kind is not None and kind not in APPLIED:
            problem = f"{mordant.material} is a {kind}, not a mordant or dip"
            yield Problem("O256", where, problem, "Take it out; paper and cloth belong in substrate:")
        if mordant.strength != UNKNOWN and mordant.unit is None:
            remedy = 'Add unit: "% of dry weight of fibre", g/l or "%"'
            yield Problem("O256", ("mordants", i, "strength"), f"{mordant.strength:g} has no unit", remedy)
    yield from _substrate(record, known)


def _substrate(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    if record.substrate is None:
        return
    if known.materials.get(record.substrate) is not MaterialKind.SUBSTRATE:
        usable = sorted(each for each, kind in known.materials.items() if kind is MaterialKind.SUBSTRATE)
        problem = f"{record.substrate} is no paper or cloth of the material records"
        yield Problem("O256", ("substrate",), problem, f"Write one of: {', '.join(usable)}")
        return
    fibre = fibre_of_material(record.substrate)
    if fibre is not None and fibre is not record.fibre:
        problem = f"{record.substrate} is {fibre}, but fibre says {record.fibre}"
        yield Problem("O256", ("substrate",), problem, "Change one of the two")


def fibre_of_material(material: str) -> Fibre | None:
    """Return what a paper or cloth is made of, as its id says."""
    return next((fibre for word, fibre in _FIBRE_WORDS if word in material.split("-")), None)


def metals_in(materials: Iterable[str]) -> tuple[bool, bool]:
    """Return whether a material with aluminium, and one with iron, is among these ids."""
    words = {word for material in materials for word in material.split("-")}
    return bool(words & _ALUM), bool(words & _IRON)


def treatment_fits_materials(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    """O257."""
    alum, iron = metals_in(mordant.material for mordant in record.mordants)
    where = ("treatment",)
    if record.treatment is Treatment.OTHER:
        if not record.mordants and record.note is None:
            yield Problem("O257", where, "the other treatment is not named", "Name it in mordants: or in note:")
        elif (alum or iron) and len(record.mordants) == 1 and record.note is None:
            yield Problem("O257", where, "the only material is alum or iron", f"Write {_named(alum, iron)}")
        return
    wants_alum, wants_iron = _METALS[record.treatment]
    others = [m.material for m in record.mordants if _is_other_metal(m.material, known)]
    if others:
        remedy = f"Write other, or take {others[0]} out"
        yield Problem("O257", where, f"{others[0]} is a metal too, and treatment says {record.treatment}", remedy)
    for metal, wanted, used in (("alum", wants_alum, alum), ("iron", wants_iron, iron)):
        if used and not wanted:
            problem = f"the mordants hold {metal}, but treatment says {record.treatment}"
            yield Problem("O257", where, problem, f"Write {_named(alum, iron)}, or mend the mordants")
        elif wanted and not used and all(m.material != UNKNOWN for m in record.mordants):
            problem = f"treatment says {record.treatment}, but no material with {metal} is named"
            yield Problem(
                "O257", where, problem, "Add it to mordants:, with material: unknown if you cannot tell which"
            )


def _named(alum: bool, iron: bool) -> Treatment:
    return next(treatment for treatment, metals in _METALS.items() if metals == (alum, iron))


def _is_other_metal(material: str, known: Known) -> bool:
    metal = known.materials.get(material) in (MaterialKind.MORDANT, MaterialKind.DIP)
    return metal and not set(material.split("-")) & (_ALUM | _IRON)


def colour_fits_its_basis(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    """O258."""
    result = record.result
    given = [key for key in ("lab", "hex", "colour_name") if getattr(result, key) is not None]
    if result.strength is Grade.NONE and (given or result.colour_basis is not ColourBasis.NONE):
        problem = "what did not print has no colour"
        yield Problem("O258", ("result", "colour_basis"), problem, "Write none, and take the colour out")
        return
    wanted = _COLOUR_KEYS.get(result.colour_basis)
    if wanted is None and given:
        problem = f"{given[0]} is given, but colour_basis says none"
        yield Problem("O258", ("result", "colour_basis"), problem, "Write how the colour was come by")
    elif wanted is not None and wanted not in given:
        problem = f"colour_basis says {result.colour_basis}, but there is no {wanted}"
        yield Problem("O258", ("result", "colour_basis"), problem, f"Add {wanted}:, or write what the colour rests on")
    if result.lab and not (0 <= result.lab[0] <= 100 and all(abs(each) <= 128 for each in result.lab[1:])):
        problem = f"{list(result.lab)} is no CIELAB colour"
        yield Problem("O258", ("result", "lab"), problem, "Write [L 0 to 100, a, b within 128]")
    if result.colour_name and fold(result.colour_name) not in known.colours:
        problem = f"{result.colour_name!r} is not one of the {len(known.colours)} ISCC-NBS names"
        yield Problem("O258", ("result", "colour_name"), problem, "Write a name of data/colour-names/iscc-nbs.yml")


def coordinates_are_coarse(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    """O259."""
    if record.coordinates is None:
        return
    latitude, longitude = record.coordinates
    where = ("coordinates",)
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        problem = f"{latitude:g}, {longitude:g} is not on the Earth"
        yield Problem("O259", where, problem, "Write [latitude, longitude] in degrees, west and south with a minus")
    elif any(round(each, 1) != each for each in record.coordinates):
        remedy = f"Write [{round(latitude, 1):g}, {round(longitude, 1):g}]: nobody needs to find the very tree"
        yield Problem("O259", where, "the coordinates are finer than 0.1 degree", remedy)
    elif (far := far_from_country(latitude, longitude, record.country)) is not None:
        problem = f"{latitude:g}, {longitude:g} is {far:.0f} km from any city of {record.country} known here"
        yield Problem("O259", where, problem, "Write latitude first, west and south with a minus, or mend the region")


def light_grade_is_on_its_scale(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    """O266."""
    if (test := record.lightfastness) and (form := _GRADES.get(test.scale)) and not re.fullmatch(form, test.grade):
        remedy = "Write 1 to 8" if test.scale is LightScale.BLUE_WOOL else "Write L2 to L9"
        yield Problem("O266", ("lightfastness", "grade"), f"{test.grade!r} is no grade of {test.scale}", remedy)


def consent_is_given(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    """O261."""
    if not record.consent:
        problem = "without consent the record is not accepted"
        yield Problem(
            "O261", ("consent",), problem, "Write true if you made the print yourself and agree to share this"
        )


#: What one record alone can break, in the order of the codes.
RECORD_RULES: dict[str, tuple[str, Callable[[OutcomeRecord, Known], Iterator[Problem]]]] = {
    "O251": ("the plant of an outcome has a record, a genus or below", plant_is_known),
    "O252": ("the region is an ISO 3166-2 code, and the file stands in outcomes/<region>/<year>/<id>.yml",
             region_is_known),
    "O253": ("an outcome's id is made of region, date, plant, contributor and number", id_is_made_of_its_record),
    "O254": ("dates are real, from 1990 to today", date_can_be),
    "O255": ("a temperature has its unit and lies between 0 and 200 degrees C", temperature_can_be),
    "O256": ("materials have records, and a strength its unit", materials_are_known),
    "O257": ("the treatment fits the materials", treatment_fits_materials),
    "O258": ("a colour stands with what it rests on, and what did not print has none", colour_fits_its_basis),
    "O259": ("coordinates are no finer than 0.1 degree, and near the country", coordinates_are_coarse),
    "O261": ("the contributor consents", consent_is_given),
    "O266": ("a lightfastness grade is one of its scale", light_grade_is_on_its_scale),
}  # fmt: skip


def problems(record: OutcomeRecord, known: Known) -> Iterator[Problem]:
    """Yield everything that is wrong with one record by itself."""
    for _, rule in RECORD_RULES.values():
        yield from rule(record, known)


def photo_problem(folder: Path, photo: str) -> tuple[str, str] | None:
    """Return what is wrong with a photo that an outcome in `folder` names; one that is too big is not read."""
    place = folder / photo
    try:
        outside = Path(photo).is_absolute() or not place.resolve().is_relative_to(folder.resolve())
        size = place.stat().st_size if not outside and place.is_file() else None
    except (OSError, ValueError):
        outside, size = False, None
    if outside:
        return f"{photo} is outside the folder of the outcome", "Put the photo beside the file and write its name alone"
    if place.suffix.lower() not in PHOTO_ENDINGS:
        return f"{photo} is no photo", f"Name a file that ends in {', '.join(PHOTO_ENDINGS)}"
    if size is None:
        return f"there is no file {photo} beside the outcome", "Put it there, or take the line out"
    if size > MAX_PHOTO_BYTES:
        limit = MAX_PHOTO_BYTES // 1_000_000
        return f"{photo} has {size / 1e6:.0f} MB; the limit is {limit} MB", "Save it smaller, about 2000 pixels wide"
    try:
        told = tells_place(place.read_bytes())
    except OSError as error:
        return f"{photo} cannot be read ({error.strerror})", "Make it readable"
    if told:
        return f"{photo} tells the very place where it was taken", "Save it without its location data"
    return None


def sameness(record: OutcomeRecord) -> tuple[object, ...]:
    """Return what two outcomes must differ in: two prints under equal conditions say in their notes what differs."""
    return (
        record.contributor, record.taxon, record.date, record.region, record.part, record.stage, record.side,
        record.state, record.treatment, record.fibre, record.substrate, record.mordants, record.method,
        record.temperature, record.minutes, record.result.model_copy(update={"photo": None}), record.note,
    )  # fmt: skip
