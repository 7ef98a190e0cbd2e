"""Outcomes in, evidence out: the same sums from SQLite and DuckDB, and what is read back."""

from __future__ import annotations

import csv
import random
import shutil
import sqlite3
import sys
from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest
from click.testing import CliRunner

from folioproof.bulk_outcomes import BulkFindingsError, load_outcomes
from folioproof.bulk_rows import REQUIRED, RowReader
from folioproof.cli import main
from folioproof.colorimetry import ColourName, ColourNames, Lab, difference
from folioproof.database import read_facts, read_tables
from folioproof.database_evidence import evidence_of, months_of, read_contributed
from folioproof.database_printing import read_knowledge
from folioproof.evidence_sql import BLOCKS, COUNTS, fill_evidence
from folioproof.finding import RefusedInputError
from folioproof.outcome_rows import read_known
from folioproof.outcome_tables import OUTCOME_TABLES
from folioproof.safety import assess
from folioproof.vocabulary import Company, Fibre, Level, Part, State, Treatment

HEADER = (*REQUIRED, "stage", "lab_l", "lab_a", "lab_b", "colour_basis", "reaction", "latitude", "longitude")
ROW = {
    "id": "nz-auk-2026-04-10-acer-palmatum-mira-1", "taxon_id": "acer-palmatum", "name_as_given": "Japanese maple",
    "part": "leaf", "state": "fresh", "date": "2026-04-10", "region": "NZ-AUK", "treatment": "alum", "fibre": "paper",
    "method": "steam", "grade": "3", "contributor": "mira", "licence": "CC0-1.0", "stage": "full leaf",
    "lab_l": "51.6", "lab_a": "2.4", "lab_b": "27.1", "colour_basis": "scan", "reaction": "none",
}  # fmt: skip


@pytest.fixture
def connection(database: Path, tmp_path: Path) -> Iterator[sqlite3.Connection]:
    """A copy of the built file, to write into."""
    path = tmp_path / "copy.db"
    shutil.copy(database, path)
    opened = sqlite3.connect(path)
    opened.row_factory = sqlite3.Row
    for table in ("evidence_counts", "evidence_blocks", "outcome_materials", "outcomes"):
        opened.execute(f"DELETE FROM {table}")
    yield opened
    opened.close()


def names_of(connection: sqlite3.Connection) -> ColourNames:
    rows = connection.execute("SELECT number, name, hex, lab_l, lab_a, lab_b FROM colour_names ORDER BY number")
    return ColourNames([ColourName(r[0], r[1], Lab(r[3], r[4], r[5]), r[2]) for r in rows])


def written(path: Path, *rows: dict[str, str], header: tuple[str, ...] = HEADER) -> Path:
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, header, extrasaction="ignore")
        writer.writeheader()
        writer.writerows({"id": f"made-{number}", **row} for number, row in enumerate(rows))
    return path


def made(rng: random.Random, number: int) -> dict[str, str]:
    who, region = rng.choice([("mira", "NZ-AUK"), ("jo", "NZ-WGN"), ("rui", "PT-11"), ("eva", "PT-11")])
    grade = rng.randint(0, 4)
    colour = {"lab_l": f"{rng.gauss(50, 6):.1f}", "lab_a": f"{rng.gauss(5, 4):.1f}", "lab_b": f"{rng.gauss(25, 6):.1f}"}
    blank = {"lab_l": "", "lab_a": "", "lab_b": "", "colour_basis": "none"}
    return {
        **ROW, **(colour if grade else blank), "id": f"made-{number}", "grade": str(grade), "contributor": who,
        "region": region, "date": f"2025-{rng.randint(1, 12):02}-{rng.randint(1, 28):02}",
        "treatment": rng.choice(["alum", "iron"]),
    }  # fmt: skip


def filled(connection: sqlite3.Connection, path: Path) -> int:
    count = load_outcomes(connection, path, names_of(connection))
    fill_evidence(connection)
    return count


def test_the_same_sql_gives_the_same_sums_in_duckdb(connection: sqlite3.Connection, tmp_path: Path) -> None:
    rng = random.Random(4)
    filled(connection, written(tmp_path / "made.csv", *(made(rng, number) for number in range(400))))
    columns = ", ".join(OUTCOME_TABLES["outcomes"].columns)
    rows = connection.execute(f"SELECT {columns} FROM outcomes").fetchall()
    kinds = {str: "VARCHAR", int: "BIGINT", float: "DOUBLE"}
    duck = duckdb.connect()
    described = ", ".join(f"{name} {kinds[kind]}" for name, kind in OUTCOME_TABLES["outcomes"].columns.items())
    duck.execute(f"CREATE TABLE made ({described})")
    duck.executemany(f"INSERT INTO made VALUES ({', '.join('?' * len(rows[0]))})", [tuple(row) for row in rows])
    duck.execute(f"COPY made TO '{tmp_path / 'made.parquet'}'")
    duck.execute(f"CREATE VIEW outcomes AS SELECT * FROM read_parquet('{tmp_path / 'made.parquet'}')")
    for sql, table in ((COUNTS, "evidence_counts"), (BLOCKS, "evidence_blocks")):
        ours = [tuple(row) for row in connection.execute(f"SELECT * FROM {table}")]
        theirs = duck.execute(sql).fetchall()
        assert len(ours) == len(theirs) > 20
        for mine, yours in zip(sorted(ours), sorted(theirs), strict=True):
            assert mine[:-3] == yours[:-3]
            assert mine[-3:] == pytest.approx(yours[-3:])


