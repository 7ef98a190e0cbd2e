"""Outcomes in the database: every column, the colour of each basis, the flag of a reaction, and Darwin Core."""

from __future__ import annotations

import shutil
import sqlite3
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from folioproof import Reference
from folioproof.cli import main
from folioproof.corpus_files import content_hash, is_collection
from folioproof.database import connect, read_facts
from folioproof.finding import FindingsError
from folioproof.loader import build
from folioproof.outcome_rows import read_known
from folioproof.schema import TABLES
from folioproof.vocabulary import MaterialKind, Rank

sys.path.insert(0, str(Path(__file__).parent / "checks"))
from bundles import lay_out

CHECKS = Path(__file__).parent / "checks"
FIRST = "nz-auk-2026-04-10-acer-campestre-mira-1"
PLACE = f"outcomes/NZ-AUK/2026/{FIRST}.yml"


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A small corpus in data/ and one outcome in demo/ beside it."""
    for name in ("base.yml", "outcomes.yml"):
        lay_out(CHECKS / name, tmp_path / "data")
    (tmp_path / "shared").rename(tmp_path / "demo")
    return tmp_path / "data"


@pytest.fixture
def demo(data: Path) -> Path:
    return data.parent / "demo"


def add(demo: Path, number: int, *changes: tuple[str, str]) -> None:
    """Write the first outcome once more, changed, under another number."""
    text = (demo / PLACE).read_text(encoding="utf-8")
    for old, new in (
        (f"{FIRST}", f"{FIRST[:-1]}{number}"),
        *changes,
        ("reaction:", f"note: Sheet {number}.\nreaction:"),
    ):
        assert old in text, old
        text = text.replace(old, new)
    (demo / PLACE.replace("mira-1", f"mira-{number}")).write_text(text, encoding="utf-8")


@pytest.fixture
def built(data: Path, demo: Path, tmp_path: Path) -> Iterator[sqlite3.Connection]:
    named = "colour_basis: colour name\n  colour_name: moderate yellow"
    scan = "colour_basis: scan\n  lab: [36.1, 0, 0.5]\n  lab_spread: 3"
    unknown = ("material: alum, strength: 15", "material: unknown, strength: unknown")
    itch = ("reaction: none", "reaction: skin\nreaction_note: Itching for a day.")
    add(demo, 2, (named, "colour_basis: hex\n  hex: '#bc3f4a'"))
    add(demo, 3, (named, scan), ("{value: 95, unit: C}", "{value: 203, unit: F}"))
    add(demo, 4, (named, "colour_basis: none"), ("strength: clear", "strength: none"), ("crisp", "unknown"))
    add(demo, 5, itch, ("coordinates: [-36.8, 174.8]\n", ""))
    add(demo, 6, ("consent: true", "consent: true\ninvented: true"), unknown)
    build(data, tmp_path / "out.db", shared=demo)
    connection = connect(tmp_path / "out.db")
    yield connection
    connection.close()


def test_every_column_of_a_full_record_is_filled(data: Path, demo: Path, tmp_path: Path) -> None:
    text = (demo / PLACE).read_text(encoding="utf-8")
    text = text.replace(
        "minutes: 90\n", "minutes: 90\nlightfastness: {scale: AATCC TM16 L2-L9, grade: L4, hours: 40}\n"
    )
    text = text.replace("colour_basis: colour name", "colour_basis: scan\n  lab: [71.8, 0.6, 43.2]\n  lab_spread: 4\n"
        "  transferred: 0.8\n  bleed: 0.1\n  edge_width_mm: 0.7\n  photo: a.jpg")  # fmt: skip
    text = text.replace("fibre: paper", "fibre: paper\nsubstrate: rag-paper").replace(
        "reaction: none", "reaction: skin"
    )
    text += "reaction_note: Itching.\nnote: A word.\nreview: {flag: cleared, on: 2026-05-01, note: Asked the maker.}\n"
    (demo / PLACE).write_text(text, encoding="utf-8")
    (demo / PLACE).with_name("a.jpg").write_bytes(b"x")
    (data / "materials" / "rag-paper.yml").write_text("id: rag-paper\nname: rag paper\nkind: substrate\n")
    build(data, tmp_path / "full.db", shared=demo)
    connection = connect(tmp_path / "full.db")
    row = dict(connection.execute("SELECT * FROM outcomes").fetchone())
    connection.close()
    assert list(row) == list(TABLES["outcomes"].columns)
    assert [key for key, value in row.items() if value is None] == []
    assert (row["review_flag"], row["review_note"], row["reviewed_on"]) == (0, "Asked the maker.", "2026-05-01")


def test_the_plain_columns(built: sqlite3.Connection) -> None:
    row = dict(built.execute("SELECT * FROM outcomes WHERE id = ?", (FIRST,)).fetchone())
    expected = {
        "taxon_id": "acer-campestre", "date": "2026-04-10", "year": 2026, "month": 4, "region": "NZ-AUK",
        "country": "NZ", "latitude": -36.8, "longitude": 174.8, "treatment": "alum", "fibre": "paper",
        "method": "steam", "temperature_c": 95, "minutes": 90, "grade": 3, "strength": "clear",
        "contributor": "mira", "invented": 0, "review_flag": 0, "name_as_given": "field maple",
    }  # fmt: skip
    assert {key: row[key] for key in expected} == expected
    assert dict(built.execute("SELECT * FROM outcome_materials ORDER BY id").fetchone()) == {
        "id": 1, "outcome_id": FIRST, "material_id": "alum", "strength": 15, "unit": "% of dry weight of fibre",
        "applied_to": "fibre",
    }  # fmt: skip


def test_each_basis_gives_its_colour_and_nearest_name(built: sqlite3.Connection) -> None:
    sql = "SELECT lab_l, lab_a, lab_b, colour_name, block, grade, temperature_c FROM outcomes ORDER BY id"
    rows = [tuple(row) for row in built.execute(sql)]
    assert rows[0] == (71.8, 0.6, 43.2, "moderate yellow", 87, 3, 95)
    # The hex of block 12 in the small corpus; its CIELAB there was worked out from the same hex.
    assert rows[1][:5] == (
        pytest.approx(45.28, abs=0.1),
        pytest.approx(50.8, abs=0.1),
        pytest.approx(21.64, abs=0.1),
        "strong red",
        12,
    )
    assert rows[2] == (36.1, 0, 0.5, "dark gray", 266, 3, 95)
    assert rows[3] == (None, None, None, None, None, 0, 95)


def test_what_is_unknown_stays_so(built: sqlite3.Connection) -> None:
    sql = "SELECT material_id, strength FROM outcome_materials WHERE outcome_id LIKE '%-6'"
    assert tuple(built.execute(sql).fetchone()) == (None, None)
    assert built.execute("SELECT sum(invented) FROM outcomes").fetchone()[0] == 1


def test_a_reaction_raises_a_flag_on_the_plant_and_no_level(
    built: sqlite3.Connection, data: Path, tmp_path: Path
) -> None:
    facts = read_facts(built, "acer-campestre")
    assert facts.reactions == ("skin of 2026-04-10: Itching for a day.",)
    assert read_facts(built, "acer-rubrum").reactions == ()
    build(data, tmp_path / "without.db")
    with Reference.open(tmp_path / "out.db") as told, Reference.open(tmp_path / "without.db") as untold:
        with_it, without = told.check("Acer campestre"), untold.check("Acer campestre")
    assert with_it.level == without.level
    assert len(with_it.review_flags) == 1 and without.review_flags == ()


def test_darwin_core_rows(built: sqlite3.Connection) -> None:
    rows = [dict(row) for row in built.execute("SELECT * FROM darwin_core ORDER BY occurrenceID")]
    first = rows[0]
    assert first["occurrenceID"] == FIRST
    assert first["samplingProtocol"] == "contact print: steam on paper, treatment alum, 95 degrees C, 90 minutes"
    assert (first["countryCode"], first["stateProvince"], first["eventDate"]) == ("NZ", "NZ-AUK", "2026-04-10")
    assert (first["decimalLatitude"], first["dataGeneralizations"]) == (-36.8, "0.1 degree")
    assert first["occurrenceRemarks"] == "leaf, fresh, lower face"
    assert rows[4]["decimalLatitude"] is rows[4]["coordinateUncertaintyInMeters"] is None
    assert [row["datasetName"] for row in rows] == ["folioproof outcomes"] * 5 + ["invented for a demonstration"]
    facts = built.execute("SELECT * FROM darwin_core_measurements WHERE occurrenceID = ?", (FIRST,)).fetchall()
    assert {row["measurementType"]: row["measurementValue"] for row in facts}["strength of print"] == "clear"
    assert len(facts) == 6


def test_the_hash_and_the_counts_follow_the_outcomes(built: sqlite3.Connection, data: Path, demo: Path) -> None:
    about = dict(built.execute("SELECT key, value FROM build").fetchall())
    assert about["outcomes"] == "6"
    assert about["content_sha256"] == content_hash(data, demo) != content_hash(data)


def test_two_builds_give_the_same_bytes(built: sqlite3.Connection, data: Path, demo: Path, tmp_path: Path) -> None:
    build(data, tmp_path / "again.db", shared=demo)
    assert (tmp_path / "again.db").read_bytes() == (tmp_path / "out.db").read_bytes()


def test_an_outcome_that_is_wrong_stops_the_build(data: Path, demo: Path, tmp_path: Path) -> None:
    add(demo, 2, ("taxon: acer-campestre", "taxon: acer-nullum"))
    with pytest.raises(FindingsError):
        build(data, tmp_path / "out.db", shared=demo)
    assert not (tmp_path / "out.db").exists()


def test_what_an_outcome_may_point_to_is_read_back(built: sqlite3.Connection) -> None:
    known = read_known(built)
    assert known.ranks["acer"] is Rank.GENUS and known.materials["alum"] is MaterialKind.MORDANT
    assert known.colours == {"strong red", "moderate yellow", "dark gray"}


def test_invented_records_pass_in_a_folder_of_their_own_only(data: Path, demo: Path, tmp_path: Path) -> None:
    add(demo, 2, ("consent: true", "consent: true\ninvented: true"))
    assert not is_collection(demo)
    build(data, tmp_path / "demo.db", shared=demo)
    shutil.copytree(demo, tmp_path / "shared")
    with pytest.raises(FindingsError) as caught:
        build(data, tmp_path / "real.db", shared=tmp_path / "shared")
    assert [finding.code for finding in caught.value.findings] == ["O264"]


def test_lint_takes_a_folder_a_file_and_a_stray(
    tmp_path: Path, data: Path, demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FOLIOPROOF_DATA", str(data))
    monkeypatch.setenv("FOLIOPROOF_SHARED", str(demo))

    def lint(*paths: Path) -> str:
        return CliRunner().invoke(main, ["lint", *map(str, paths)]).output

    assert lint(demo) == lint(demo / PLACE) == lint(demo / "outcomes" / "NZ-AUK") == "0 findings in 1 files\n"
    everything = lint()
    (demo / "outcomes" / "stray.yml").write_text("id: a\n")
    (demo / "template.yml").write_text("id:\n")
    assert f"{demo}/outcomes/stray.yml:1: R105 file: no outcome belongs here. Move it to" in lint(demo)
    assert everything.endswith(" files\n") and "R105" in lint()
    assert CliRunner().invoke(main, ["lint", str(tmp_path)]).exit_code == 2
