"""The words that records, rules, pages and commands share.

Each enumeration is closed: `data/vocabularies/terms.yml` gives every term its definition, and lint rule V301
refuses a term that stands in only one of the two places.
"""

from __future__ import annotations

from enum import StrEnum


class Level(StrEnum):
    """How a plant is to be met, mildest first; `rank` orders them for "the worst of"."""

    ORDINARY = "ordinary care"
    EXTRA = "extra care"
    NOT_ASSESSED = "not assessed"
    LEAVE_OUT = "leave out"

    @property
    def rank(self) -> int:
        """0 for ordinary care to 3 for leave out; not assessed acts as leave out until someone has looked."""
        return _LEVEL_RANKS[self]


_LEVEL_RANKS = {level: rank for rank, level in enumerate(Level)}


def worst(levels: list[Level]) -> Level:
    """Return the level to act on when any of `levels` may be true; not assessed when there is none."""
    return max(levels, key=lambda level: level.rank, default=Level.NOT_ASSESSED)


class Route(StrEnum):
    """How the harm reaches a person."""

    SWALLOWED = "swallowed"
    SKIN_IRRITANT = "skin irritant"
    SKIN_ALLERGEN = "skin allergen"
    SKIN_SUNLIGHT = "skin and sunlight"
    THROUGH_SKIN = "through the skin"
    EYE = "eye"
    BREATHED = "breathed"
    HAIRS_THORNS = "hairs and thorns"


class Severity(StrEnum):
    """The worst effect that a source reports; ungraded counts as moderate at least (`rank`)."""

    MINOR = "minor"
    MODERATE = "moderate"
    UNGRADED = "ungraded"
    SEVERE = "severe"
    FATAL = "fatal"

    @property
    def rank(self) -> int:
        """1 for minor to 4 for fatal."""
        return {"minor": 1, "moderate": 2, "ungraded": 2, "severe": 3, "fatal": 4}[self.value]


class Part(StrEnum):
    """A part of the plant; `all` and `unstated` count for every part."""

    ALL = "all"
    UNSTATED = "unstated"
    LEAF = "leaf"
    STEM = "stem"
    FLOWER = "flower"
    FRUIT = "fruit"
    SEED = "seed"
    BARK = "bark"
    WOOD = "wood"
    ROOT = "root"
    BULB = "bulb"
    SAP = "sap"
    HAIR = "hair"
    THORN = "thorn"


class State(StrEnum):
    """What state the plant is in when it is handled."""

    ANY = "any"
    FRESH = "fresh"
    DRIED = "dried"
    SOAKED = "soaked"


class Company(StrEnum):
    """Who is in the room; adults always are."""

    ADULTS = "adults"
    CLASS = "class"
    CHILDREN = "children"
    ANIMALS = "animals"


class Step(StrEnum):
    """The five steps of the craft."""

    PICK = "pick"
    LAY = "lay"
    HEAT = "heat"
    LIFT = "lift"
    DISCARD = "discard"


class Strength(StrEnum):
    """How much stands behind a claim, strongest first."""

    DESCRIBED = "described"
    LISTED = "listed"
    PRACTICE = "practice"
    MEMORY = "memory"


class Basis(StrEnum):
    """Where a claim comes from."""

    PUBLISHED = "published"
    ACCOUNT = "account"
    PRACTICE = "common practice"
    MEMORY = "memory"
    CONTRIBUTED = "contributed"


class Audience(StrEnum):
    """Whom a source of all-clears speaks about."""

    PEOPLE = "people"
    ANIMALS = "animals"


class Rank(StrEnum):
    """Taxonomic rank of a record."""

    FAMILY = "family"
    GENUS = "genus"
    SPECIES = "species"
    SUBSPECIES = "subspecies"
    VARIETY = "variety"


class NameKind(StrEnum):
    """What a name is to its taxon."""

    ACCEPTED = "accepted"
    SYNONYM = "synonym"
    MISAPPLIED = "misapplied"
    MISSPELLING = "misspelling"
    VERNACULAR = "vernacular"


class HeatEffect(StrEnum):
    """What steam, boiling or a press does to an agent; partly destroyed counts as survives."""

    DESTROYED = "destroyed"
    SURVIVES = "survives"
    UNKNOWN = "unknown"


class AirEffect(StrEnum):
    """Whether heat, steam or smoke puts an agent in the air."""

    RELEASED = "released"
    STAYS = "stays"
    UNKNOWN = "unknown"


class Status(StrEnum):
    """What a look-up found; only `exact` may carry ordinary care."""

    EXACT = "exact"
    CONFIRM = "confirm"
    AMBIGUOUS = "ambiguous"
    GENUS = "genus"
    UNKNOWN = "unknown"


class GuardKind(StrEnum):
    """Why a guarded word blocks an ordinary answer."""

    HAZARD_WORD = "hazard word"
    VERNACULAR = "dangerous vernacular"


class LeafHabit(StrEnum):
    """How long a leaf stays on the plant."""

    DECIDUOUS = "deciduous"
    SEMI_EVERGREEN = "semi-evergreen"
    EVERGREEN = "evergreen"
    HERBACEOUS = "herbaceous"


class Climate(StrEnum):
    """Where a plant is at home; the seasons of a place are only laid on plants of the temperate zone."""

    TEMPERATE = "temperate"
    MEDITERRANEAN = "mediterranean"
    SUBTROPICAL = "subtropical"
    TROPICAL = "tropical"


