"""Ids, file names, ranks and parents."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from ..corpus import Corpus, Entry
from ..finding import Finding
from ..nomenclature import genus_of, taxon_id
from ..records import TaxonRecord
from ..vocabulary import Rank


def _all_entries(corpus: Corpus) -> Iterator[Entry]:  # type: ignore[type-arg]
    for shelf in (
        corpus.taxa, corpus.agents, corpus.sources, corpus.guards, corpus.homonyms, corpus.terms, corpus.reach,
        corpus.exposures, corpus.precautions, corpus.helplines, corpus.process, corpus.materials, corpus.ghs,
        corpus.colour_names, corpus.colour_words, corpus.dye_classes, corpus.continents,
        corpus.class_questions, corpus.changes,
    ):  # fmt: skip
        yield from shelf


def _expected_file(entry: Entry[TaxonRecord]) -> str:
    record = entry.record
    if record.rank is Rank.FAMILY:
        return f"families/{record.scientific_name}.yml"
    genus = genus_of(record.scientific_name)
    folder = genus.replace(" ", "-")
    if record.rank is Rank.GENUS:
        return f"plants/{folder}/_genus.yml"
    epithet = taxon_id(record.scientific_name)[len(taxon_id(genus)) + 1 :] or "<epithet>"
    return f"plants/{folder}/{epithet}.yml"


def file_name_equals_id(corpus: Corpus) -> Iterator[Finding]:
    """I201: other records."""
    taxa = {id(entry) for entry in corpus.taxa}
    for entry in _all_entries(corpus):
        stem = entry.document.path.stem
        if id(entry) not in taxa and entry.record.id != stem:
            problem = f"the id is {entry.record.id}, the file {stem}.yml"
            yield entry.finding(("id",), "I201", problem, "Give both the same name")


def taxon_file_equals_name(corpus: Corpus) -> Iterator[Finding]:
    """I202: plants and families."""
    for entry in corpus.taxa:
        expected = _expected_file(entry)
        if entry.document.path != corpus.root / Path(expected):
            problem = f"{entry.record.scientific_name} ({entry.record.rank}) does not belong in this file"
            yield entry.finding(("scientific_name",), "I202", problem, f"Move it to {expected}")


def id_follows_name(corpus: Corpus) -> Iterator[Finding]:
    """I203."""
    for entry in corpus.taxa:
        expected = taxon_id(entry.record.scientific_name)
        if entry.record.id != expected:
            problem = f"{entry.record.id} is not the id of {entry.record.scientific_name}"
            yield entry.finding(("id",), "I203", problem, f"Write {expected}")


def id_is_used_once(corpus: Corpus) -> Iterator[Finding]:
    """I204."""
    for shelf in (corpus.taxa, corpus.agents, corpus.sources):
        seen: dict[str, Path] = {}
        for entry in shelf:
            first = seen.setdefault(entry.record.id, entry.document.path)
            if first != entry.document.path:
                problem = f"{entry.record.id} is used in {first.name} already"
                yield entry.finding(("id",), "I204", problem, "Join the two records, or rename one")


def rank_fits_name(corpus: Corpus) -> Iterator[Finding]:
    """I205."""
    for entry in corpus.taxa:
        words = sum(word != "x" for word in entry.record.scientific_name.split())
        rank = entry.record.rank
        fits = words == 1 if rank in (Rank.FAMILY, Rank.GENUS) else words >= 2
        if not fits:
            problem = f"{entry.record.scientific_name} is not the name of a {rank}"
            yield entry.finding(("rank",), "I205", problem, "Write one word for family or genus, two for a species")


def genus_and_family_exist(corpus: Corpus) -> Iterator[Finding]:
    """I206."""
    known = {entry.record.id for entry in corpus.taxa}
    for entry in corpus.taxa:
        record = entry.record
        if record.rank is Rank.FAMILY:
            continue
        if record.rank is Rank.GENUS:
            if record.family is None:
                yield entry.finding(("family",), "I206", "a genus names its family", "Add family: <id>")
            elif record.family not in known:
                problem = f"there is no family record {record.family}"
                yield entry.finding(("family",), "I206", problem, "Add the file in families/, or mend the id")
        elif taxon_id(genus_of(record.scientific_name)) not in known:
            problem = f"there is no genus record for {genus_of(record.scientific_name)}"
            yield entry.finding(("scientific_name",), "I206", problem, "Add _genus.yml beside this file")


def parents_exist(corpus: Corpus) -> Iterator[Finding]:
    """I207."""
    known = {entry.record.id for entry in corpus.taxa}
    for entry in corpus.taxa:
        for i, parent in enumerate(entry.record.parents):
            if parent not in known or parent == entry.record.id:
                problem = f"there is no other record {parent}"
                yield entry.finding(("parents", i), "I207", problem, "Write the id of a parent species")


RULES = {
    "I201": ("the file name equals the id", file_name_equals_id),
    "I202": (
        "a plant's file is plants/<Genus>/<epithet>.yml, a family's families/<Name>.yml",
        taxon_file_equals_name,
    ),
    "I203": ("a taxon's id is its scientific name in lower case with hyphens", id_follows_name),
    "I204": ("no id is used twice", id_is_used_once),
    "I205": ("the rank fits the name", rank_fits_name),
    "I206": ("the genus record and its family exist", genus_and_family_exist),
    "I207": ("the parents of a hybrid have records", parents_exist),
}
