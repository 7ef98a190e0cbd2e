"""The record of one print that somebody made: what a YAML file in shared/outcomes/ may hold.

The template in shared/ and its JSON Schema are generated from these models (`folioproof lint --schema`), so that the
descriptions here are the manual. Unknown keys are refused; `unknown` is a legal value where knowledge may be missing.
An outcome never lowers a plant's level.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StrictBool, StringConstraints, WithJsonSchema
from pydantic_core import PydanticCustomError

from .finding import RefusedInputError
from .places import read_date
from .vocabulary import (
    Clarity,
    ColourBasis,
    Fibre,
    Grade,
    LeafSide,
    Licence,
    LightScale,
    Method,
    MordantPlace,
    Part,
    Reaction,
    Stage,
    State,
    Treatment,
)

UNKNOWN: Literal["unknown"] = "unknown"
Unknown = Literal["unknown"]

#: What a maker knows of their own print: words that only a source needs are left out.
PARTS = tuple(part for part in Part if part not in (Part.ALL, Part.UNSTATED))
STATES = (State.FRESH, State.DRIED, State.SOAKED)
MADE_TREATMENTS = tuple(each for each in Treatment if each is not Treatment.UNSTATED)
MADE_FIBRES = tuple(each for each in Fibre if each is not Fibre.UNSTATED)
#: The share of dry fibre weight is what mordant recipes count in; % without more is the strength of a bath.
STRENGTH_UNITS = ("% of dry weight of fibre", "g/l", "%")


def latest_day() -> date:
    """Return the day it is where the day begins first (UTC+14): no print anywhere is from later than that."""
    return (datetime.now(UTC) + timedelta(hours=14)).date()


def _refuse(code: str, problem: str, remedy: str) -> PydanticCustomError:
    # Braces would be read as places to fill in.
    shown = problem.replace("{", "(").replace("}", ")")
    return PydanticCustomError(code, shown, {"remedy": remedy})


def _among(kind: type[StrEnum], terms: tuple[StrEnum, ...], *more: str) -> Callable[[Any], Any]:
    """Return a check that a value is one of the terms, said in one finding and not in one for each kind of term."""
    allowed = [term.value for term in terms] + list(more)

    def check(value: Any) -> Any:
        if value in more:
            return value
        if not isinstance(value, str) or value not in allowed:
            raise PydanticCustomError("enum", "not an allowed term", {"expected": ", ".join(allowed)})
        return kind(value)

    return check


def _schema(terms: tuple[str, ...]) -> WithJsonSchema:
    return WithJsonSchema({"enum": [str(term) for term in terms], "type": "string"})


def _day(value: Any) -> date:
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    try:
        return read_date(value if isinstance(value, str) else repr(value))
    except RefusedInputError as error:
        problem, _, remedy = str(error).partition(". ")
        raise _refuse("O254", problem, remedy.rstrip(".")) from None


def _with_unit(value: Any) -> Any:
    if isinstance(value, dict):
        if "value" in value and "unit" not in value:
            raise _refuse("O255", f"the temperature {value['value']!r} has no unit", "Add unit: C or unit: F")
    elif not isinstance(value, Temperature):
        raise _refuse("O255", f"the temperature {value!r} has no unit", "Write a line value: and a line unit: C (or F)")
    return value


def _number_or_unknown(value: Any) -> Any:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if value != UNKNOWN and not (number and value > 0):
        problem = f"{value!r} is neither a number above 0 nor unknown"
        raise _refuse("O256", problem, "Write the number alone and its unit in unit:, or unknown")
    return value


def _words(value: Any) -> Any:
    return str(value) if isinstance(value, int | float) and not isinstance(value, bool) else value


Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Share = Annotated[float, Field(strict=True, ge=0, le=1)]
Above0 = Annotated[float, Field(strict=True, gt=0, le=1_000_000)]
Note = Annotated[str, StringConstraints(min_length=1, max_length=600)]
Name = Annotated[str, StringConstraints(min_length=1, max_length=120)]
Day = Annotated[date, BeforeValidator(_day)]
Handle = Annotated[str, StringConstraints(pattern=r"^[a-z0-9](-?[a-z0-9]){1,29}$")]
RecordId = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=80)]
OutcomeId = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=160)]
Region = Annotated[str, StringConstraints(pattern=r"^[A-Z]{2}(-[A-Z0-9]{1,3})?$")]
Hex = Annotated[str, StringConstraints(pattern=r"^#[0-9a-fA-F]{6}$")]
MadePart = Annotated[Part, BeforeValidator(_among(Part, PARTS)), _schema(PARTS)]
MadeState = Annotated[State, BeforeValidator(_among(State, STATES)), _schema(STATES)]
MadeTreatment = Annotated[Treatment, BeforeValidator(_among(Treatment, MADE_TREATMENTS)), _schema(MADE_TREATMENTS)]
MadeFibre = Annotated[Fibre, BeforeValidator(_among(Fibre, MADE_FIBRES)), _schema(MADE_FIBRES)]
StageOrUnknown = Annotated[Stage | Unknown, BeforeValidator(_among(Stage, tuple(Stage), UNKNOWN))]
SideOrUnknown = Annotated[LeafSide | Unknown, BeforeValidator(_among(LeafSide, tuple(LeafSide), UNKNOWN))]
ClarityOrUnknown = Annotated[Clarity | Unknown, BeforeValidator(_among(Clarity, tuple(Clarity), UNKNOWN))]
StrengthUnit = Annotated[Literal["% of dry weight of fibre", "g/l", "%"], Field()]


def _key(description: str, example: Any = None, darwin_core: str = "", **more: Any) -> Any:
    """Describe a key: what it means, a value as it may stand in a file, and its term in Darwin Core."""
    extra: dict[str, Any] | None = {"darwin_core": darwin_core} if darwin_core else None
    examples = None if example is None else [example]
    return Field(description=description, examples=examples, json_schema_extra=extra, **more)


class _Shared(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, hide_input_in_errors=True)


class Temperature(_Shared):
    """How hot it was. A number alone could be either scale, and is refused."""

    value: Number = _key("The number; a reading beats the dial.", 95)
    unit: Literal["C", "F"] = _key("C or F.", "C")

    @property
    def celsius(self) -> float:
        """The temperature in degrees Celsius."""
        return self.value if self.unit == "C" else (self.value - 32) / 1.8


class Mordant(_Shared):
    """One mordant, dip, tannin or assistant and where it was put."""

    material: RecordId = _key("Id of a record in data/materials/, or unknown.", "potash-alum")
    strength: Annotated[float | Unknown, BeforeValidator(_number_or_unknown)] = _key("A number, or unknown.", 15)
    unit: StrengthUnit | None = _key("Its unit; needed with a number.", "% of dry weight of fibre", default=None)
    where: MordantPlace = _key("What it was put on.", "fibre")


class Result(_Shared):
    """What came out. `folioproof measure SCAN --into FILE` fills the measured keys from a scan."""

    strength: Grade = _key("How strongly it printed. A failure counts as much as a success.", "clear")
    clarity: ClarityOrUnknown = _key("How well edges and veins can be read.", "crisp")
    transferred: Share | None = _key("Share of the shape that took colour, 0 to 1.", 0.8, default=None)
    bleed: Annotated[float, Field(strict=True, ge=0, le=100)] | None = _key(
        "Faint colour beyond the edge, as a share of the shape's area.", 0.1, default=None
    )
    edge_width_mm: Annotated[float, Field(strict=True, ge=0, le=1000)] | None = _key(
        "Width of the edge from bare ground to print, in mm.", 0.7, default=None
    )
    colour_basis: ColourBasis = _key("How the colour was come by: it says which of the colour keys counts.", "hex")
    lab: tuple[Number, Number, Number] | None = _key(
        "L, a, b (CIELAB, D65, 2 degree observer): instrument or scan.", [51.6, 2.4, 27.1], default=None
    )
    lab_spread: Annotated[float, Field(strict=True, ge=0, le=200)] | None = _key(
        "Half of the print lies within this CIEDE2000 difference of lab.", 4.2, default=None
    )
    hex: Hex | None = _key(
        "The colour in sRGB, in quotation marks, picked from a scan or photo.", "#8a7a4e", default=None
    )
    colour_name: Name | None = _key("One of the 267 ISCC-NBS names.", "light olive brown", default=None)
    photo: Name | None = _key(
        "File name of a photo beside this file: jpg, png, webp or tif, below 20 MB, its location data removed.",
        "my-print.jpg",
        "associatedMedia",
        default=None,
    )


class LightTest(_Shared):
    """How well the print stood light, on a named scale: grades of different scales are not compared."""

    scale: LightScale = _key("The scale.", "ISO 105-B02 blue wool 1-8")
    grade: Annotated[Note, BeforeValidator(_words)] = _key("The grade on that scale, or words.", "4")
    hours: Above0 | None = _key("Hours of light.", 200, default=None)


class Review(_Shared):
    """A curator's look at the record; contributors leave it out."""

    flag: Literal["raised", "cleared"] = _key(
        "raised or cleared; a reported reaction raises the flag by itself.", "cleared"
    )
    on: Day = _key("The day of the look.", "2026-05-02")
    note: Note = _key("What was found.", "Asked the maker: nettle in the same basket.")