def test_a_parquet_file_loads_as_its_csv(connection: sqlite3.Connection, tmp_path: Path) -> None:
    rng = random.Random(5)
    path = written(tmp_path / "made.csv", *(made(rng, number) for number in range(50)))
    duckdb.sql(f"COPY (FROM read_csv('{path}')) TO '{path.with_suffix('.parquet')}'")
    assert filled(connection, path) == 50
    from_csv = [tuple(row) for row in connection.execute("SELECT * FROM outcomes ORDER BY id")]
    for table in ("evidence_counts", "evidence_blocks", "outcomes"):
        connection.execute(f"DELETE FROM {table}")
    assert filled(connection, path.with_suffix(".parquet")) == 50
    assert [tuple(row) for row in connection.execute("SELECT * FROM outcomes ORDER BY id")] == from_csv


def test_what_follows_from_other_columns_is_worked_out(connection: sqlite3.Connection, tmp_path: Path) -> None:
    header = (*HEADER, "strength", "block", "year")
    row = {**ROW, "strength": "none", "block": "1", "year": "1800", "reaction": "skin"}
    filled(connection, written(tmp_path / "one.csv", row, header=header))
    found = connection.execute("SELECT * FROM outcomes").fetchone()
    assert (found["strength"], found["year"], found["month"], found["country"]) == ("clear", 2026, 4, "NZ")
    assert (found["review_flag"], found["invented"], found["side"], found["lab_b"]) == (1, 0, "unknown", 27.1)
    near = names_of(connection).nearest(Lab(52.0, 2.0, 27.0))
    assert (found["block"], found["colour_name"]) == (near.number, near.name)


def test_a_block_is_found_fast_and_hardly_ever_beside_the_nearest(connection: sqlite3.Connection) -> None:
    names, rng, beside = names_of(connection), random.Random(2), 0
    read = RowReader(HEADER, read_known(connection), names)
    for number in range(300):
        lab = (rng.randint(10, 95), rng.randint(-30, 45), rng.randint(-25, 70))
        row = ROW | {"id": f"made-{number}", "latitude": "", "longitude": ""}
        row |= dict(zip(("lab_l", "lab_a", "lab_b"), map(str, lab), strict=True))
        found, exact = read([row[column] for column in HEADER]), names.nearest(Lab(*lab))
        if found["block"] != exact.number:
            beside += 1
            apart = difference(Lab(*lab), next(n.lab for n in names.names if n.number == found["block"]))
            assert apart - difference(Lab(*lab), exact.lab) < 2
    assert beside <= 6


def test_what_is_read_back(connection: sqlite3.Connection, tmp_path: Path) -> None:
    key = (Part.LEAF, Treatment.ALUM, Fibre.PAPER)
    assert read_contributed(connection, "acer-palmatum") == {}
    assert evidence_of(connection, "acer-palmatum", *key) is None
    rows = [{**ROW, "id": f"made-{i}", "contributor": f"p{i}"} for i in range(6)]
    rows.append({**ROW, "id": "made-7", "region": "PT-11", "date": "2026-05-01", "grade": "4"})
    filled(connection, written(tmp_path / "made.csv", *rows))
    layer = read_contributed(connection, "acer-palmatum")[key]
    assert (layer.prints, layer.people) == (7, 7)
    assert layer.lab is not None and layer.lab.as_list() == [51.6, 2.4, 27.1]
    assert read_knowledge(connection, "acer-palmatum").contributed == {key: layer}
    assert read_knowledge(connection, "acer-platanoides").contributed == {}
    world = evidence_of(connection, "acer-palmatum", *key)
    auckland = evidence_of(connection, "acer-palmatum", *key, country="NZ", region="NZ-AUK", month=4)
    assert world is not None and auckland is not None
    assert (world.prints, auckland.prints, auckland.region, auckland.month) == (7, 6, "NZ-AUK", 4)
    assert auckland.colour is not None and auckland.colour.people == 6
    assert [month.month for month in months_of(connection, "acer-palmatum", Part.LEAF, "NZ")] == [4]
    with pytest.raises(RefusedInputError, match="a month says nothing without a country"):
        evidence_of(connection, "acer-palmatum", *key, month=4)