class Stage(StrEnum):
    """The stage of a leaf, after the macro-stages of the BBCH scale."""

    EMERGING = "emerging"
    FULL_LEAF = "full leaf"
    LATE = "late"
    TURNING = "turning"
    FALLEN = "fallen"
    EVERGREEN = "evergreen"


class LeafShape(StrEnum):
    """The outline of a leaf, in the words of botany."""

    LINEAR = "linear"
    LANCEOLATE = "lanceolate"
    OVATE = "ovate"
    ROUND = "round"
    LOBED = "lobed"
    PALMATE = "palmate"
    PINNATE = "pinnate"
    BIPINNATE = "bipinnate"
    FROND = "frond"
    NEEDLE = "needle"
    SCALE = "scale"


class Process(StrEnum):
    """How the colour got onto the fibre; a dye bath is never shown as a print."""

    CONTACT_PRINT = "contact print"
    DYE_BATH = "dye bath"


class Treatment(StrEnum):
    """What metal met the leaf; `other` and `unstated` are kept, but never shown as one of the first four."""

    NONE = "none"
    ALUM = "alum"
    IRON = "iron"
    ALUM_IRON = "alum + iron"
    OTHER = "other"
    UNSTATED = "unstated"


#: The treatments and fibres that an estimate speaks of.
TREATMENTS = (Treatment.NONE, Treatment.ALUM, Treatment.IRON, Treatment.ALUM_IRON)


class Fibre(StrEnum):
    """What the leaf was laid on; `other` and `unstated` are kept, but never shown as one of the first four."""

    PAPER = "paper"
    PLANT_FIBRE = "plant fibre"
    SILK = "silk"
    WOOL = "wool"
    OTHER = "other"
    UNSTATED = "unstated"


FIBRES = (Fibre.PAPER, Fibre.PLANT_FIBRE, Fibre.SILK, Fibre.WOOL)


class Grade(StrEnum):
    """How strongly a leaf printed, weakest first."""

    NONE = "none"
    TRACE = "trace"
    PARTIAL = "partial"
    CLEAR = "clear"
    FULL = "full"

    @property
    def number(self) -> int:
        """0 for none to 4 for full."""
        return _GRADE_NUMBERS[self]


_GRADE_NUMBERS = {grade: number for number, grade in enumerate(Grade)}


class Clarity(StrEnum):
    """How well edges and veins can be read in the print."""

    CRISP = "crisp"
    SOFT = "soft"
    BLURRED = "blurred"


class LeafSide(StrEnum):
    """Which face of the leaf lay on the fibre."""

    UPPER = "upper"
    LOWER = "lower"
    BOTH = "both"


class Handling(StrEnum):
    """What a leaf asks of the hand that lays it."""

    BLEEDS = "bleeds"
    BRITTLE = "brittle"
    HAIRY = "hairy"
    JUICY = "juicy"
    NEEDS_BRUISING = "needs bruising"
    NEEDS_SOAKING = "needs soaking"
    RESINOUS = "resinous"
    SHEDS_LEAFLETS = "sheds leaflets"
    TEARS = "tears"
    THICK = "thick"
    VEINS_PRINT = "veins print"
    WAXY = "waxy"
    WILTS_FAST = "wilts fast"


class LocalRule(StrEnum):
    """Why a plant must not be picked or planted everywhere; the rule itself is local."""

    INVASIVE = "invasive"
    PROTECTED = "protected"


class LightScale(StrEnum):
    """A scale of lightfastness; the grades of one are not those of another."""

    BLUE_WOOL = "ISO 105-B02 blue wool 1-8"
    AATCC = "AATCC TM16 L2-L9"
    WORDS = "words of the source"


class MaterialKind(StrEnum):
    """What a material is for at the table; one with several uses stands under the first that fits."""

    MORDANT = "mordant"
    DIP = "dip"
    TANNIN = "tannin"
    ASSIST = "assist"
    BINDER = "binder"
    SUBSTRATE = "substrate"
    BLANKET = "blanket"
    FELT = "felt"
    BARRIER = "barrier"


class Method(StrEnum):
    """How leaf and fibre were brought together."""

    STEAM = "steam"
    BOIL = "boil"
    HOT_PRESS = "hot press"
    POUNDING = "pounding"
    COLD_PRESS = "cold press"
    OTHER = "other"


class Licence(StrEnum):
    """The licence of a contributed record, as its SPDX identifier."""

    CC0 = "CC0-1.0"
    CC_BY = "CC-BY-4.0"


class Reaction(StrEnum):
    """What the maker noticed on themselves; a report raises a flag and never changes a level."""

    NONE = "none"
    SKIN = "skin"
    BREATHING = "breathing"
    EYES = "eyes"
    OTHER = "other"


class ColourBasis(StrEnum):
    """How a contributed colour was come by; it says which of the colour keys counts."""

    INSTRUMENT = "instrument"
    SCAN = "scan"
    HEX = "hex"
    COLOUR_NAME = "colour name"
    NONE = "none"


class MordantPlace(StrEnum):
    """What a mordant or dip was put on."""

    FIBRE = "fibre"
    LEAF = "leaf"
    BLANKET = "blanket"
    BATH = "bath"
