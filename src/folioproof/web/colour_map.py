"""The whole gamut in print as one picture: the standard colour names that plants are expected to give, by L* and C*."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from math import sqrt

from ..colorimetry import chroma, to_hex
from ..expectation import combine_evenly
from ..print_store import EstimateRow
from ..prints import Prints
from ..terms import company_of, fibre_of, treatment_of
from ..vocabulary import Company, Grade, Level, Part

#: The drawing: C* 0 to 80 across and L* 100 to 0 down, five units of the drawing to one of CIELAB.
WIDTH, HEIGHT, UNIT = 400, 500, 5


@dataclass(frozen=True, slots=True)
class Spot:
    """One colour name: its mean expected colour, how many plants give it, and where it lies in the drawing."""

    name: str
    hex: str
    plants: int
    lightness: float
    chroma: float
    x: float
    y: float
    radius: float


def colour_map(
    prints: Prints,
    treatment: str | None,
    fibre: str,
    company: Collection[Company],
    only: Collection[str] | None = None,
) -> list[Spot]:
    """Return the colour names that usable plants give, the commonest first; `only` limits the plants."""
    levels = prints.store.levels(company_of(company))
    asked = treatment_of(treatment) if treatment else None
    groups: dict[str, list[EstimateRow]] = defaultdict(list)
    for row in prints.store.estimates(asked, fibre_of(fibre), Part.LEAF):
        usable = levels[row.taxon_id] in (Level.ORDINARY, Level.EXTRA)
        if usable and row.name and row.grade is not Grade.NONE and (only is None or row.taxon_id in only):
            groups[row.name].append(row)
    spots = [_spot(name, rows) for name, rows in groups.items()]
    return sorted(spots, key=lambda spot: (-spot.plants, spot.name))


def _spot(name: str, rows: list[EstimateRow]) -> Spot:
    lab = combine_evenly([row.lab for row in rows if row.lab is not None])
    plants = len({row.taxon_id for row in rows})
    return Spot(
        name=name,
        hex=to_hex(lab),
        plants=plants,
        lightness=lab.lightness,
        chroma=chroma(lab),
        x=round(chroma(lab) * UNIT, 1),
        y=round((100 - lab.lightness) * UNIT, 1),
        radius=round(6 + 3 * sqrt(plants), 1),
    )