class OutcomeRecord(_Shared):
    """One print, or one that failed, as its maker saw it."""

    id: OutcomeId = _key(
        "<region>-<date>-<taxon>-<contributor>-<number>, in lower case; the file name says the same.",
        "nz-auk-2026-04-10-acer-palmatum-mira-1",
        "occurrenceID",
    )
    contributor: Handle = _key(
        "A handle of 2 to 30 letters, digits and hyphens, always the same one. Your real name is not needed.",
        "mira",
        "recordedBy",
    )
    licence: Licence = _key("The licence under which you share the record.", "CC0-1.0", "license")
    consent: StrictBool = _key(
        "true says: I made this print myself and agree that this record is shared under the licence.", True
    )
    invented: StrictBool = _key(
        "true marks data made up for a demonstration; refused in the real collection.", True, default=False
    )
    taxon: RecordId = _key(
        "Id of the plant's record, as `folioproof find` prints it; the genus when that is all you know. Never a guess.",
        "acer-palmatum",
        "taxonID",
    )
    name_as_given: Name = _key("What you call the plant.", "Japanese maple", "verbatimIdentification")
    part: MadePart = _key("The part that was laid.", "leaf", "occurrenceRemarks")
    stage: StageOrUnknown = _key("Stage of the leaf.", "turning", "lifeStage")
    side: SideOrUnknown = _key("The face that lay on the fibre.", "lower", "occurrenceRemarks")
    state: MadeState = _key("The state in which it was laid.", "fresh", "occurrenceRemarks")
    date: Day = _key("The day of the print, year-month-day.", "2026-04-10", "eventDate")
    region: Region = _key(
        "ISO 3166-2 code of the region where it grew; the country's code where a country has no regions.",
        "NZ-AUK",
        "stateProvince",
    )
    coordinates: tuple[Number, Number] | None = _key(
        "[latitude, longitude] in degrees, no finer than one decimal: never your garden.",
        [-36.8, 174.8],
        "decimalLatitude, decimalLongitude",
        default=None,
    )
    treatment: MadeTreatment = _key(
        "The metal that met the leaf; it fits the mordants below.", "alum", "samplingProtocol"
    )
    fibre: MadeFibre = _key("What it was laid on.", "paper", "samplingProtocol")
    substrate: RecordId | None = _key(
        "Id of the very paper or cloth in data/materials/ (kind substrate).", "cotton-watercolour-paper", default=None
    )
    mordants: tuple[Mordant, ...] = _key(
        "Each mordant, dip or assistant; left out when there was none.", None, "samplingProtocol", default=()
    )
    method: Method = _key("How leaf and fibre were brought together.", "steam", "samplingProtocol")
    temperature: Annotated[Temperature, BeforeValidator(_with_unit)] | None = _key(
        "How hot, with its unit.", None, "samplingProtocol", default=None
    )
    minutes: Above0 | None = _key("How long, in minutes.", 90, "samplingProtocol", default=None)
    result: Result = _key("What came out.", None, "measurementOrFact")
    lightfastness: LightTest | None = _key("If you tested it.", default=None)
    reaction: Reaction = _key("What you noticed on yourself; it raises a flag that the plant's page shows.", "none")
    reaction_note: Note | None = _key(
        "What you felt, how soon, for how long.", "Itching hands for a day.", default=None
    )
    note: Note | None = _key("What else matters.", "Soaked overnight.", "occurrenceRemarks", default=None)
    review: Review | None = _key("For curators.", default=None)

    @property
    def country(self) -> str:
        """ISO 3166-1 alpha-2 code."""
        return self.region[:2]

    @property
    def is_flagged(self) -> bool:
        """Whether a curator is to look: a reaction was reported or the flag raised, and nobody has cleared it."""
        if self.review is not None:
            return self.review.flag == "raised"
        return self.reaction is not Reaction.NONE

    @property
    def stem(self) -> str:
        """The id without its number."""
        return f"{self.region.lower()}-{self.date.isoformat()}-{self.taxon}-{self.contributor}"
