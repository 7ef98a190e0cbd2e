"""From the files in data/ to checked records, each remembering the file and line it came from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Generic, TypeVar

from pydantic import BaseModel, ValidationError

from .corpus_files import is_collection, record_files, shared_files
from .finding import Finding
from .outcome_record import OutcomeRecord, latest_day
from .records import (
    MODELS,
    AgentRecord,
    ChangesRecord,
    ClassQuestionsRecord,
    ColourNameRecord,
    ColourWordRecord,
    ContinentRecord,
    DyeClassRecord,
    ExposureRecord,
    GhsRecord,
    GuardRecord,
    HelpLineRecord,
    HomonymRecord,
    MaterialRecord,
    PrecautionRecord,
    ProcessRecord,
    ReachRecord,
    Record,
    SourceRecord,
    TaxonRecord,
    TermsRecord,
)
from .yaml_reader import Document, read

RULES = {
    "R101": "no unknown keys",
    "R102": "no required key is missing",
    "R103": "a value is one of the allowed terms",
    "R104": "a value has the right type and form",
    "R105": "a file stands in a folder that is read",
}

R = TypeVar("R", bound=BaseModel)


@dataclass(frozen=True, slots=True)
class Entry(Generic[R]):
    """One record and the document it was read from."""

    record: R
    document: Document

    def finding(self, where: tuple[str | int, ...], code: str, problem: str, remedy: str) -> Finding:
        """Return a finding at the line of the value that `where` leads to."""
        return Finding(self.document.path, self.document.line_of(where), code, spell_path(where), problem, remedy)


@dataclass(slots=True)
class Corpus:
    """All records by kind, in the order of their file names.

    `shared` is the folder of the outcomes, `is_collection` whether it is the real one; `today` is the latest day that
    a print may be from.
    """

    root: Path
    shared: Path | None = None
    is_collection: bool = False
    today: date = field(default_factory=latest_day)
    taxa: list[Entry[TaxonRecord]] = field(default_factory=list)
    agents: list[Entry[AgentRecord]] = field(default_factory=list)
    dye_classes: list[Entry[DyeClassRecord]] = field(default_factory=list)
    sources: list[Entry[SourceRecord]] = field(default_factory=list)
    guards: list[Entry[GuardRecord]] = field(default_factory=list)
    homonyms: list[Entry[HomonymRecord]] = field(default_factory=list)
    terms: list[Entry[TermsRecord]] = field(default_factory=list)
    reach: list[Entry[ReachRecord]] = field(default_factory=list)
    exposures: list[Entry[ExposureRecord]] = field(default_factory=list)
    precautions: list[Entry[PrecautionRecord]] = field(default_factory=list)
    class_questions: list[Entry[ClassQuestionsRecord]] = field(default_factory=list)
    continents: list[Entry[ContinentRecord]] = field(default_factory=list)
    helplines: list[Entry[HelpLineRecord]] = field(default_factory=list)
    process: list[Entry[ProcessRecord]] = field(default_factory=list)
    changes: list[Entry[ChangesRecord]] = field(default_factory=list)
    colour_names: list[Entry[ColourNameRecord]] = field(default_factory=list)
    colour_words: list[Entry[ColourWordRecord]] = field(default_factory=list)
    materials: list[Entry[MaterialRecord]] = field(default_factory=list)
    ghs: list[Entry[GhsRecord]] = field(default_factory=list)
    outcomes: list[Entry[OutcomeRecord]] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    def shelf(self, model: type[Record]) -> list[Entry[Record]]:
        """Return the list that holds records of `model`."""
        shelves: dict[type[Record], object] = {
            TaxonRecord: self.taxa,
            AgentRecord: self.agents,
            DyeClassRecord: self.dye_classes,
            SourceRecord: self.sources,
            GuardRecord: self.guards,
            HomonymRecord: self.homonyms,
            TermsRecord: self.terms,
            ReachRecord: self.reach,
            ExposureRecord: self.exposures,
            PrecautionRecord: self.precautions,
            ClassQuestionsRecord: self.class_questions,
            ContinentRecord: self.continents,
            HelpLineRecord: self.helplines,
            ProcessRecord: self.process,
            ChangesRecord: self.changes,
            ColourNameRecord: self.colour_names,
            ColourWordRecord: self.colour_words,
            MaterialRecord: self.materials,
            GhsRecord: self.ghs,
        }
        return shelves[model]  # type: ignore[return-value]


def model_for(relative: Path) -> type[Record] | None:
    """Return the model of the record at `relative` (a path below data/), or None where none belongs."""
    parts = relative.parts
    if single := MODELS.get(relative.as_posix()):
        return single
    depth = {
        "plants": 3, "families": 2, "agents": 2, "dye-classes": 2, "materials": 2, "sources": 2, "guards": 2,
    }.get(parts[0])  # fmt: skip
    if depth is not None:
        return MODELS[parts[0]] if len(parts) == depth else None
    return None


def load(root: Path, shared: Path | None = None) -> Corpus:
    """Read every record below `root` and every outcome below `shared`.

    What is wrong stands in `findings`, what is right in the lists.
    """
    corpus = Corpus(root, shared)
    for path in record_files(root):
        model = model_for(path.relative_to(root))
        if model is None:
            remedy = "Move it to plants/<Genus>/<epithet>.yml, families/, agents/, sources/ or guards/"
            corpus.findings.append(Finding(path, 1, "R105", "file", "no record belongs here", remedy))
        elif entry := _entry(path, model, corpus.findings):
            corpus.shelf(model).append(entry)
    if shared is not None:
        corpus.is_collection = is_collection(shared)
        for path in shared_files(shared):
            parts = path.relative_to(shared).parts
            if len(parts) != 4 or parts[0] != "outcomes":
                remedy = "Move it to outcomes/<ISO 3166-2>/<year>/<id>.yml"
                corpus.findings.append(Finding(path, 1, "R105", "file", "no outcome belongs here", remedy))
            elif outcome := _entry(path, OutcomeRecord, corpus.findings):
                corpus.outcomes.append(outcome)
    return corpus


def _entry(path: Path, model: type[R], found: list[Finding]) -> Entry[R] | None:
    document, findings = read(path)
    found += findings
    if document is None:
        return None
    record, findings = validate(document, model)
    # A blank key is told once, as a blank, and not again for what a blank is not.
    blank = {(finding.line, finding.field) for finding in found if finding.code == "Y005" and finding.path == path}
    found += [finding for finding in findings if (finding.line, finding.field) not in blank]
    return Entry(record, document) if record is not None else None


def validate(document: Document, model: type[R]) -> tuple[R | None, list[Finding]]:
    """Check one document against its model; return the record or the findings."""
    try:
        return model.model_validate(document.data), []
    except ValidationError as error:
        return None, list(_explain(document, model, error))


def _explain(document: Document, model: type[BaseModel], error: ValidationError) -> Iterator[Finding]:
    for detail in error.errors(include_url=False, include_input=True):
        where, kind, context = detail["loc"], detail["type"], detail.get("ctx", {})
        if kind in ("extra_forbidden", "unexpected_keyword_argument"):
            code, problem = "R101", "this key is not known here"
            remedy = f"Take it out, or write one of: {', '.join(_allowed_keys(model, where))}"
        elif kind in ("missing", "missing_keyword_only_argument"):
            code, problem, remedy = "R102", "this key is missing", "Add it"
        elif "remedy" in context:
            code, problem, remedy = kind, detail["msg"], context["remedy"]
        elif kind in ("enum", "literal_error"):
            code, problem = "R103", f"{_show(detail['input'])} is not an allowed term"
            remedy = f"Write {context['expected']}"
        else:
            code, problem = "R104", f"{_show(detail['input'])} does not fit: {detail['msg'].lower()}"
            remedy = "Write it as the schema in data/schema/ shows"
        yield Finding(document.path, document.line_of(where), code, spell_path(where), problem, remedy)


def _allowed_keys(model: type[BaseModel], where: tuple[str | int, ...]) -> list[str]:
    if len(where) == 1:
        return sorted(model.model_fields)
    schema = model.model_json_schema()
    node = schema
    for step in where[:-1]:
        node = node["items"] if isinstance(step, int) else node.get("properties", {}).get(step, {})
        node = next((n for n in node.get("anyOf", ()) if "$ref" in n or "items" in n), node)
        if "$ref" in node:
            node = schema["$defs"][node["$ref"].rsplit("/", 1)[1]]
    return sorted(node.get("properties", {}))


def spell_path(where: tuple[str | int, ...]) -> str:
    """Return ("names", 2, "kind") as names[2].kind."""
    text = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in where)
    return text.lstrip(".") or "file"


def _show(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:37]}..."
