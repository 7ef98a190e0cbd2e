"""The command line as a person or a script meets it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from folioproof.cli import main
from folioproof.corpus_files import data_root
from folioproof.vocabulary import Level

Run = Callable[..., Result]


@pytest.fixture
def run(database: Path) -> Run:
    def invoke(*arguments: str, text: str | bytes | None = None) -> Result:
        given = list(arguments)
        if given[0] in ("find", "check", "show"):
            given += ["--database", str(database)]
        return CliRunner().invoke(main, given, input=text)

    return invoke


def test_check_prints_level_reason_steps_and_cautions(run: Run) -> None:
    result = run("check", "castor bean")
    assert result.exit_code == 0
    for phrase in ("extra care", "Why", "Step by step", "discard", "Sources", "not medical advice"):
        assert phrase in result.output


def test_check_json_is_one_object_a_line_with_a_level_each(run: Run) -> None:
    result = run("check", "oleander", "poison hemlock", "maple", "xqzw", "--json")
    answers = [json.loads(line) for line in result.output.splitlines()]
    assert [a["query"] for a in answers] == ["oleander", "poison hemlock", "maple", "xqzw"]
    assert all(a["level"] in set(Level) for a in answers)
    assert answers[0]["level"] == "leave out"
    assert answers[3]["status"] == "unknown"
    assert answers[3]["level"] == "not assessed"
    keys = {"query", "status", "level", "candidates", "reasons", "precautions", "sources"}
    assert all(keys <= set(a) for a in answers)
    assert set(answers[0]["candidates"][0]) == {"id", "scientific_name", "common_name", "level", "match"}
    assert {"kind", "name", "distance"} <= set(answers[0]["candidates"][0]["match"])
    assert set(answers[0]["precautions"]) == {"pick", "lay", "heat", "lift", "discard"}
    assert result.exit_code == 3


def test_a_name_a_line_on_standard_input_is_taken_as_it_is(run: Run) -> None:
    result = run("check", "-", "--json", text="Acer rubrum\n  spaced \n\r\nwalnut\r\n")
    assert [json.loads(line)["query"] for line in result.output.splitlines()] == [
        "Acer rubrum",
        "  spaced ",
        "",
        "walnut",
    ]


@pytest.mark.parametrize(
    "name",
    [
        "x" * 100_000,
        "\x07\x1b[31mred",
        "\u202eevil",
        "'; DROP TABLE taxa; --",
        "<script>alert(1)</script>",
        "\u200b",
        "🍁🍁",
        "é\u0301\u0301",
        "मअA夾",
    ],
)
def test_garbage_gets_an_answer_and_no_control_characters(run: Run, name: str) -> None:
    for command in ("find", "check"):
        plain = run(command, name)
        assert plain.exit_code == 3
        assert "Traceback" not in plain.output
        assert "\x1b" not in plain.output and "\u202e" not in plain.output and "\x07" not in plain.output
        answer = json.loads(run(command, name, "--json").output)
        assert answer["status"] == "unknown"
        assert answer["level"] in ("not assessed", "leave out")


def test_bytes_that_are_not_utf8_are_survived(run: Run) -> None:
    result = run("check", "-", "--json", text=b"\xff\xfe\xfd\n")
    assert json.loads(result.output)["status"] == "unknown"


def test_find_explains_each_candidate(run: Run) -> None:
    output = run("find", "laurel").output
    assert "ambiguous" in output and "Prunus laurocerasus" in output and "its name ends in the same word" in output
    answer = json.loads(run("find", "laurel", "--json").output)
    assert {"laurus-nobilis", "prunus-laurocerasus"} <= {c["id"] for c in answer["candidates"]}
    assert "Spanish name" in run("find", "Adelfa").output


def test_find_prefix_gives_names_and_no_level(run: Run) -> None:
    result = run("find", "--prefix", "acer ru", "--json")
    answer = json.loads(result.output)
    assert "Acer rubrum" in answer["names"]
    assert "level" not in answer
    assert "Acer rubrum" in run("find", "--prefix", "acer ru").output.splitlines()


def test_show_gives_the_whole_record(run: Run) -> None:
    output = run("show", "acer-rubrum").output
    assert "Acer rubrum L." in output and "Sapindaceae" in output and "vernacular: " in output
    genus = json.loads(run("show", "acer", "--json").output)
    assert genus["rank"] == "genus" and any(m["id"] == "acer-rubrum" for m in genus["members"])


def test_wrong_usage_and_refused_input_have_their_own_exit_codes(run: Run, tmp_path: Path) -> None:
    assert run("check").exit_code == 2
    assert run("check", "oak", "--part", "nose").exit_code == 2
    refused = run("show", "no-such-plant")
    assert refused.exit_code == 1 and refused.output.count("\n") == 1
    missing = CliRunner().invoke(main, ["check", "oak", "--database", str(tmp_path / "none.db")])
    assert missing.exit_code == 1 and "folioproof build -o" in missing.output
    (tmp_path / "other.db").write_text("not a database at all, but long enough to be read" * 40)
    other = CliRunner().invoke(main, ["check", "oak", "--database", str(tmp_path / "other.db")])
    assert other.exit_code == 1 and "not a folioproof database" in other.output


def test_lint_prints_findings_and_a_count(run: Run, tmp_path: Path) -> None:
    clean = run("lint", str(data_root() / "agents"))
    assert clean.exit_code == 0 and clean.output.startswith("0 findings in ")
    (tmp_path / "plants" / "Acer").mkdir(parents=True)
    (tmp_path / "plants" / "Acer" / "rubrum.yml").write_text("id: acer-rubrum\ncolour: red\n")
    broken = run("lint", str(tmp_path))
    assert broken.exit_code == 1
    assert "rubrum.yml:2: R101 colour: this key is not known here." in broken.output
    assert broken.output.rstrip().endswith("findings in 1 files")
    outside = run("lint", "/")
    assert outside.exit_code == 2


def test_lint_lists_its_rules(run: Run) -> None:
    output = run("lint", "--rules").output
    assert "Y003 a key stands once in its mapping" in output and "K222" in output


def test_build_writes_a_database_or_says_why_not(run: Run, tmp_path: Path) -> None:
    target = tmp_path / "out" / "x.db"
    result = run("build", "-o", str(target))
    assert result.exit_code == 0 and target.is_file() and "taxa" in result.output
    assert [p.name for p in target.parent.iterdir()] == ["x.db"]
    (tmp_path / "file").write_text("")
    refused = run("build", "-o", str(tmp_path / "file" / "x.db"))
    assert refused.exit_code == 1 and "cannot be written" in refused.output


def _shell(*arguments: str, database: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "folioproof", *arguments, "--database", str(database)]
    return subprocess.run(command, capture_output=True, text=True, env={**os.environ, **environment}, check=False)


def test_no_colour_when_piped_and_no_traceback_when_the_pipe_closes(database: Path) -> None:
    result = _shell("check", "fig", "rose", database=database)
    assert "\x1b[" not in result.stdout
    command = f"{sys.executable} -m folioproof show acer --database {database} | head -1"
    piped = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=False)
    assert piped.stdout.startswith("Acer") and "Traceback" not in piped.stderr
