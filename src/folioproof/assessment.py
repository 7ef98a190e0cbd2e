"""What the safety rules are given and what they answer, as plain frozen values."""

from __future__ import annotations

from dataclasses import dataclass

from .claims import Agent, AllClear, Carries, HazardClaim, LookAlike, Searched
from .vocabulary import Company, Level, Part, Rank, Route, Severity, State, Step, Strength

RULES = {
    "S01": "The worst of species, genus and family counts; a family alone goes no higher than extra care unless "
    "its agent does. A genus all-clear covers a species only while no species of the genus has a claim above minor.",
    "S02": "A claim on all parts or on unstated parts counts for every part; claims on other parts are shown only.",
    "S03": "The craft has five steps; the table says at which steps a route is met and what to do there.",
    "S04": "Urushiol, severe harm to or through the skin, severe light burns and stinging hairs: leave out. Weaker "
    "kin of urushiol: extra care.",
    "S05": "A severe or fatal poison that also reaches skin, eyes or air: leave out. One that acts only when "
    "swallowed: extra care.",
    "S06": "Leaves that give off a poison in steam, and anything harmful when breathed: extra care outdoors or under "
    "extraction; leave out of a class.",
    "S07": "A listed skin irritant is minor until something described says more.",
    "S08": "With a class, children or animals in the room, severe-if-swallowed, allergen, light-burn and thinly "
    "evidenced plants are left out.",
    "S09": "No claim of any kind: not assessed. A search that found nothing, a veterinary or practice all-clear, or "
    "claims on other parts only: extra care, thin evidence. Memory alone never gives ordinary care.",
    "S10": "Sources that disagree are both shown; the hazard wins.",
    "S11": "A reported reaction raises a review flag and nothing else; no outcome lowers a level.",
    "S12": "A look-alike that is left out, by everyone or of a class, puts 'identify first' at the top.",
}

STANDING_CAUTIONS = (
    "A reference, not medical advice: workplace, school and waste rules are local and come first.",
    "A name is not an identification: if you are not sure of the plant, leave it.",
    "Ordinary care means gloves for metal salts, washed hands, no food, fresh air; it does not mean safe.",
    "In trouble, ring the poison help line of your country; check the number locally before you start.",
)


@dataclass(frozen=True, slots=True)
class Held:
    """A claim together with the taxon that holds it: the plant itself, its genus, family or a parent."""

    claim: HazardClaim | AllClear | Carries
    taxon_id: str
    taxon_name: str
    rank: Rank


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A look-alike, the level it has for adults, and the one it has in a class (None when not asked)."""

    look_alike: LookAlike
    name: str
    level: Level
    taught: Level | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """Everything the rules may know about one taxon."""

    taxon_id: str
    hazards: tuple[Held, ...] = ()
    all_clears: tuple[Held, ...] = ()
    carries: tuple[Held, ...] = ()
    searches: tuple[Searched, ...] = ()
    neighbours: tuple[Neighbour, ...] = ()
    reactions: tuple[str, ...] = ()
    genus_has_hazard: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Tables:
    """The vocabularies as look-ups: what a part reaches, what a route means, what to do about it."""

    parts: dict[Part, frozenset[Part]]
    states: dict[State, frozenset[State]]
    levels: dict[tuple[Route, Severity], tuple[Level, Level]]
    always: tuple[tuple[Step, str], ...]
    by_route: tuple[tuple[Route, Step, Severity, str], ...]
    by_vapour: tuple[tuple[str, Step, str], ...]
    by_company: tuple[tuple[Company, Step, str], ...]
    agents: dict[str, Agent]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a level is at least this high: the rule, plain words, and the claims it rests on."""

    code: str
    level: Level
    text: str
    claims: tuple[Held, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """The answer about one taxon, one part, one state and one company."""

    level: Level
    reasons: tuple[Reason, ...]
    precautions: dict[Step, tuple[str, ...]]
    other_parts: tuple[Held, ...]
    contradictions: tuple[str, ...]
    strength: Strength | None
    thin_evidence: bool
    identify_first: tuple[Neighbour, ...]
    review_flags: tuple[str, ...]
