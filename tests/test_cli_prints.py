"""The commands about colour and season as a person or a script meets them."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from folioproof.cli import main
from folioproof.terminal_prints import cells
from folioproof.vocabulary import TREATMENTS, Grade, Level, Stage, Status

Run = Callable[..., Result]
WHERE = ("--near", "Europe/Lisbon", "--on", "2026-10-15")
NO_COLOURS = {"COLORTERM": None, "TERM": "dumb", "NO_COLOR": None}
CAUTION = "A reference, not medical advice"


@pytest.fixture
def run(database: Path) -> Run:
    def invoke(*arguments: str, text: str | bytes | None = None, **more: Any) -> Result:
        more.setdefault("env", NO_COLOURS)
        return CliRunner().invoke(main, [*arguments, "--database", str(database)], input=text, **more)

    return invoke


def objects(result: Result) -> list[dict[str, Any]]:
    """The objects that a command printed, one a line."""
    return [json.loads(line) for line in result.output.splitlines()]


# -- expect --------------------------------------------------------------------------------------------------------

EXPECT_KEYS = {
    "query", "status", "plant", "treatment", "fibre", "lab", "hex", "name", "spread", "strength", "season", "layers",
}  # fmt: skip


def test_expect_as_json_holds_what_a_script_needs(run: Run) -> None:
    names = ("silver birch", "walnut", "smoke tree")
    result = run("expect", *names, "--treatment", "iron", "--fibre", "paper", *WHERE, "--json")
    answers = objects(result)
    assert list(dict.fromkeys(each["query"] for each in answers)) == list(names)
    assert result.exit_code == 3  # walnut may be more than one plant
    for each in answers:
        assert set(each) >= EXPECT_KEYS
        assert each["status"] in set(Status) and each["level"] in set(Level)
        assert (each["treatment"], each["fibre"], each["part"]) == ("iron", "paper", "leaf")
        assert set(each["plant"]) == {"id", "scientific_name", "common_name"}
        assert set(each["strength"]) == {"expected", "grade", "posterior"}
        assert list(each["strength"]["posterior"]) == list(Grade) and each["strength"]["grade"] in set(Grade)
        assert sum(each["strength"]["posterior"].values()) == pytest.approx(1, abs=0.001)
        assert each["season"]["stage"] in set(Stage) and each["season"]["sure"] in ("fair", "rough", "not known")
        assert (each["near"], each["on"]) == ("Europe/Lisbon", "2026-10-15")
        for layer in each["layers"]:
            assert {"kind", "basis", "weight", "lab", "sources"} <= set(layer)
    birch = answers[0]
    assert birch["status"] == "exact" and birch["plant"]["id"] == "betula-pendula"
    assert len(birch["lab"]) == 3 and birch["hex"].startswith("#") and len(birch["hex"]) == 7
    assert birch["name"] and birch["spread"] > 0
    assert sum(layer["weight"] for layer in birch["layers"]) == pytest.approx(1, abs=0.001)
    cited = {source for layer in birch["layers"] for source in layer["sources"]}
    assert cited <= {source["id"] for source in birch["sources"]}
    assert any("Iron slowly eats" in note for note in birch["notes"])


def test_expect_says_swatch_strength_season_and_what_it_rests_on(run: Run) -> None:
    result = run("expect", "silver birch", *WHERE)
    assert result.exit_code == 0
    for phrase in ("Betula pendula", "#", "give or take", "of 4", "Rests on", "Iron slowly eats", CAUTION, "in season"):
        assert phrase in result.output
    assert all(f"  {treatment} " in result.output for treatment in TREATMENTS)
    assert "\x1b" not in result.output


def test_expect_of_a_name_that_nothing_bears_says_so(run: Run) -> None:
    result = run("expect", "xqzw")
    assert result.exit_code == 3 and "no plant in the records has this name" in result.output
    (answer,) = objects(run("expect", "xqzw", "--json"))
    assert set(answer) >= EXPECT_KEYS
    assert (answer["status"], answer["plant"], answer["lab"], answer["layers"]) == ("unknown", None, None, [])


def test_expect_reads_a_name_a_line_from_standard_input(run: Run) -> None:
    text = "Acer rubrum\r\n\n  spaced \nJuglans nigra\n"
    result = run("expect", "-", "--treatment", "alum", "--json", text=text)
    queries = list(dict.fromkeys(each["query"] for each in objects(result)))
    assert queries == ["Acer rubrum", "", "  spaced ", "Juglans nigra"]
    assert json.loads(run("expect", "-", "--json", text=b"\xff\xfe\n").output)["status"] == "unknown"


def test_expect_answers_of_all_treatments_stand_on_a_line_each(run: Run) -> None:
    answers = objects(run("expect", "Acer rubrum", "--json"))
    assert [each["treatment"] for each in answers] == list(TREATMENTS)


# -- gather, like, swap, palette, calendar -------------------------------------------------------------------------


def test_gather_for_a_class_in_the_southern_autumn(run: Run) -> None:
    arguments = ("gather", "--near", "-36.8,174.7", "--on", "2026-04-10", "--company", "class")
    result = run(*arguments)
    assert result.exit_code == 0
    for phrase in ("-36.8,174.7 on 2026-04-10", "ordinary care", "Pick:", "Not listed:", CAUTION):
        assert phrase in result.output
    assert "[X]" not in result.output and "[?]" not in result.output
    rows = objects(run(*arguments, "--json", "--limit", "1000"))
    assert len(rows) > 20
    for row in rows:
        assert row["level"] in ("ordinary care", "extra care") and row["season"]["in_season"]
        assert set(row["precautions"]) == {"pick", "lay", "heat", "lift", "discard"}
        assert {"plant", "lab", "hex", "name", "spread", "strength_now", "grade_now", "identify_first"} <= set(row)


def test_gather_takes_colours_wanted_and_says_when_nothing_fits(run: Run) -> None:
    wanted = ("gather", *WHERE, "--treatment", "iron", "--json")
    rows = objects(run(*wanted, "--wants", "olive", "--wants", "#222222", "--limit", "5"))
    assert len(rows) == 5 and {row["wanted"]["colour"] for row in rows} <= {"olive", "#222222"}
    none = run("gather", *WHERE, "--wants", "#00ff00")
    assert none.exit_code == 3 and "Nothing fits" in none.output


def test_like_lists_the_nearest_first(run: Run) -> None:
    rows = objects(run("like", "#6c7b38", "--json", "--limit", "7"))
    assert len(rows) == 7
    assert [row["distance"] for row in rows] == sorted(row["distance"] for row in rows)
    assert {"plant", "level", "treatment", "fibre", "hex", "name", "grade", "rests_on"} <= set(rows[0])
    text = run("like", "khaki", "--treatment", "iron")
    assert text.exit_code == 0 and text.output.startswith("khaki: ") and "iron on paper" in text.output


def test_swap_names_stand_ins_and_never_the_plant_itself(run: Run) -> None:
    result = run("swap", "castor bean", "--company", "class", "--json")
    rows = objects(result)
    assert result.exit_code == 0 and rows
    assert all(row["query"] == "castor bean" and row["plant"]["id"] != "ricinus-communis" for row in rows)
    text = run("swap", "castor bean", *WHERE)
    assert "[X] leave out" in text.output.splitlines()[0] and "leaf shape" in text.output
    assert run("swap", "walnut").exit_code == 3 and run("swap", "xqzw").exit_code == 3


def test_palette_names_the_pairs_that_are_hard_to_tell_apart(run: Run) -> None:
    result = run("palette", "Acer rubrum", "Juglans nigra", "Acer rubrum", "--treatment", "iron")
    assert result.exit_code == 0 and "1 and 3 will be hard to tell apart for everyone" in result.output
    (answer,) = objects(run("palette", "Acer rubrum", "walnut", "--json"))
    assert set(answer) == {"colours", "hard_to_tell_apart", "notes"} and len(answer["colours"]) == 2
    assert run("palette", "Acer rubrum", "walnut").exit_code == 3


def test_calendar_shows_twelve_months_and_its_rule(run: Run) -> None:
    arguments = ("calendar", "Betula pendula", "--near", "Europe/Lisbon", "--year", "2026")
    result = run(*arguments)
    assert result.exit_code == 0
    assert all(f"  {month}  " in result.output for month in ("Jan", "Jun", "Dec")) and "Dates: " in result.output
    (answer,) = objects(run(*arguments, "--json"))
    assert [month["month"] for month in answer["months"]] == list(range(1, 13)) and answer["rule"]
    assert run("calendar", "xqzw", "--near", "PT").exit_code == 3


# -- what is refused -----------------------------------------------------------------------------------------------

REFUSED = [
    (("expect", "oak", "--near", "91,0"), "latitude 91"),
    (("expect", "oak", "--near", "PT", "--on", "2026-02-30"), "does not exist"),
    (("expect", "oak", "--on", "2026-05-09"), "without a place"),
    (("gather", "--near", "Atlantis"), "not a place that is known"),
    (("gather", "--near", "PT", "--wants", "qwertz"), "no known colour name"),
    (("like", "50,120,-120"), "no print or leaf can have"),
    (("like", "#12345"), "is not #rrggbb"),
    (("swap", "oak", "--on", "2026-05-09"), "without a place"),
    (("calendar", "oak", "--near", "x" * 9999), "of 9999 letters"),
]
MISUSED = [
    ("expect",),
    ("expect", "oak", "--fibre", "felt"),
    ("expect", "oak", "--treatment", "unstated"),
    ("gather",),
    ("gather", "--near", "PT", "--company", "ghosts"),
    ("gather", "--near", "PT", "--limit", "0"),
    ("like",),
    ("swap", "oak", "--treatment", "tin"),
    ("palette",),
    ("calendar", "oak"),
    ("calendar", "oak", "--near", "PT", "--year", "1500"),
]


@pytest.mark.parametrize(("arguments", "words"), REFUSED, ids=[" ".join(each)[:40] for each, _ in REFUSED])
def test_bad_input_is_one_line_and_exit_code_1(run: Run, arguments: tuple[str, ...], words: str) -> None:
    for more in ((), ("--json",)):
        result = run(*arguments, *more)
        assert result.exit_code == 1 and words in result.output
        assert result.output.count("\n") == 1 and result.output.startswith("Error: ")
        assert result.exception is None or isinstance(result.exception, SystemExit)


@pytest.mark.parametrize("arguments", MISUSED, ids=" ".join)
def test_wrong_usage_is_exit_code_2(run: Run, arguments: tuple[str, ...]) -> None:
    result = run(*arguments)
    assert result.exit_code == 2 and "Traceback" not in result.output


@pytest.mark.parametrize("text", ["\x1b[31mred", "\u202eolive", "<script>", "'; DROP TABLE taxa; --", "🍁" * 9999])
def test_garbage_is_answered_or_refused_without_control_characters(run: Run, text: str) -> None:
    for arguments in (
        ("expect", text),
        ("like", text),
        ("swap", text),
        ("palette", text),
        ("gather", "--near", text),
        ("calendar", text, "--near", "PT"),
        ("gather", "--near", "PT", "--on", text),
        ("gather", "--near", "PT", "--wants", text),
    ):
        result = run(*arguments)
        assert result.exit_code in (0, 1, 3) and (result.exception is None or isinstance(result.exception, SystemExit))
        assert not {"\x1b", "\u202e"} & set(result.output), arguments


# -- swatches ------------------------------------------------------------------------------------------------------

TRUE, CUBE = "\x1b[48;2;", "\x1b[48;5;"


@pytest.mark.parametrize(
    ("environment", "sign"),
    [
        ({"COLORTERM": "truecolor", "TERM": "xterm-256color"}, TRUE),
        ({"COLORTERM": "24bit", "TERM": "xterm"}, TRUE),
        ({"TERM": "xterm-256color"}, CUBE),
        ({"TERM": "xterm"}, None),
        ({"COLORTERM": "truecolor", "NO_COLOR": "1"}, None),
    ],
)
def test_a_swatch_is_drawn_as_the_terminal_can(run: Run, environment: dict[str, str], sign: str | None) -> None:
    for arguments in (
        ("expect", "Acer rubrum"),
        ("gather", "--near", "PT"),
        ("like", "khaki"),
        ("palette", "Acer rubrum"),
    ):
        output = run(*arguments, env={**NO_COLOURS, **environment}, color=True).output
        for each in (TRUE, CUBE):
            assert (each in output) is (each == sign)
        # Never colour alone: the name and the code stand beside every swatch.
        assert "give or take" in output
        if "NO_COLOR" in environment:
            assert "\x1b" not in output


def test_a_swatch_is_the_colour_it_stands_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("COLORTERM", "truecolor")
    assert "48;2;108;123;56m" in cells("#6c7b38")
    monkeypatch.delenv("COLORTERM")
    monkeypatch.setenv("TERM", "xterm-256color")
    for shown, number in (("#000000", 16), ("#ffffff", 231), ("#ff0000", 196), ("#5f87af", 67), ("#d7af5f", 179)):
        assert f"48;5;{number}m" in cells(shown)


def _environment(**more: str) -> dict[str, str]:
    kept = {key: value for key, value in os.environ.items() if key not in ("NO_COLOR", "COLORTERM", "TERM")}
    return {**kept, "COLORTERM": "truecolor", "TERM": "xterm-256color", **more}


def test_no_swatch_when_not_a_terminal_and_one_when_it_is(database: Path) -> None:
    command = [sys.executable, "-m", "folioproof", "expect", "Acer rubrum", "--database", str(database)]
    piped = subprocess.run(command, capture_output=True, text=True, env=_environment(), check=True)
    assert "\x1b" not in piped.stdout and "give or take" in piped.stdout
    for more, drawn in (({}, True), ({"NO_COLOR": "1"}, False)):
        ours, theirs = pty.openpty()
        with subprocess.Popen(command, stdout=theirs, env=_environment(**more)) as process:
            os.close(theirs)
            shown = b""
            try:
                while part := os.read(ours, 65536):
                    shown += part
            except OSError:
                pass  # Linux ends a terminal that nobody holds any more with an error.
            assert process.wait() == 0
        os.close(ours)
        assert (TRUE.encode() in shown) is drawn and b"give or take" in shown
