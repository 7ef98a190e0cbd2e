"""The one schema: what a YAML file in data/ may hold.

JSON Schema in data/schema/ is generated from these models (`folioproof lint --schema`), and a test fails when it is
stale. Unknown keys are refused everywhere; `unknown` is a legal value wherever knowledge may be missing.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from .claims import AirFact, AllClear, Carries, HazardClaim, HeatFact, LookAlike, Searched, TaxonName
from .materials import Advice, Cas, Figure, GhsClassification, HazardStatement
from .outcome_record import OutcomeRecord
from .printing import ClassPrior, Printing
from .vocabulary import (
    Basis,
    Company,
    GuardKind,
    Level,
    MaterialKind,
    Part,
    Rank,
    Route,
    Severity,
    State,
    Step,
)

TaxonId = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=80)]
Text = Annotated[str, StringConstraints(min_length=1, max_length=600)]
Country = Annotated[str, StringConstraints(pattern=r"^[A-Z]{2}$")]


class Record(BaseModel):
    """What all records share: frozen, and strict about keys."""

    model_config = ConfigDict(extra="forbid", frozen=True, hide_input_in_errors=True)


class TaxonRecord(Record):
    """A species, genus or family: its names and every claim about it."""

    id: TaxonId = Field(description="Scientific name in lower case with hyphens; the file name says the same.")
    scientific_name: Text = Field(description="Accepted name without authors; hybrids with x.")
    authorship: Text | None = Field(default=None, description="Authors of the accepted name.")
    rank: Rank = Field(description="Rank of the taxon.")
    family: TaxonId | None = Field(default=None, description="Genus records only: id of the family.")
    parents: tuple[TaxonId, ...] = Field(default=(), description="Hybrids: ids of the parent species, sorted.")
    names: tuple[TaxonName, ...] = Field(default=(), description="Other names, sorted by kind, language, name.")
    hazards: tuple[HazardClaim, ...] = Field(default=(), description="Sorted by source, route, parts.")
    all_clears: tuple[AllClear, ...] = Field(default=(), description="Sorted by source.")
    searches: tuple[Searched, ...] = Field(default=(), description="Sorted by date.")
    carries: tuple[Carries, ...] = Field(default=(), description="Sorted by agent, source.")
    look_alikes: tuple[LookAlike, ...] = Field(default=(), description="Sorted by taxon.")
    note: Text | None = Field(default=None, description="How a curator settled what sources disagree about.")
    printing: Printing | None = Field(default=None, description="Dyes, colours, seasons and handling.")


class AgentRecord(Record):
    """What does the harm, and what heat does to it."""

    id: TaxonId
    name: Text
    nature: Text = Field(description="One plain sentence: what it is and what it does to a person.")
    hard_stop: bool = Field(default=False, description="Even a family claim with it means leave out.")
    weak_kin: bool = Field(default=False, description="Weaker kin of a hard stop: extra care at least.")
    poison_vapour: bool = Field(default=False, description="What steam lifts from the leaf is itself a poison.")
    stings: bool = Field(default=False, description="Stings at a touch: leave out.")
    heat: HeatFact
    air: AirFact


class DyeClassRecord(Record):
    """A class of dyes or tannins, and what it is expected to give before anything is known of the plant."""

    id: TaxonId
    name: Text
    nature: Text = Field(description="What the class is and does with metals, in plain words.")
    priors: tuple[ClassPrior, ...] = Field(description="Each treatment with each fibre, in vocabulary order.")


class SourceRecord(Record):
    """A bibliography entry; only what was read is cited."""

    id: Annotated[str, StringConstraints(pattern=r"^[A-Z0-9_]+$")]
    citation: Text = Field(description="Author, year, title, publisher or journal.")
    url: Text | None = Field(default=None, description="Where it was read.")
    read: Text | None = Field(default=None, description="Which part was read, when not the whole.")
    maker: Annotated[str, StringConstraints(pattern=r"^[a-z0-9-]+$")] | None = Field(
        default=None, description="Accounts: key of the maker, so that makers are counted and not their reports."
    )
    scope: tuple[Annotated[str, StringConstraints(pattern="^(general list|skin)$")], ...] = Field(
        default=(), description="Lists whose reading through counts for a search."
    )


class Meaning(Record):
    """A word that may mean a dangerous plant."""

    word: Text
    means: Text


class GuardRecord(Record):
    """Words that block an ordinary answer, whatever the plant records say."""

    id: TaxonId
    kind: GuardKind
    why: Text
    words: tuple[Meaning, ...] = Field(description="Sorted by word.")


class Homonym(Record):
    """One common name that several plants rightly bear."""

    word: Text
    taxa: tuple[TaxonId, ...] = Field(description="Ids of every plant the word may mean, sorted.")


class HomonymRecord(Record):
    """Common names that hide a danger: every plant is shown, the worst first."""

    id: TaxonId
    basis: Basis
    homonyms: tuple[Homonym, ...] = Field(description="Sorted by word.")


class TermsRecord(Record):
    """Definitions of every term of the closed vocabularies."""

    id: TaxonId
    vocabularies: dict[str, dict[str, Text]]


class ReachRecord(Record):
    """Which claims count when a part or a state is asked about."""

    id: TaxonId
    parts: dict[Part, tuple[Part, ...]] = Field(description="Asked part: parts whose claims count too.")
    states: dict[State, tuple[State, ...]] = Field(description="Asked state: states whose claims count.")


class Exposure(Record):
    """The level that one route at one severity gives."""

    route: Route
    severity: Severity
    adults: Level
    company: Level = Field(description="With a class, children or animals in the room.")


class ExposureRecord(Record):
    """The table route x severity -> level."""

    id: TaxonId
    exposures: tuple[Exposure, ...]


class RoutePrecaution(Record):
    """What to do at a step against a route, from a severity upwards."""

    route: Route
    step: Step
    at_least: Severity
    text: Text


class CompanyPrecaution(Record):
    """What to do at a step because of who is in the room."""

    company: Company
    step: Step
    text: Text


class VapourPrecaution(Record):
    """What to do at a step when heat puts an agent in the air, or nobody knows that it does not."""

    air: Annotated[str, StringConstraints(pattern="^(poison|released|unknown)$")]
    step: Step
    text: Text


class StepPrecaution(Record):
    """What to do at a step with every plant."""

    step: Step
    text: Text


class PrecautionRecord(Record):
    """The table route x severity x step -> precaution, and what goes with company and vapour."""

    id: TaxonId
    basis: Basis
    always: tuple[StepPrecaution, ...]
    by_route: tuple[RoutePrecaution, ...]
    by_vapour: tuple[VapourPrecaution, ...]
    by_company: tuple[CompanyPrecaution, ...]


class ContinentRecord(Record):
    """Botanical continents (TDWG level 1) and their countries."""

    id: TaxonId
    basis: Basis
    continents: dict[str, tuple[Country, ...]] = Field(description="Code: ISO 3166-1 countries, sorted.")


class HelpLine(Record):
    """A poison help line, of a country or one region; numbers change, so every page says `check locally`."""

    country: Country
    name: Text
    number: Text
    region: Annotated[str, StringConstraints(pattern=r"^[A-Z]{2}-[A-Z0-9]{1,3}$")] | None = None
    hours: Text | None = None
    source: str
    locator: Text


class HelpLineRecord(Record):
    """Poison help lines by country."""

    id: TaxonId
    lines: tuple[HelpLine, ...] = Field(description="Sorted by country, region, name.")


class ClassQuestion(Record):
    """A question to ask before a class, what follows from a yes, and who needs advice first."""

    id: TaxonId
    ask: Annotated[str, StringConstraints(pattern=r"\?( \(.+\))?$", max_length=200)] = Field(
        description="The question, in the words in which it is put."
    )
    if_yes: Text = Field(description="What a yes means at the table.")
    who: Text | None = Field(default=None, description="Who does not take part without advice, after `anyone`.")


class ClassQuestionsRecord(Record):
    """What a teacher asks before a class."""

    id: TaxonId
    basis: Basis
    questions: tuple[ClassQuestion, ...] = Field(description="In the order in which they are asked; each id once.")


class ProcessFact(Record):
    """A limit or working figure of the craft, with its unit."""

    id: TaxonId
    topic: Text
    item: Text
    fact: Text
    low: float | None = None
    high: float | None = None
    unit: Text | None = None
    basis: Basis
    source: str | None = None
    locator: Text | None = None
    for_printing: Text | None = Field(default=None, description="What it means at the table.")


class ProcessRecord(Record):
    """Heat limits, barriers, vapours: facts about the process, not about one plant."""

    id: TaxonId
    facts: tuple[ProcessFact, ...] = Field(description="Sorted by id.")


class Change(Record):
    """What one day changed, for people who used the records before."""

    on: date
    kind: Literal["records", "rules", "program"] = Field(
        description="records: what is known; rules: how levels, names or colours are reached; program: the rest."
    )
    what: Annotated[str, StringConstraints(min_length=1, max_length=300, pattern=r"\.$")] = Field(
        description="One or two plain sentences: what is different for a reader."
    )
    plants: tuple[TaxonId, ...] = Field(default=(), description="Ids of the plants it is about, sorted.")


class ChangesRecord(Record):
    """What changed in the records, the rules and the program."""

    id: TaxonId
    changes: tuple[Change, ...] = Field(description="Newest first.")


class NamedColour(Record):
    """A standard colour name and its central colour."""

    number: Annotated[int, Field(ge=1, le=267)] = Field(description="Its number in the standard.")
    name: Text
    hex: Annotated[str, StringConstraints(pattern=r"^#[0-9a-f]{6}$")] = Field(description="The colour in sRGB.")
    lab: tuple[float, float, float] = Field(description="L, a, b of the hex: CIELAB, D65, 2 degree observer.")
    source: str | None = Field(default=None, description="Where the colour is from, when not from the list's source.")


class ColourNameRecord(Record):
    """The ISCC-NBS colour names."""

    id: TaxonId
    source: str = Field(description="The list that gives each name its hex.")
    names: tuple[NamedColour, ...] = Field(description="Sorted by number.")


class ColourWord(Record):
    """A plain colour word and the standard name that comes nearest to what it says of a print."""

    word: Annotated[str, StringConstraints(pattern=r"^[a-z]+( [a-z]+)*$", max_length=40)]
    name: Text


class ColourWordRecord(Record):
    """Plain colour words as makers and dye books write them; which name is meant is a curator's reading."""

    id: TaxonId
    basis: Basis
    words: tuple[ColourWord, ...] = Field(description="Sorted by word.")


