"""Facts about plants as plain frozen values, each with where it comes from.

These are the values that the rules reason over. `records` reads them from YAML (pydantic checks them there), the
database gives them back, and nothing in between changes them. Field descriptions feed the generated JSON Schema.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from .vocabulary import (
    AirEffect,
    Audience,
    Basis,
    HeatEffect,
    NameKind,
    Part,
    Route,
    Severity,
    State,
    Strength,
)

#: Read by pydantic when a record holds one of these values: unknown keys are refused.
_STRICT: Any = {"extra": "forbid"}


def _said(description: str, **more: Any) -> Any:
    return field(metadata={"description": description}, **more)


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardClaim:
    """One source's word that a part of a plant does harm by one route."""

    __pydantic_config__ = _STRICT

    route: Route = _said("How the harm reaches a person.")
    severity: Severity = _said("The worst effect that the source reports.")
    parts: tuple[Part, ...] = _said("Parts the source names, sorted; `unstated` when it names none.")
    state: State = _said("State of the plant the claim is about.", default=State.ANY)
    agent: str | None = _said("Id of a record in agents/, when the source names what does the harm.", default=None)
    audience: Audience = _said("Whom the source speaks about.", default=Audience.PEOPLE)
    strength: Strength = _said("`described` for cases or a mechanism, `listed` for a row in a list.")
    basis: Basis = _said("Where the claim comes from.")
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)
    as_published: str | None = _said("The source's own grade or class.", default=None)
    onset: str | None = _said("How soon it shows, and how long it lasts, in a few words.", default=None)
    note: str | None = _said("What happens and what a handler notices, in a few plain words.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class AllClear:
    """One source's word that it looked at the plant and lists no hazard."""

    __pydantic_config__ = _STRICT

    audience: Audience = _said("Whom the source speaks about.")
    parts: tuple[Part, ...] = _said("Parts the source names, sorted; `unstated` when it names none.")
    apart_from: tuple[Route, ...] = _said(
        "Routes by which the same source does report harm, sorted: it lists the plant for these only.",
        default=(),
    )
    basis: Basis = _said("Where the claim comes from.")
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)
    as_published: str | None = _said("The source's own grade or class.", default=None)
    note: str | None = _said("What the source limits it to, in a few plain words.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Searched:
    """A curator searched the named lists on a date, for the name and its synonyms, and found the plant in none."""

    __pydantic_config__ = _STRICT

    on: date = _said("The day of the search.")
    sources: tuple[str, ...] = _said("Ids of the lists searched, sorted.")
    note: str | None = _said("What else was looked for.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Carries:
    """The plant is known to carry an agent in the named parts; no severity is claimed by it."""

    __pydantic_config__ = _STRICT

    agent: str = _said("Id of a record in agents/.")
    parts: tuple[Part, ...] = _said("Parts that carry it, sorted.")
    basis: Basis = _said("Where the claim comes from.")
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class LookAlike:
    """Another plant that this one is taken for, and how to tell them apart."""

    __pydantic_config__ = _STRICT

    taxon: str = _said("Id of the other plant's record.")
    tell_apart: str = _said("What can be seen that differs.")
    basis: Basis = _said("Where the claim comes from.")
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxonName:
    """One name by which people meet a taxon."""

    __pydantic_config__ = _STRICT

    name: str = _said("The name as people write it.")
    kind: NameKind = _said("What the name is to this taxon.")
    language: str | None = _said("BCP 47 tag of a vernacular.", default=None)
    regions: tuple[str, ...] = _said("ISO 3166-1 codes where the usage is regional, sorted.", default=())
    authorship: str | None = _said("Authors of a scientific name.", default=None)
    shared: bool = _said("True when another record rightly holds the same scientific name too.", default=False)
    basis: Basis = _said("Where the name comes from.")
    sources: tuple[str, ...] = _said("Ids of sources that print it, sorted.", default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatFact:
    """What heat does to an agent."""

    __pydantic_config__ = _STRICT

    value: HeatEffect = _said("destroyed, survives or unknown.")
    basis: Basis | None = _said("Where the fact comes from; left out for unknown.", default=None)
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)
    note: str | None = _said("A few plain words.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class AirFact:
    """Whether heat, steam or smoke carries an agent."""

    __pydantic_config__ = _STRICT

    value: AirEffect = _said("released, stays or unknown.")
    basis: Basis | None = _said("Where the fact comes from; left out for unknown.", default=None)
    source: str | None = _said("Id of a record in sources/.", default=None)
    locator: str | None = _said("Where in the source.", default=None)
    note: str | None = _said("A few plain words.", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Agent:
    """What does the harm, and what the craft's heat does to it."""

    id: str
    name: str
    nature: str
    heat: HeatFact
    air: AirFact
    #: The urushiol rule: even a family that merely may carry it is left out.
    hard_stop: bool = False
    #: Weaker kin of a hard stop: extra care wherever the part carries it.
    weak_kin: bool = False
    #: What steam lifts from the leaf is itself a poison (hydrogen cyanide).
    poison_vapour: bool = False
    #: Stings or blisters at a touch, whatever the list's grade.
    stings: bool = False
