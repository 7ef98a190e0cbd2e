"""The command `record`: asked one by one or from a spreadsheet; one clear line for what is wrong; all or nothing."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from folioproof import Reference, asking, cli_record, recording
from folioproof.cli import main
from folioproof.finding import FolioproofError, RefusedInputError
from folioproof.outcome_record import OutcomeRecord
from folioproof.outcome_sheet import MAX_BYTES, columns, read_sheet
from folioproof.recording import Numbering, place_of, plain, read_coordinates, read_number, read_temperature, write_all
from folioproof.yaml_reader import read

Run = Callable[..., Result]

ROW = {
    "contributor": "mira",
    "licence": "CC0-1.0",
    "consent": "true",
    "name_as_given": "Acer palmatum",
    "part": "leaf",
    "state": "fresh",
    "date": "2026-04-10",
    "region": "NZ-AUK",
    "treatment": "alum",
    "fibre": "paper",
    "mordants.1.material": "potash-alum",
    "mordants.1.strength": "15",
    "mordants.1.unit": "% of dry weight of fibre",
    "mordants.1.where": "fibre",
    "method": "steam",
    "temperature.value": "95",
    "temperature.unit": "C",
    "result.strength": "clear",
    "result.hex": "#8a7a4e",
    "reaction": "none",
    "note": "",
}
#: What is answered after the plant is settled: part and state, stage and side, then place, materials and all the rest.
PLANT_DETAILS = ["", "", "turning", "lower"]
REST = [
    "2026-04-10", "NZ-AUK", "", "paper", "", "alum", "potash-alum", "15", "1", "", "", "steam", "95 C", "90", "clear",
    "crisp", "#8a7a4e", "", "", "", "mira", "", "y",
]  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "shared" / "outcomes"


@pytest.fixture
def run(reference: Reference, folder: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """The command with the reference that is open already: putting its names in order takes a second."""
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    monkeypatch.setattr(cli_record, "open_reference", lambda _: nullcontext(reference))

    def invoke(*arguments: str | Path, answers: list[str] | None = None) -> Result:
        given = ["record", "--to", str(folder), *map(str, arguments)]
        return CliRunner().invoke(main, given, input="".join(f"{line}\n" for line in answers or ()))

    return invoke


def files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def written(folder: Path) -> dict[str, Any]:
    (path,) = files(folder)
    document, findings = read(path)
    assert document is not None and findings == []
    assert OutcomeRecord.model_validate(document.data).id == path.stem
    return document.data


def sheet(path: Path, rows: list[dict[str, str]], delimiter: str = ",") -> Path:
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, list(rows[0]), delimiter=delimiter)
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(text.getvalue(), encoding="utf-8", newline="")
    return path


def errors(result: Result) -> list[str]:
    assert result.exit_code == 1, result.output
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return [line for line in result.stderr.splitlines() if line]


# Asked one by one


def test_a_whole_conversation_writes_one_good_file(run: Run, folder: Path) -> None:
    result = run(answers=["Acer palmatum", *PLANT_DETAILS, *REST])
    assert result.exit_code == 0, result.output
    data = written(folder)
    assert files(folder) == [folder / "NZ-AUK" / "2026" / "nz-auk-2026-04-10-acer-palmatum-mira-1.yml"]
    assert data["temperature"] == {"value": 95, "unit": "C"}
    assert data["mordants"] == [
        {"material": "potash-alum", "strength": 15, "unit": "% of dry weight of fibre", "where": "fibre"}
    ]
    for said in ("ordinary care", "Step by step", "not medical advice", "Written:", "folioproof lint", "merge request"):
        assert said in result.output
    lint = CliRunner().invoke(main, ["lint", str(folder.parent)])
    assert lint.output == "0 findings in 1 files\n"


def test_enter_takes_the_region_of_the_time_zone_and_today(run: Run, folder: Path) -> None:
    rest = ["", "", *REST[2:]]
    assert run(answers=["Acer palmatum", *PLANT_DETAILS, *rest]).exit_code == 0
    assert written(folder)["region"] == "NZ-AUK"


def test_a_name_that_is_not_exact_is_never_guessed_and_danger_stands_first(run: Run, folder: Path) -> None:
    result = run(answers=["no such plant at all", "laurel", "0", "laurel", "1"])
    assert "No plant in the records has this name" in result.output
    listed = [line for line in result.output.splitlines() if line.lstrip()[:2] in ("1 ", "2 ")]
    assert "[X] leave out" in listed[0]
    assert files(folder.parent) == []


def test_a_plant_to_be_left_out_asks_whether_the_print_exists(run: Run, folder: Path) -> None:
    result = run(answers=["Nerium oleander", "", "", "n"])
    assert "[X] leave out" in result.output and "S0" in result.output
    assert errors(result) == ["Error: leave the plant out; nothing was written"]
    assert files(folder.parent) == []
    result = run(answers=["Nerium oleander", "", "", "y", "turning", "lower", *REST])
    assert result.exit_code == 0, result.output
    assert written(folder)["taxon"] == "nerium-oleander"


def test_only_a_genus_is_recorded_as_one(run: Run, folder: Path) -> None:
    result = run(answers=["Acer"])
    numbers = [line.split()[0] for line in result.output.splitlines() if "  Acer (" in line]
    assert run(answers=["Acer", numbers[0], *PLANT_DETAILS, *REST]).exit_code == 0
    assert written(folder)["taxon"] == "acer"


@pytest.mark.parametrize(
    ("place", "bad", "said"),
    [
        (0, "2099-01-01", "is in the future"),
        (0, "1980-01-01", "is before 1990"),
        (0, "10/04/2026", "is not an ISO 8601 date"),
        (1, "NZ-AKL", "is not a region of New Zealand"),
        (1, "nowhere", "is not an ISO 3166-2 code"),
        (1, "?", "NZ-AUK Auckland"),
        (2, "36.8 174.8", "is not near NZ"),
        (2, "12", "is not 2 numbers"),
        (7, "1,500", "could be 1500 or 1.500"),
        (7, "some", "is not a number"),
        (12, "95", "95 has no unit: write 95 C or 95 F"),
        (12, "hot", "is not a number"),
        (16, "#12", "is not #rrggbb"),
        (16, "khaki-ish", "is not one of the 267 ISCC-NBS names"),
        (17, "../secret.jpg", "is outside the folder"),
        (17, "none.jpg", "there is no file none.jpg"),
        (20, "Mira Example", "is no handle"),
    ],
)
def test_a_bad_answer_gets_one_line_and_the_question_again(
    run: Run, folder: Path, place: int, bad: str, said: str
) -> None:
    rest = [*REST[:place], bad, *REST[place:]]
    result = run(answers=["Acer palmatum", *PLANT_DETAILS, *rest])
    assert result.exit_code == 0, result.output
    (line,) = [line for line in result.output.splitlines() if "Error: " in line]
    assert said in line
    written(folder)


def test_coordinates_are_rounded_and_it_is_said(run: Run, folder: Path) -> None:
    rest = [*REST[:2], "-36.8485, 174.7633", *REST[3:]]
    result = run(answers=["Acer palmatum", *PLANT_DETAILS, *rest])
    assert "coordinates were rounded to -36.8, 174.8" in result.output
    assert written(folder)["coordinates"] == [-36.8, 174.8]


def test_without_consent_or_when_stopped_nothing_is_written(run: Run, folder: Path) -> None:
    result = run(answers=["Acer palmatum", *PLANT_DETAILS, *REST[:-1], "n"])
    assert errors(result) == ["Error: without consent nothing is written"]
    for count in (0, 1, 5, len(REST) - 1):
        assert run(answers=["Acer palmatum", *PLANT_DETAILS, *REST[:count]]).exit_code == 1
    assert files(folder.parent) == []


def test_a_failure_has_no_colour_and_a_reaction_is_told_what_follows(run: Run, folder: Path) -> None:
    rest = [*REST[:14], "none", "", "", "skin", "Itching for a day.", *REST[20:]]
    result = run(answers=["Acer palmatum", *PLANT_DETAILS, *rest])
    assert result.exit_code == 0, result.output
    assert written(folder)["result"] == {"strength": "none", "clarity": "unknown", "colour_basis": "none"}
    assert "poison help line" in result.output


def test_the_machine_may_keep_no_zone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", ":Europe/Lisbon")
    assert asking.machine_zone() == "Europe/Lisbon"
    monkeypatch.setenv("TZ", "UTC")
    assert asking.machine_zone() is None


# A spreadsheet


@pytest.mark.parametrize(
    ("delimiter", "encoding", "newline"),
    [(",", "utf-8", "\n"), (";", "utf-8-sig", "\r\n"), ("\t", "utf-16", "\r\n"), (";", "utf-8", "\r")],
)
def test_a_sheet_is_read_however_it_was_saved(
    run: Run, folder: Path, tmp_path: Path, delimiter: str, encoding: str, newline: str
) -> None:
    row = {**ROW, "mordants.1.strength": "12,5", "note": "“Soaked”, then dried", "consent": "TRUE"}
    path = sheet(tmp_path / "prints.csv", [row, {**row, "note": "again"}], delimiter)
    text = path.read_text(encoding="utf-8").replace("\r\n", newline).replace("\r", newline)
    path.write_text(text, encoding=encoding, newline="")
    result = run("--from", path)
    assert result.exit_code == 0, result.output
    assert [path.stem[-1] for path in files(folder)] == ["1", "2"]
    document, _ = read(files(folder)[0])
    assert document is not None
    assert document.data["mordants"][0]["strength"] == 12.5
    assert document.data["note"] == "“Soaked”, then dried"
    assert document.data["stage"] == "unknown"
    assert "row 2: good" in result.output and "row 3: good" in result.output
    assert CliRunner().invoke(main, ["lint", str(folder.parent)]).output == "0 findings in 2 files\n"


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"temperature.unit": ""}, "temperature.value: 95 has no unit: write 95 C or 95 F"),
        ({"mordants.1.unit": ""}, "mordants.1.strength: 15 has no unit"),
        ({"date": "2099-01-01"}, "date: 2099-01-01 is in the future"),
        ({"date": "10.04.2026"}, "date: '10.04.2026' is not an ISO 8601 date"),
        ({"name_as_given": "Planta incognita"}, "name_as_given: 'Planta incognita' is not one plant's very name"),
        ({"name_as_given": "laurel"}, "it may mean nerium-oleander"),
        ({"name_as_given": "Nerium oleander", "taxon": "acer-palmatum"}, "'Nerium oleander' is nerium-oleander"),
        ({"name_as_given": "maple", "taxon": "acer-nullum"}, "there is no plant with the id 'acer-nullum'"),
        ({"name_as_given": ""}, "name_as_given: the plant is not named"),
        ({"region": "NZ-AKL"}, "region: NZ-AKL is not a region of New Zealand"),
        ({"result.photo": "../../../../etc/passwd.png"}, "result.photo: ../../../../etc/passwd.png is outside"),
        ({"mordants.1.strength": "1,500"}, "mordants.1.strength: 1,500 could be 1500 or 1.500"),
        ({"consent": "no"}, "consent: without consent the record is not accepted"),
        ({"consent": "perhaps"}, "consent: 'perhaps' is neither true nor false"),
        ({"reaction": ""}, "reaction: this key is missing"),
        ({"part": "leef"}, "part: 'leef' is not an allowed term. Write leaf, stem"),
        ({"result.lab": "45,1 3 20"}, "result.colour_basis: this key is missing"),
    ],
)
def test_a_bad_row_is_told_by_its_number_and_nothing_is_written(
    run: Run, folder: Path, tmp_path: Path, changes: dict[str, str], said: str
) -> None:
    heads = {**ROW, **dict.fromkeys(changes, ""), "taxon": ""}
    path = sheet(tmp_path / "prints.csv", [heads | ROW, heads | ROW | changes])
    result = run("--from", path)
    assert errors(result) == ["Error: 1 of 2 rows cannot be taken; nothing was written"]
    lines = [line for line in result.stdout.splitlines() if line.startswith("row 3: ")]
    assert len(lines) == 1 and said in lines[0], result.stdout
    assert files(folder.parent) == []


def test_everything_wrong_with_a_row_is_told_at_once(run: Run, tmp_path: Path) -> None:
    row = {**ROW, "name_as_given": "laurel", "date": "2099-01-01", "region": "NZ-AKL"}
    lines = run("--from", sheet(tmp_path / "prints.csv", [row])).stdout.splitlines()
    assert [line.split()[2] for line in lines] == ["name_as_given:", "region:", "date:"]


def test_coordinates_of_a_row_are_rounded_and_it_is_said(run: Run, folder: Path, tmp_path: Path) -> None:
    result = run("--from", sheet(tmp_path / "prints.csv", [{**ROW, "coordinates": "-36,8485 174,7633"}]))
    assert "row 2: coordinates were rounded to -36.8, 174.8" in result.output
    assert written(folder)["coordinates"] == [-36.8, 174.8]


def test_the_same_print_is_not_taken_twice(run: Run, folder: Path, tmp_path: Path) -> None:
    path = sheet(tmp_path / "prints.csv", [ROW])
    assert run("--from", path).exit_code == 0
    assert "is recorded already as nz-auk-2026-04-10-acer-palmatum-mira-1" in run("--from", path).stdout
    twice = run("--from", sheet(path, [{**ROW, "note": "a"}, {**ROW, "note": "a"}]))
    assert "row 3: this print is recorded already" in twice.stdout
    assert len(files(folder)) == 1


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda text: text[: text.rindex("potash")], "row 3: 11 cells stand under 21 heads; the file seems cut off"),
        (lambda text: text.replace('"% of', '"% of" x', 1), "row 2: a quotation mark stands in the wrong place"),
        (lambda text: text.rstrip() + '"never closed', "row 3: a quotation mark"),
        (lambda text: text.replace("clear", "“clear, I think”", 1), "row 2: 22 cells stand under 21 heads; curly"),
        (lambda text: text.replace("clear", "clear, I think", 1), "row 2: 22 cells stand under 21 heads; put"),
        (lambda text: text.replace("method", "methode", 1), "row 1: there is no column 'methode'"),
        (lambda text: text.replace("method", "part", 1), "row 1: the column 'part' stands twice"),
        (lambda text: text.splitlines()[0], "there is no row below the heads"),
        (lambda text: "", "there is no row below the heads"),
        (lambda text: text.replace("steam", "st\0eam", 1), "row 2: this is not text"),
    ],
)
def test_a_spoilt_sheet_is_refused_in_one_line(
    run: Run, folder: Path, tmp_path: Path, change: Callable[[str], str], said: str
) -> None:
    path = sheet(tmp_path / "prints.csv", [ROW | {"mordants.1.unit": "% of dry weight of fibre"}, ROW])
    text = path.read_text(encoding="utf-8").replace("% of dry weight of fibre", '"% of dry weight of fibre"', 1)
    path.write_text(change(text), encoding="utf-8")
    (line,) = errors(run("--from", path))
    assert said in line
    assert files(folder.parent) == []


def test_sheets_that_are_no_text_are_refused_in_one_line(run: Run, tmp_path: Path) -> None:
    (tmp_path / "latin.csv").write_bytes("contributor\nmira\nnoël\n".encode("latin-1"))
    (tmp_path / "book.xlsx").write_bytes(b"PK\x03\x04...")
    with (tmp_path / "huge.csv").open("wb") as stream:
        stream.truncate(MAX_BYTES + 1)
    for name, said in (
        ("latin.csv", "row 3: the text is not UTF-8"),
        ("book.xlsx", "this is a workbook"),
        ("huge.csv", "are too much"),
        ("none.csv", "cannot be read"),
        (".", "this is not a file"),
    ):
        (line,) = errors(run("--from", tmp_path / name))
        assert said in line


def test_a_huge_photo_is_refused_by_its_size(run: Run, folder: Path, tmp_path: Path) -> None:
    home = folder / "NZ-AUK" / "2026"
    home.mkdir(parents=True)
    with (home / "print.png").open("wb") as stream:
        stream.truncate(2_000_000_000)
    result = run("--from", sheet(tmp_path / "prints.csv", [{**ROW, "result.photo": "print.png"}]))
    assert "result.photo: print.png has 2000 MB; the limit is 20 MB" in result.stdout
    assert files(folder) == [home / "print.png"]


def test_it_opens_the_database_that_is_named(database: Path, folder: Path, tmp_path: Path) -> None:
    path = sheet(tmp_path / "prints.csv", [ROW])
    given = ["record", "--database", str(database), "--to", str(folder), "--from", str(path)]
    assert CliRunner().invoke(main, given).exit_code == 0
    assert len(files(folder)) == 1


def test_every_key_is_a_column_and_explained(run: Run) -> None:
    heads = [column.head for column in columns()]
    assert {head.split(".")[0] for head in heads} == set(OutcomeRecord.model_fields) - {"id", "review"}
    shown = run("--columns").output
    assert all(f" {head}\n" in shown for head in heads)
    assert all(column.meaning and column.example for column in columns())


def test_the_example_of_every_column_is_a_good_row(run: Run, folder: Path, tmp_path: Path) -> None:
    row = {column.head: column.example for column in columns() if not column.head.startswith("mordants.")}
    row |= {"result.photo": "", "reaction_note": "", "invented": "", "mordants.1.material": "unknown"}
    row |= {"mordants.1.strength": "unknown", "mordants.1.where": "fibre", "mordants.1.unit": ""}
    result = run("--from", sheet(tmp_path / "prints.csv", [row]))
    assert result.exit_code == 0, result.output
    assert len(files(folder)) == 1


# Values and files


@pytest.mark.parametrize(
    ("text", "value"), [("12.5", 12.5), ("12,5", 12.5), ("−3", -3), (" “7” ", 7), ("0,125", 0.125)]
)
def test_numbers(text: str, value: float) -> None:
    assert read_number(text) == value


@pytest.mark.parametrize("text", ["1,234", "1.2.3", "12 C", "", "1e3", "nan", "½", "١"])
def test_what_is_no_number_is_refused_in_one_line(text: str) -> None:
    with pytest.raises(RefusedInputError) as caught:
        read_number(text)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("text", ["95 C", "95C", "95 °C", "95 deg C", "95,0 Celsius", "95 degrees C"])
def test_temperatures(text: str) -> None:
    assert read_temperature(text) == (95, "C")


@pytest.mark.parametrize("text", ["-36.8 174.8", "-36.8,174.8", "[-36.8, 174.8]", "-36,8 174,8", "-36,8; 174,8"])
def test_coordinates(text: str) -> None:
    assert read_coordinates(text) == ([-36.8, 174.8], None)


def test_text_is_taken_without_invisible_characters() -> None:
    assert plain(" “Japanese\u00a0maple”\u200b\r\n") == "Japanese maple"


@pytest.fixture
def one(run: Run, folder: Path, tmp_path: Path) -> OutcomeRecord:
    run("--from", sheet(tmp_path / "one.csv", [ROW]))
    record = OutcomeRecord.model_validate(written(folder))
    files(folder)[0].unlink()
    return record


def test_nothing_is_ever_overwritten_and_numbers_go_on(one: OutcomeRecord, folder: Path) -> None:
    place = place_of(one, folder)
    place.write_text("mine")
    with pytest.raises(FolioproofError, match=r"cannot be written \(File exists\); nothing was written"):
        write_all([one], folder)
    assert place.read_text() == "mine"
    new = Numbering(folder).give(one)
    assert new.id.endswith("-2")
    assert files(folder) == [place]


def test_when_one_file_cannot_be_written_none_is(
    one: OutcomeRecord, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    second = one.model_copy(update={"id": one.id[:-1] + "2"})
    link = Path.hardlink_to

    def full(self: Path, target: Path) -> None:
        if self.stem.endswith("2"):
            raise OSError(28, "No space left on device")
        link(self, target)

    monkeypatch.setattr(Path, "hardlink_to", full)
    with pytest.raises(FolioproofError, match=r"No space left on device"):
        write_all([one, second], folder)
    assert files(folder) == []


def test_a_stick_without_hard_links_will_do(one: OutcomeRecord, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(self: Path, target: Path) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(Path, "hardlink_to", refused)
    write_all([one], folder)
    assert written(folder)["id"] == one.id


def test_a_folder_that_cannot_be_written_is_said_in_one_line(run: Run, tmp_path: Path, folder: Path) -> None:
    folder.parent.mkdir()
    folder.write_text("a file")
    result = run("--from", sheet(tmp_path / "prints.csv", [ROW]))
    assert result.exit_code == 2 or "cannot be written" in result.stderr
    folder.unlink()
    folder.mkdir()
    (folder / "NZ-AUK").write_text("a file")
    (line,) = errors(run("--from", sheet(tmp_path / "prints.csv", [ROW])))
    assert "cannot be written" in line


def test_rows_carry_the_number_a_spreadsheet_shows(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text('part,note\nleaf,"two\nlines"\n,\nstem,x\n')
    assert [(row.number, row.cells["part"]) for row in read_sheet(path)] == [(2, "leaf"), (4, "stem")]


def test_the_default_folder_is_shared_here_or_the_named_one(monkeypatch: pytest.MonkeyPatch) -> None:
    from folioproof.cli_record import _default_folder

    monkeypatch.delenv("FOLIOPROOF_SHARED", raising=False)
    assert _default_folder() == Path("shared/outcomes")
    monkeypatch.setenv("FOLIOPROOF_SHARED", "/somewhere")
    assert _default_folder() == Path("/somewhere/outcomes")
    assert {column.head for column in columns()} >= recording.NUMBERS