class MaterialRecord(Record):
    """A mordant, dip, sheet, felt, paper or cloth: what its sources say of hazard, strength, heat and waste."""

    id: TaxonId
    name: Text
    also_called: tuple[Text, ...] = Field(default=(), description="Other names, sorted; two materials may share one.")
    kind: MaterialKind
    formula: Text | None = None
    cas: tuple[Cas, ...] = Field(default=(), description="CAS Registry Numbers, each with its form.")
    ghs: tuple[GhsClassification, ...] = Field(default=(), description="Each source's own words, the stricter first.")
    working_range: tuple[Figure, ...] = ()
    heat_limit: tuple[Figure, ...] = ()
    precautions: tuple[Advice, ...] = ()
    do_not: tuple[Advice, ...] = ()
    disposal: tuple[Advice, ...] = Field(default=(), description="Local rules come first.")
    note: Text | None = None


class GhsRecord(Record):
    """The hazard statements that the materials use."""

    id: TaxonId
    statements: tuple[HazardStatement, ...] = Field(description="Sorted by code.")


#: Folder under data/ (or file, for single ones) -> the model of its records.
MODELS: dict[str, type[Record]] = {
    "plants": TaxonRecord,
    "families": TaxonRecord,
    "agents": AgentRecord,
    "dye-classes": DyeClassRecord,
    "sources": SourceRecord,
    "guards": GuardRecord,
    "guards/homonyms.yml": HomonymRecord,
    "vocabularies/terms.yml": TermsRecord,
    "vocabularies/reach.yml": ReachRecord,
    "vocabularies/exposures.yml": ExposureRecord,
    "vocabularies/precautions.yml": PrecautionRecord,
    "vocabularies/class-questions.yml": ClassQuestionsRecord,
    "vocabularies/continents.yml": ContinentRecord,
    "helplines.yml": HelpLineRecord,
    "process.yml": ProcessRecord,
    "changes.yml": ChangesRecord,
    "colour-names/iscc-nbs.yml": ColourNameRecord,
    "colour-names/words.yml": ColourWordRecord,
    "materials": MaterialRecord,
    "vocabularies/ghs.yml": GhsRecord,
}


def schemas() -> dict[str, dict[str, Any]]:
    """Return the JSON Schema of every record model, keyed by its file name in data/schema/."""
    models: dict[str, type[BaseModel]] = {
        model.__name__.removesuffix("Record").lower(): model for model in MODELS.values()
    }
    models["outcome"] = OutcomeRecord
    return {f"{name}.schema.json": model.model_json_schema() for name, model in sorted(models.items())}
