"""What an estimate of a print is made of, and what comes out: plain frozen values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from .colorimetry import Lab
from .printing import ClassPrior, ColourStatement, Dye
from .vocabulary import Basis, Fibre, Grade, Part, Rank, Treatment

#: Iron is shown with what it does to cellulose, alum with what light does to its colours; both common practice.
CAUTIONS = {
    "iron on cellulose": "Iron slowly eats paper, cotton and linen: weak baths, a good rinse, nothing precious.",
    "alum in light": "Alum colours fade in light sooner than iron's: hang them out of the sun.",
}


RULES = {
    "E01": "Each voice counts once: a maker, a paper, the craft; what it tells of several prints is averaged first.",
    "E02": "The colour is the mean of what each layer says, the surer ones weighing more: contributed and published "
    "prints, makers' accounts, dye baths, common practice, memory, and the dye class of the plant.",
    "E03": "A dye bath tells what colour a plant holds; it is never shown as a print and says nothing about strength.",
    "E04": "A statement that names no treatment, or another one, never gives a colour under alum or iron.",
    "E05": "The spread is never less than half the distance between the two colours that lie farthest apart.",
    "E06": "With iron a leaf is held no lighter than with alum unless a source says otherwise.",
    "E07": "Strength starts from the published base rate, 32 of 88 species; makers' accounts are discounted, because "
    "successes are what gets published.",
    "E08": "Strength now is the strength at the best stage times the share that the leaf has left at its stage today.",
    "E09": "Stages are laid on dates by hemisphere and published gradients, for plants of the temperate zone only; "
    "evergreens and the tropics get no dates.",
}


class LayerKind(StrEnum):
    """What a layer of an estimate rests on, strongest first."""

    CONTRIBUTED = "contributed prints"
    PUBLISHED_PRINT = "published print"
    ACCOUNT = "maker's account"
    DYE_BATH = "published dye bath"
    PRACTICE = "common practice"
    MEMORY = "memory"
    DYE_CLASS = "dye class"


@dataclass(frozen=True, slots=True)
class Told:
    """A colour statement with its colour worked out, whose voice it is, and whether it speaks of this very plant."""

    statement: ColourStatement
    lab: Lab | None
    voice: str
    rank: Rank


@dataclass(frozen=True, slots=True)
class HeldDye:
    """A dye claim and the rank of the record that makes it."""

    dye: Dye
    rank: Rank


@dataclass(frozen=True, slots=True)
class Contributed:
    """What contributed prints of one part, treatment and fibre add up to.

    `lab` and `spread` (CIEDE2000, between prints) are None while nobody measured a colour; `counts` holds the weighted
    number of prints of each grade, and `prints` and `people` say how many there are; `colour_people` how many of them
    measured a colour.
    """

    lab: Lab | None
    spread: float | None
    counts: tuple[float, float, float, float, float]
    prints: int
    people: int
    colour_people: int = 0


@dataclass(frozen=True, slots=True)
class Knowledge:
    """Everything an estimate may know about one plant."""

    taxon_id: str
    dyes: tuple[HeldDye, ...] = ()
    told: tuple[Told, ...] = ()
    contributed: Mapping[tuple[Part, Treatment, Fibre], Contributed] = field(default_factory=dict)


#: (dye class, treatment, fibre) -> what the class gives.
Priors = Mapping[tuple[str, Treatment, Fibre], ClassPrior]


@dataclass(frozen=True, slots=True)
class Layer:
    """One thing the estimate rests on: its own colour, its share of the mean, and who stands behind it."""

    kind: LayerKind
    basis: Basis
    rank: Rank
    lab: Lab
    spread: float
    weight: float
    voices: int
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Estimate:
    """What a part is expected to print under one treatment on one fibre.

    `lab` is CIELAB (D65, 2 degrees), `spread` a standard deviation in CIEDE2000 units; both are None when nothing is
    known of the colour. `posterior` holds the probability of each of the five grades, none to full.
    """

    part: Part
    treatment: Treatment
    fibre: Fibre
    lab: Lab | None
    spread: float | None
    posterior: tuple[float, ...]
    layers: tuple[Layer, ...]
    rests_on: str
    notes: tuple[str, ...] = ()

    @property
    def strength(self) -> float:
        """Expected grade, 0 for none to 4 for full."""
        return sum(grade * chance for grade, chance in enumerate(self.posterior))

    @property
    def grade(self) -> Grade:
        """The grade nearest to the expected one."""
        return list(Grade)[min(4, int(self.strength + 0.5))]
