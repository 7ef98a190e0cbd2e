"""What the reference answers about colour and season: the same for the library, the command line and the pages."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from .answers import Candidate, Source, source_json
from .assessment import Neighbour
from .colorimetry import ColourName, Lab, to_hex
from .estimates import Estimate, Layer
from .phenology import Calendar, MonthStrength, Season
from .places import Place
from .printing import HandlingNote, Lightfastness, LocalNote, StageStrength
from .vocabulary import Fibre, Grade, Level, Part, Status, Step, Treatment


@dataclass(frozen=True, slots=True, kw_only=True)
class Swatch:
    """A colour as it is shown: never alone, always with its name and its spread (CIEDE2000, one deviation)."""

    lab: Lab
    name: str
    spread: float

    @property
    def hex(self) -> str:
        """The colour on a screen, #rrggbb."""
        return to_hex(self.lab)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantRef:
    """A plant as it is named in lists."""

    id: str
    scientific_name: str
    common_name: str | None


def ref_of(candidate: Candidate) -> PlantRef:
    """Return a candidate as lists name it."""
    return PlantRef(id=candidate.id, scientific_name=candidate.scientific_name, common_name=candidate.common_name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """The answer to "what will it print?" for one plant, treatment and fibre; `plant` is None for an unknown name."""

    query: str
    status: Status
    level: Level
    plant: PlantRef | None
    treatment: Treatment
    fibre: Fibre
    estimate: Estimate | None = None
    swatch: Swatch | None = None
    season: Season | None = None
    season_grades: tuple[float, ...] | None = None
    place: Place | None = None
    on: date | None = None
    candidates: tuple[Candidate, ...] = ()
    handling: tuple[HandlingNote, ...] = ()
    lightfastness: tuple[Lightfastness, ...] = ()
    local_notes: tuple[LocalNote, ...] = ()
    sources: tuple[Source, ...] = ()
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathered:
    """A plant to gather: how strongly it prints now, in what colour, and what to mind."""

    plant: PlantRef
    level: Level
    part: Part
    treatment: Treatment
    fibre: Fibre
    strength_now: float
    grade_now: Grade
    swatch: Swatch | None
    season: Season
    rests_on: str
    grows_here: bool | None
    wanted: tuple[str, float] | None = None
    precautions: tuple[tuple[Step, tuple[str, ...]], ...] = ()
    identify_first: tuple[Neighbour, ...] = ()
    local_notes: tuple[LocalNote, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathering:
    """The answer to "what shall I gather?": the list, how many were left out and why."""

    place: Place
    on: date
    plants: tuple[Gathered, ...]
    more: int
    left_out: int
    out_of_season: int
    elsewhere: int
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NearColour:
    """A plant and treatment whose expected colour lies near what was asked for."""

    plant: PlantRef
    level: Level
    part: Part
    treatment: Treatment
    fibre: Fibre
    distance: float
    swatch: Swatch
    strength: float
    grade: Grade
    rests_on: str
    same_shape: bool | None = None
    season: Season | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LikeAnswer:
    """The answer to "which plants give this colour?"."""

    asked: str
    lab: Lab
    name: ColourName
    found: tuple[NearColour, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SwapAnswer:
    """The answer to "what can I use instead?"."""

    query: str
    status: Status
    plant: PlantRef | None
    level: Level
    treatment: Treatment
    fibre: Fibre
    swatch: Swatch | None
    candidates: tuple[Candidate, ...] = ()
    found: tuple[NearColour, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Confusion:
    """Two colours of a sheet that will be hard to tell apart, and for whose eyes."""

    first: int
    second: int
    distance: float
    sight: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PaletteAnswer:
    """The colours of a planned sheet together, by the place of each in `colours`."""

    colours: tuple[Expectation, ...]
    confusions: tuple[Confusion, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class YearAnswer:
    """The answer to "when does it print here?": twelve months, and the rule that laid the stages on them."""

    query: str
    status: Status
    level: Level
    plant: PlantRef | None
    place: Place
    year: int
    calendar: Calendar | None = None
    months: tuple[MonthStrength, ...] = ()
    stages: tuple[StageStrength, ...] = ()
    basis: str | None = None
    candidates: tuple[Candidate, ...] = ()
    sources: tuple[Source, ...] = ()


# -- as plain JSON values -----------------------------------------------------------------------------------------


def swatch_json(swatch: Swatch | None) -> dict[str, Any]:
    """Return lab, hex, name and spread; all null when the colour is not known."""
    if swatch is None:
        return {"lab": None, "hex": None, "name": None, "spread": None}
    return {
        "lab": swatch.lab.as_list(), "hex": swatch.hex, "name": swatch.name, "spread": round(swatch.spread, 1),
    }  # fmt: skip


def plant_ref_json(plant: PlantRef | None) -> dict[str, Any] | None:
    """Return a plant's id and names."""
    if plant is None:
        return None
    return {"id": plant.id, "scientific_name": plant.scientific_name, "common_name": plant.common_name}


def season_json(season: Season | None) -> dict[str, Any] | None:
    """Return where the leaf stands in its year."""
    if season is None:
        return None
    return {
        "stage": season.stage,
        "share": round(season.strength, 2),
        "in_season": season.in_season,
        "until": season.until.isoformat() if season.until else None,
        "sure": season.sure,
        "rule": season.rule,
        "basis": season.basis,
    }


def _layer_json(layer: Layer) -> dict[str, Any]:
    return {
        "kind": layer.kind,
        "basis": layer.basis,
        "rank": layer.rank,
        "weight": round(layer.weight, 4),
        "lab": layer.lab.as_list(),
        "spread": round(layer.spread, 1),
        "voices": layer.voices,
        "sources": list(layer.sources),
    }


def _strength_json(estimate: Estimate) -> dict[str, Any]:
    return {
        "expected": round(estimate.strength, 2),
        "grade": estimate.grade,
        "posterior": {grade: round(p, 4) for grade, p in zip(Grade, estimate.posterior, strict=True)},
    }


def _said_json(claims: tuple[Any, ...]) -> list[dict[str, Any]]:
    kept = []
    for claim in claims:
        values = {name: getattr(claim, name) for name in claim.__dataclass_fields__}
        kept.append({key: list(v) if isinstance(v, tuple) else v for key, v in values.items() if v not in (None, ())})
    return kept


def estimate_json(estimate: Estimate, swatch: Swatch | None) -> dict[str, Any]:
    """Return one estimate of a plant as plain JSON values."""
    return {
        "treatment": estimate.treatment,
        "fibre": estimate.fibre,
        **swatch_json(swatch),
        "strength": _strength_json(estimate),
        "layers": [_layer_json(layer) for layer in estimate.layers],
        "rests_on": estimate.rests_on,
    }


def expectation_json(answer: Expectation) -> dict[str, Any]:
    """Return the answer of `expect` as plain JSON values; colours are null where nothing is known."""
    estimate = answer.estimate
    return {
        "query": answer.query,
        "status": answer.status,
        "level": answer.level,
        "plant": plant_ref_json(answer.plant),
        "part": estimate.part if estimate else None,
        "treatment": answer.treatment,
        "fibre": answer.fibre,
        **swatch_json(answer.swatch),
        "strength": _strength_json(estimate) if estimate else None,
        "season": season_json(answer.season),
        "strength_now": [round(p, 4) for p in answer.season_grades] if answer.season_grades else None,
        "near": answer.place.name if answer.place else None,
        "on": answer.on.isoformat() if answer.on else None,
        "layers": [_layer_json(layer) for layer in estimate.layers] if estimate else [],
        "rests_on": estimate.rests_on if estimate else None,
        "notes": list(estimate.notes) if estimate else [],
        "handling": _said_json(answer.handling),
        "lightfastness": _said_json(answer.lightfastness),
        "local_notes": _said_json(answer.local_notes),
        "candidates": [c.id for c in answer.candidates],
        "sources": [source_json(each) for each in answer.sources],
        "warnings": list(answer.warnings),
    }


def gathered_json(row: Gathered) -> dict[str, Any]:
    """Return one plant of `gather` as plain JSON values."""
    return {
        "plant": plant_ref_json(row.plant),
        "level": row.level,
        "part": row.part,
        "treatment": row.treatment,
        "fibre": row.fibre,
        "strength_now": round(row.strength_now, 2),
        "grade_now": row.grade_now,
        **swatch_json(row.swatch),
        "season": season_json(row.season),
        "grows_here": row.grows_here,
        "wanted": {"colour": row.wanted[0], "distance": round(row.wanted[1], 1)} if row.wanted else None,
        "rests_on": row.rests_on,
        "precautions": {step: list(lines) for step, lines in row.precautions},
        "identify_first": [
            {"id": n.look_alike.taxon, "scientific_name": n.name, "tell_apart": n.look_alike.tell_apart}
            for n in row.identify_first
        ],
        "local_notes": _said_json(row.local_notes),
    }


def near_json(row: NearColour) -> dict[str, Any]:
    """Return one plant of `like` or `swap` as plain JSON values."""
    return {
        "plant": plant_ref_json(row.plant),
        "level": row.level,
        "part": row.part,
        "treatment": row.treatment,
        "fibre": row.fibre,
        "distance": round(row.distance, 1),
        **swatch_json(row.swatch),
        "strength": round(row.strength, 2),
        "grade": row.grade,
        "same_shape": row.same_shape,
        "season": season_json(row.season),
        "rests_on": row.rests_on,
    }


def palette_json(answer: PaletteAnswer) -> dict[str, Any]:
    """Return the answer of `palette` as plain JSON values."""
    return {
        "colours": [expectation_json(each) for each in answer.colours],
        "hard_to_tell_apart": [
            {"first": c.first, "second": c.second, "distance": round(c.distance, 1), "sight": c.sight}
            for c in answer.confusions
        ],
        "notes": list(answer.notes),
    }


def year_json(answer: YearAnswer) -> dict[str, Any]:
    """Return the answer of `calendar` as plain JSON values."""
    calendar = answer.calendar
    return {
        "query": answer.query,
        "status": answer.status,
        "level": answer.level,
        "plant": plant_ref_json(answer.plant),
        "near": answer.place.name,
        "year": answer.year,
        "months": [{"month": m.month, "stage": m.stage, "share": round(m.strength, 2)} for m in answer.months],
        "spans": [
            {"stage": s.stage, "start": s.start.isoformat(), "end": s.end.isoformat()}
            for s in (calendar.spans if calendar else ())
        ],
        "rule": calendar.rule if calendar else None,
        "sure": calendar.sure if calendar else None,
        "notes": list(calendar.notes) if calendar else [],
        "stages": _said_json(answer.stages),
        "basis": answer.basis,
        "candidates": [c.id for c in answer.candidates],
        "sources": [source_json(each) for each in answer.sources],
    }
