"""What the documents say is what the program does."""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest

from folioproof.assessment import RULES
from folioproof.checks import ALL_RULES
from folioproof.cli import main
from folioproof.estimates import RULES as ESTIMATE_RULES
from folioproof.reference import NAME_RULES

TOP = Path(__file__).parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("code", [*ALL_RULES, *RULES, *NAME_RULES, *ESTIMATE_RULES])
def test_every_rule_stands_in_the_manual_with_its_sentence(code: str) -> None:
    sentence = {**ALL_RULES, **RULES, **NAME_RULES, **ESTIMATE_RULES}[code]
    assert f"| {code} | {sentence} |" in DEVELOPERS


@pytest.mark.parametrize("command", sorted(main.commands))
def test_every_command_stands_in_both_documents_and_explains_itself(command: str) -> None:
    assert f"folioproof {command}" in README
    assert f"folioproof {command}" in DEVELOPERS
    assert main.commands[command].help
    for parameter in main.commands[command].params:
        if isinstance(parameter, click.Option) and parameter.name not in ("part", "state", "host", "port"):
            assert parameter.help, f"{command} {parameter.name}"


def test_every_setting_of_the_pages_stands_in_the_manual() -> None:
    from folioproof.serving import SETTINGS

    for name, value in SETTINGS.items():
        shown = {True: "true", False: "false"}.get(value, value) if isinstance(value, bool) else value
        assert f"{name} {shown}" in DEVELOPERS, name


def test_every_environment_variable_stands_in_the_manual() -> None:
    source = "".join(path.read_text(encoding="utf-8") for path in (TOP / "src").rglob("*.py"))
    for name in set(re.findall(r"FOLIOPROOF_[A-Z]+", source)) | {"NO_COLOR"}:
        assert name in DEVELOPERS


def test_every_module_stands_on_its_floor_in_the_manual() -> None:
    house = DEVELOPERS.split("## The house")[1]
    for path in (TOP / "src" / "folioproof").glob("[a-z]*.py"):
        assert f"`{path.stem}`" in house, path.stem


def test_the_test_command_of_the_readme_is_the_one_that_ci_calls() -> None:
    commands = re.findall(r"^    (python3 -m venv .*)$", README, re.MULTILINE)
    assert len(commands) == 2
    assert commands[0].endswith('folioproof check "castor bean"')
    assert commands[1].endswith("-m pytest")
    assert "README.md" in (TOP / ".ci" / "run").read_text(encoding="utf-8")