def test_a_reported_reaction_changes_no_number(connection: sqlite3.Connection, tmp_path: Path) -> None:
    sums = []
    for reaction in ("none", "skin"):
        for table in ("evidence_counts", "evidence_blocks", "outcomes"):
            connection.execute(f"DELETE FROM {table}")
        filled(connection, written(tmp_path / "one.csv", {**ROW, "reaction": reaction}))
        tables = ("evidence_counts", "evidence_blocks")
        sums.append([tuple(row) for table in tables for row in connection.execute(f"SELECT * FROM {table}")])
    assert sums[0] == sums[1]


def test_no_outcome_changes_a_level(connection: sqlite3.Connection, tmp_path: Path) -> None:
    """Reports of harm are shown as flags; neither they nor fine prints make a level milder or graver."""

    def levels() -> list[tuple[Level, tuple[str, ...]]]:
        tables, adults = read_tables(connection), frozenset({Company.ADULTS})
        found = [
            assess(read_facts(connection, taxon), tables, part=Part.LEAF, state=State.ANY, company=adults)
            for taxon in ("acer-palmatum", "toxicodendron-radicans", "acer")
        ]
        return [(each.level, tuple(reason.text for reason in each.reasons)) for each in found]

    before = levels()
    rows = [
        {**ROW, "id": f"made-{i}", "taxon_id": taxon, "reaction": reaction}
        for i, (taxon, reaction) in enumerate(
            (taxon, reaction)
            for taxon in ("acer-palmatum", "toxicodendron-radicans")
            for reaction in ("none", "none", "skin", "breathing")
        )
    ]
    filled(connection, written(tmp_path / "made.csv", *rows))
    assert levels() == before


@pytest.mark.parametrize(
    ("change", "code", "column"),
    [
        ({"taxon_id": "acer-imaginarium"}, "O251", "taxon_id"),
        ({"taxon_id": "sapindaceae"}, "O251", "taxon_id"),
        ({"region": "NZ-XXX"}, "O252", "region"),
        ({"region": "Auckland"}, "O252", "region"),
        ({"name_as_given": "x" * 121}, "R104", "name_as_given"),
        ({"region": ""}, "R102", "region"),
        ({"date": "10.04.2026"}, "O254", "date"),
        ({"date": "2026-02-30"}, "O254", "date"),
        ({"date": "2099-01-01"}, "O254", "date"),
        ({"grade": "5"}, "R103", "grade"),
        ({"grade": "lovely"}, "R103", "grade"),
        ({"grade": ""}, "R102", "grade"),
        ({"grade": "0"}, "O258", "lab_l"),
        ({"treatment": "copper"}, "R103", "treatment"),
        ({"fibre": "cotton"}, "R103", "fibre"),
        ({"licence": "all rights reserved"}, "R103", "licence"),
        ({"lab_l": "101"}, "O258", "lab_l"),
        ({"lab_a": "-129"}, "O258", "lab_a"),
        ({"lab_b": "nan"}, "O258", "lab_b"),
        ({"lab_b": ""}, "O258", "lab_l"),
        ({"colour_basis": "none"}, "O258", "colour_basis"),
        ({"id": "Two Words"}, "R104", "id"),
        ({"contributor": "-x"}, "R104", "contributor"),
        ({"latitude": "-36.85", "longitude": "174.8"}, "O259", "latitude"),
        ({"latitude": "-36.8"}, "O259", "latitude"),
    ],
)
def test_a_wrong_cell_is_said_with_its_line(
    connection: sqlite3.Connection, tmp_path: Path, change: dict[str, str], code: str, column: str
) -> None:
    path = written(tmp_path / "wrong.csv", {**ROW, "id": "right"}, {**ROW, **change})
    with pytest.raises(BulkFindingsError) as caught:
        load_outcomes(connection, path, names_of(connection))
    (finding,) = caught.value.findings
    assert str(finding).startswith(f"{path}:3: {code} {column}: ")
    assert "\n" not in str(finding)
    assert "nothing was built" in str(caught.value)


