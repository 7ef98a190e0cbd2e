"""From the files to records: every kind in its place, nothing else read."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from folioproof.corpus import load, model_for, spell_path
from folioproof.corpus_files import content_hash, data_root, record_files, stamp
from folioproof.finding import FindingsError, RefusedInputError
from folioproof.records import MODELS, SourceRecord, TaxonRecord


@pytest.fixture
def root(tmp_path: Path) -> Path:
    (tmp_path / "plants" / "Acer").mkdir(parents=True)
    genus = tmp_path / "plants" / "Acer" / "_genus.yml"
    genus.write_text("id: acer\nscientific_name: Acer\nrank: genus\n", encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("path", "model"),
    [
        ("plants/Acer/rubrum.yml", TaxonRecord),
        ("plants/Acer/_genus.yml", TaxonRecord),
        ("families/Rosaceae.yml", TaxonRecord),
        ("sources/BOOK.yml", SourceRecord),
        ("guards/homonyms.yml", MODELS["guards/homonyms.yml"]),
        ("guards/hazard-words.yml", MODELS["guards"]),
        ("vocabularies/terms.yml", MODELS["vocabularies/terms.yml"]),
        ("plants/rubrum.yml", None),
        ("plants/Acer/old/rubrum.yml", None),
        ("vocabularies/other.yml", None),
        ("elsewhere/rubrum.yml", None),
        ("rubrum.yml", None),
    ],
)
def test_the_folder_says_what_a_record_is(path: str, model: type | None) -> None:
    assert model_for(Path(path)) is model


def test_only_yaml_files_are_records(root: Path) -> None:
    (root / "schema").mkdir()
    (root / "schema" / "taxon.schema.json").write_text("{}")
    (root / "plants" / "Acer" / ".rubrum.yml").write_text("a file that an editor hides")
    (root / "LICENSE.md").write_text("words")
    corpus = load(root)
    assert [entry.record.id for entry in corpus.taxa] == ["acer"]
    assert corpus.findings == []


def test_every_model_has_a_shelf(root: Path) -> None:
    corpus = load(root)
    for model in MODELS.values():
        assert isinstance(corpus.shelf(model), list)


def test_one_broken_file_hides_no_other_and_all_is_said_at_once(root: Path) -> None:
    folder = root / "plants" / "Acer"
    (folder / "rubrum.yml").write_text("id: acer-rubrum\nrank: tree\ncolour: red\n")
    (folder / "nigrum.yml").write_bytes(b"\xff")
    corpus = load(root)
    assert len(corpus.taxa) == 1
    found = sorted((found.path.name, found.code, found.line) for found in corpus.findings)
    assert found == [
        ("nigrum.yml", "Y001", 1),
        ("rubrum.yml", "R101", 3),
        ("rubrum.yml", "R102", 1),
        ("rubrum.yml", "R103", 2),
    ]


def test_an_unknown_key_deep_inside_is_told_which_keys_there_are(root: Path) -> None:
    path = root / "plants" / "Acer" / "rubrum.yml"
    path.write_text(
        "id: acer-rubrum\nscientific_name: Acer rubrum\nrank: species\n"
        "names:\n  - {name: maple, kind: vernacular, basis: memory, tongue: en}\n"
    )
    (found,) = load(root).findings
    assert (found.line, found.field) == (5, "names[0].tongue")
    assert found.remedy.endswith("authorship, basis, kind, language, name, regions, shared, sources")


def test_a_place_is_spelt_as_people_write_it() -> None:
    assert spell_path(("names", 2, "kind")) == "names[2].kind"
    assert spell_path(()) == "file"


def test_files_are_always_met_in_the_same_order() -> None:
    files = record_files(data_root())
    assert files == sorted(files)
    assert len(files) > 2000


def test_the_hash_follows_names_and_contents_and_nothing_else(root: Path) -> None:
    path = root / "plants" / "Acer" / "_genus.yml"
    before = content_hash(root)
    os.utime(path, (1, 1))
    (root / "notes.txt").write_text("not a record")
    assert content_hash(root) == before
    path.rename(path.with_name("rubrum.yml"))
    renamed = content_hash(root)
    path.with_name("rubrum.yml").write_text("id: acer\n")
    assert len({before, renamed, content_hash(root)}) == 3


def test_the_stamp_notices_a_touched_file(root: Path) -> None:
    before = stamp(root)
    assert stamp(root) == before
    later = time.time() + 10
    os.utime(root / "plants" / "Acer" / "_genus.yml", (later, later))
    assert stamp(root) != before


def test_another_data_folder_is_taken_or_refused_in_one_line(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FOLIOPROOF_DATA", str(root))
    assert data_root() == root
    monkeypatch.setenv("FOLIOPROOF_DATA", str(root / "none"))
    with pytest.raises(RefusedInputError, match=r"^FOLIOPROOF_DATA: there is no folder \S+plants$"):
        data_root()


def test_findings_are_counted_in_one_line(root: Path) -> None:
    (root / "stray.yml").write_text("a: 1\n")
    findings = tuple(load(root).findings)
    error = FindingsError(findings)
    assert str(error) == "1 findings in the records; run `folioproof lint` to read them"
    assert error.findings == findings
    assert str(findings[0]) == (
        f"{root}/stray.yml:1: R105 file: no record belongs here. "
        "Move it to plants/<Genus>/<epithet>.yml, families/, agents/, sources/ or guards/."
    )
