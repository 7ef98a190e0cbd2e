"""What is known of a plant's printing, as plain frozen values, each with where it comes from.

Like the values in `claims`: records read them from YAML, the estimate reasons over them, and the descriptions feed the
generated JSON Schema.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from .vocabulary import (
    Basis,
    Clarity,
    Climate,
    Fibre,
    Grade,
    Handling,
    LeafHabit,
    LeafShape,
    LeafSide,
    LightScale,
    LocalRule,
    Part,
    Process,
    Stage,
    State,
    Treatment,
)

_STRICT: Any = {"extra": "forbid"}


def _said(description: str, **more: Any) -> Any:
    return field(metadata={"description": description}, **more)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dye:
    """One source's word that parts of a plant hold a class of dye or tannin."""

    __pydantic_config__ = _STRICT

    dye_class: str = _said("Id of a record in dye-classes/.")
    parts: tuple[Part, ...] = _said("Parts that hold it, sorted.")
    compound: str | None = _said("The compounds that the source names.", default=None)
    basis: Basis = _said("Where the claim comes from.")
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class ColourStatement:
    """One print, dye bath or common word about what a part gives on a fibre under a treatment."""

    __pydantic_config__ = _STRICT

    process: Process = _said("Contact print or dye bath.")
    part: Part = _said("The part that was laid or boiled.")
    treatment: Treatment = _said("The metal that met it; `unstated` when the source names none.")
    with_what: str | None = _said("What the treatment was, as the source puts it.", default=None)
    fibre: Fibre = _said("What it was laid on; `unstated` when the source does not say.")
    strength: Grade | None = _said("How strongly it printed.", default=None)
    clarity: Clarity | None = _said("How well it could be read.", default=None)
    words: str | None = _said("The colour in the source's own words.", default=None)
    reads_as: str | None = _said("The ISCC-NBS name that a curator reads in those words.", default=None)
    lab: tuple[float, float, float] | None = _said("Measured CIELAB (D65, 2 degrees).", default=None)
    side: LeafSide | None = _said("The face that lay on the fibre.", default=None)
    stage: Stage | None = _said("The stage of the leaf.", default=None)
    state: State = _said("Fresh, dried or soaked.", default=State.ANY)
    month: int | None = _said("Month of the year, 1 to 12.", default=None)
    basis: Basis = _said("Where the statement comes from.")
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)
    note: str | None = _said("What else matters, in a few plain words.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class StageStrength:
    """How strongly the leaf prints at one stage, as a share of its best stage."""

    __pydantic_config__ = _STRICT

    stage: Stage = _said("The stage of the leaf.")
    share: float = _said("0 to 1: strength at this stage as a share of the best stage.")
    basis: Basis = _said("Where it comes from.")
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)
    note: str | None = _said("What was measured or seen.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandlingNote:
    """What the leaf asks of the hand."""

    __pydantic_config__ = _STRICT

    needs: Handling = _said("A term of the vocabulary.")
    basis: Basis = _said("Where it comes from.")
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)
    note: str | None = _said("A few plain words.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lightfastness:
    """How well the colour stands light, on a named scale."""

    __pydantic_config__ = _STRICT

    treatment: Treatment = _said("The treatment it was tested with.")
    fibre: Fibre = _said("The fibre it was tested on.")
    scale: LightScale = _said("The scale; grades of different scales are not compared.")
    grade: str = _said("The grade as printed.")
    basis: Basis = _said("Where it comes from.")
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class LocalNote:
    """A caution that somewhere a rule limits picking or carrying the plant."""

    __pydantic_config__ = _STRICT

    rule: LocalRule = _said("Invasive or protected.")
    regions: tuple[str, ...] = _said("ISO 3166-1 codes where it is so, sorted; not complete.")
    basis: Basis = _said("Where it comes from.")
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Printing:
    """Everything a record says about printing."""

    __pydantic_config__ = _STRICT

    habit: LeafHabit | None = _said("How long the leaf stays on the plant.", default=None)
    climate: Climate | None = _said("Where the plant is at home.", default=None)
    leaf_shape: LeafShape | None = _said("The outline of the leaf.", default=None)
    grows_in: tuple[str, ...] = _said(
        "Botanical continents (TDWG level 1 codes, 1 to 9) where it grows wild or in gardens, sorted.", default=()
    )
    dyes: tuple[Dye, ...] = _said("Sorted by dye class, source, parts.", default=())
    colours: tuple[ColourStatement, ...] = _said("Sorted by process, treatment, fibre, part, source.", default=())
    stages: tuple[StageStrength, ...] = _said("In the order of the stages, then by source.", default=())
    handling: tuple[HandlingNote, ...] = _said("Sorted by need.", default=())
    lightfastness: tuple[Lightfastness, ...] = _said("Sorted by treatment, fibre, source.", default=())
    local_notes: tuple[LocalNote, ...] = _said("Sorted by rule.", default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassPrior:
    """What a dye class gives under one treatment on one fibre, before anything is known of the plant."""

    __pydantic_config__ = _STRICT

    treatment: Treatment = _said("One of the four treatments.")
    fibre: Fibre = _said("One of the four fibres.")
    lab: tuple[float, float, float] = _said("CIELAB (D65, 2 degrees) of the middle of what is expected.")
    spread: float = _said("Standard deviation about it, in CIEDE2000 units.")
    strength: Grade = _said("The likeliest strength.")
    basis: Basis = _said("Where it comes from.")
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)
    note: str | None = _said("What it rests on, in a few plain words.", default=None)