def test_all_that_is_wrong_is_said_at_once_but_not_without_end(connection: sqlite3.Connection, tmp_path: Path) -> None:
    names = names_of(connection)
    path = written(tmp_path / "wrong.csv", {**ROW, "grade": "9", "date": "soon"}, {**ROW, "fibre": "felt"})
    with pytest.raises(BulkFindingsError, match="3 findings") as caught:
        load_outcomes(connection, path, names)
    assert [(f.line, f.field) for f in caught.value.findings] == [(2, "date"), (2, "grade"), (3, "fibre")]
    path = written(tmp_path / "wrong.csv", *[{**ROW, "grade": "9"}] * 300)
    with pytest.raises(BulkFindingsError, match="at least 100 findings"):
        load_outcomes(connection, path, names)
    path = written(tmp_path / "twice.csv", ROW, ROW)
    with pytest.raises(BulkFindingsError) as caught:
        load_outcomes(connection, path, names)
    assert [(f.line, f.code) for f in caught.value.findings] == [(3, "O253")]


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("none.csv", None, "there is no such file"),
        ("made.xlsx", b"", "ends in .csv or .parquet"),
        ("made.csv", b"\xff\xfe\x00", "not UTF-8"),
        ("made.csv", (",".join(HEADER) + '\n"a,b').encode(), "this is not CSV"),
        ("made.parquet", b"PAR0", "this Parquet file cannot be read"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_in_one_line(
    connection: sqlite3.Connection, tmp_path: Path, name: str, content: bytes | None, said: str
) -> None:
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    with pytest.raises((RefusedInputError, BulkFindingsError)) as caught:
        load_outcomes(connection, path, names_of(connection))
    assert said in str(caught.value) and "\n" not in str(caught.value)


def test_a_row_with_too_few_or_too_many_cells_is_said(connection: sqlite3.Connection, tmp_path: Path) -> None:
    header = (*HEADER, "year")
    path = written(tmp_path / "made.csv", ROW | {"year": "2026"}, header=header)
    whole = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join([*whole, whole[1].rpartition(",")[0], f"{whole[1]},x"]) + "\n", encoding="utf-8")
    with pytest.raises(BulkFindingsError) as caught:
        load_outcomes(connection, path, names_of(connection))
    assert [(f.line, f.code, f.field) for f in caught.value.findings] == [(3, "R104", "row"), (4, "R104", "row")]


def test_a_finding_stays_on_one_line(connection: sqlite3.Connection, tmp_path: Path) -> None:
    path = written(tmp_path / "made.csv", {**ROW, "region": "NZ\nAUK", "date": "\x1b[1m\n", "latitude": "\n"})
    with pytest.raises(BulkFindingsError) as caught:
        load_outcomes(connection, path, names_of(connection))
    assert len(caught.value.findings) == 3
    assert all(str(finding).isprintable() for finding in caught.value.findings)


@pytest.mark.parametrize("content", [b"", b"id,moon phase,id\n1,2,3\n"])
def test_a_header_that_does_not_fit_is_said_column_by_column(
    connection: sqlite3.Connection, tmp_path: Path, content: bytes
) -> None:
    path = tmp_path / "made.csv"
    path.write_bytes(content)
    with pytest.raises(BulkFindingsError) as caught:
        load_outcomes(connection, path, names_of(connection))
    said = {(finding.code, finding.field) for finding in caught.value.findings}
    assert ("R102", "taxon_id") in said
    assert not content or {("R101", "moon phase"), ("R104", "id")} <= said


def test_parquet_without_duckdb_says_what_to_install(
    connection: sqlite3.Connection, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "made.parquet"
    path.write_bytes(b"PAR1")
    monkeypatch.setitem(sys.modules, "duckdb", None)
    with pytest.raises(RefusedInputError, match=r"pip install 'folioproof\[parquet\]'"):
        load_outcomes(connection, path, names_of(connection))


def test_build_loads_a_file_or_builds_nothing(tmp_path: Path) -> None:
    target, run = tmp_path / "reference.db", CliRunner()
    path = written(tmp_path / "made.csv", ROW, {**ROW, "contributor": "jo", "id": "made-2"})
    done = run.invoke(main, ["build", "-o", str(target), "--outcomes", str(path)])
    assert done.exit_code == 0, done.output
    opened = sqlite3.connect(target)
    key = "taxon_id = 'acer-palmatum' AND treatment = 'alum' AND fibre = 'paper'"
    sql = f"SELECT rests_on FROM estimates WHERE part = 'leaf' AND {key}"
    assert "contributed prints" in opened.execute(sql).fetchone()[0]
    opened.close()
    before = target.read_bytes()
    path = written(tmp_path / "wrong.csv", ROW, {**ROW, "grade": "9", "id": "made-2"})
    failed = run.invoke(main, ["build", "-o", str(target), "--outcomes", str(path)])
    assert failed.exit_code == 1
    assert f"{path}:3: R103 grade: '9' is not a grade" in failed.output and "Traceback" not in failed.output
    assert target.read_bytes() == before
    assert [each.name for each in tmp_path.glob("*.part")] == []
    assert run.invoke(main, ["build", "--outcomes", str(path)]).exit_code == 2
