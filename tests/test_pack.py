"""The field pack as a file: what it holds, what it says of itself, and that it is written whole or not at all."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import sqlite3
from collections.abc import Callable
from datetime import date
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

import folioproof
from folioproof import Reference
from folioproof.cli import main
from folioproof.finding import RefusedInputError
from folioproof.pack import LARGEST, FieldPack, Packer, write_pack
from folioproof.vocabulary import Company, Level

FIELD = Path(folioproof.__file__).parent / "field"
MADE = date(2026, 5, 2)
RANKS = {level.rank: level for level in Level}


@pytest.fixture(scope="module")
def packer(reference: Reference) -> Packer:
    return Packer(reference)


@pytest.fixture(scope="module")
def pack(packer: Packer) -> FieldPack:
    return packer.pack("Europe/Lisbon", "2026-05-09", Company.CLASS, made=MADE)


def block(pack: FieldPack, name: str) -> Any:
    found = re.search(rf'<script type="application/json" id="{name}">(.*?)</script>', pack.html, re.DOTALL)
    assert found
    return json.loads(found[1])


@pytest.fixture(scope="module")
def plants(pack: FieldPack) -> Any:
    return block(pack, "plants")


@pytest.fixture(scope="module")
def ids(database: Path) -> list[str]:
    connection = sqlite3.connect(database)
    found = [row[0] for row in connection.execute("SELECT id FROM taxa ORDER BY id")]
    connection.close()
    return found


def test_it_is_small_enough_to_send(pack: FieldPack) -> None:
    assert len(pack.html.encode()) < LARGEST == 2_000_000


def test_it_states_place_day_making_and_data_version(pack: FieldPack, packer: Packer, database: Path) -> None:
    connection = sqlite3.connect(database)
    version = connection.execute("SELECT value FROM build WHERE key = 'content_sha256'").fetchone()[0]
    connection.close()
    text = re.sub(r"<[^>]+>", "", pack.html)
    assert "Field pack: Europe/Lisbon, 2026-05-09" in text
    assert f"Made on {MADE} from data version {version[:12]}; good for 90 days" in text
    here = block(pack, "here")
    assert (here["place"], here["on"], here["made"], here["goodFor"]) == ("Europe/Lisbon", "2026-05-09", str(MADE), 90)
    assert here["company"] == [0, 1]
    assert packer.pack("Europe/Lisbon", "2026-05-09", Company.CLASS, made=MADE).html == pack.html
    assert pack.file_name == "field-pack-europe-lisbon-2026-05-09.html"


@pytest.mark.parametrize(
    ("near", "name"),
    [
        ("38.7,-9.1", "field-pack-38.7-minus9.1-2026-05-09.html"),
        ("America/Port-au-Prince", "field-pack-america-port-au-prince-2026-05-09.html"),
        ("CI", "field-pack-c-te-d-ivoire-2026-05-09.html"),
    ],
)
def test_the_file_is_named_in_plain_letters(packer: Packer, near: str, name: str) -> None:
    assert packer.pack(near, "2026-05-09", made=MADE).file_name == name


def test_no_name_is_left_out(plants: Any, ids: list[str], database: Path) -> None:
    held = set()
    for taxon_id, runs in zip(ids, plants["names"], strict=True):
        for run in runs.split("~"):
            names = run.partition(":")[2].split("|")
            held |= {(taxon_id, name.removesuffix("*").partition("^")[0]) for name in names}
    connection = sqlite3.connect(database)
    rows = connection.execute("SELECT taxon_id, name FROM names").fetchall()
    connection.close()
    assert held == {(taxon, name.translate(str.maketrans("~|^*:", "     "))) for taxon, name in rows}
    assert len(plants["names"]) == len(ids)


def level_in(plants: Any, number: int, company: Company) -> Level:
    verdict = plants["judged"][plants["judgement"][number]][list(Company).index(company)]
    return RANKS[plants["verdicts"][verdict][0]]


def test_no_plant_has_another_level_in_it(plants: Any, ids: list[str], reference: Reference) -> None:
    for number, taxon_id in enumerate(ids):
        for company in Company:
            found = reference.assess(taxon_id, frozenset({Company.ADULTS, company}))
            assert level_in(plants, number, company) is found.level, (taxon_id, company)


def test_a_mixed_company_is_the_worst_of_its_members(ids: list[str], reference: Reference) -> None:
    """The page of the pack joins the levels of single companies, so the rules must do the same."""
    others = [company for company in Company if company is not Company.ADULTS]
    for taxon_id in ids[::7]:
        for group in (*combinations(others, 2), tuple(others)):
            single = [reference.assess(taxon_id, frozenset({Company.ADULTS, each})).level.rank for each in group]
            assert reference.assess(taxon_id, frozenset({Company.ADULTS, *group})).level.rank == max(single)


def test_the_list_to_gather_keeps_out_what_the_company_must_leave_out(pack: FieldPack, plants: Any) -> None:
    rows = block(pack, "here")["gather"]
    assert rows
    assert {level_in(plants, row[0], Company.CLASS) for row in rows} <= {Level.ORDINARY, Level.EXTRA}


def test_the_precautions_of_a_plant_are_those_of_the_library(plants: Any, ids: list[str], reference: Reference) -> None:
    number = ids.index("nerium-oleander")
    verdict = plants["verdicts"][plants["judged"][plants["judgement"][number]][0]]
    held = {(plants["steps"][step], text) for step, text in (plants["lines"][each] for each in verdict[3])}
    check = reference.check("Nerium oleander")
    assert held == {(step.value, text) for step, texts in check.precautions.items() for text in texts}
    assert [plants["reasons"][each][1] for each in verdict[2]] == list(dict.fromkeys(r.text for r in check.reasons))


def test_the_page_reaches_nothing_outside_itself(pack: FieldPack) -> None:
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]+)"', pack.html)
    assert policy
    for kind in ("script", "style"):
        own = re.findall(rf"<{kind}>(.*?)</{kind}>", pack.html, re.DOTALL)
        assert len(own) == 1
        digest = base64.b64encode(hashlib.sha256(own[0].encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in policy[1]
    assert policy[1].startswith("default-src 'none'")
    assert not re.search(r"\b(?:src|href)=\"(?!#)", pack.html)
    assert pack.html.count("<script") == pack.html.count("</script>") == 3
    script = "".join(path.read_text("utf-8") for path in FIELD.glob("*.js"))
    assert not re.search(r"\beval\b|innerHTML|new Function|fetch\(|XMLHttp|localStorage|cookie|import\(", script)


@pytest.mark.parametrize("path", sorted(FIELD.glob("*.js")), ids=lambda path: path.name)
def test_the_scripts_stay_small(path: Path) -> None:
    lines = path.read_text("utf-8").splitlines()
    assert len(lines) <= 400
    starts = [i for i, line in enumerate(lines) if re.match(r"(?:  )?(?:function )?\w+\(.*\) \{$", line)]
    for start in starts:
        indent = re.match(" *", lines[start])
        assert indent
        end = next(i for i in range(start, len(lines)) if lines[i] == indent[0] + "}")
        assert end - start < 40, f"{path.name}:{start + 1} has {end - start + 1} lines"
    assert starts


def test_text_in_the_data_cannot_end_its_block(database: Path, tmp_path: Path) -> None:
    copy = tmp_path / "odd.db"
    copy.write_bytes(database.read_bytes())
    connection = sqlite3.connect(copy)
    connection.execute("UPDATE guards SET means = '</script><script>alert(1)</script><!--' WHERE id = 1")
    connection.commit()
    connection.close()
    with Reference.open(copy) as opened:
        made = Packer(opened).pack("PT", "2026-05-09")
    assert made.html.count("<script") == 3
    assert block(made, "plants")["guards"][0][2] == "</script><script>alert(1)</script><!--"


# -- writing ---------------------------------------------------------------------------------------------------------

Run = Callable[..., Result]


@pytest.fixture
def run(database: Path) -> Run:
    return lambda *given: CliRunner().invoke(main, ["pack", *given, "--database", str(database)])


def test_the_command_writes_the_file(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "field.html"
    result = run("--near", "Europe/Lisbon", "--on", "2026-05-09", "--company", "class", "-o", str(path))
    assert result.exit_code == 0, result.output
    assert result.output.startswith(f"{path}: Europe/Lisbon, 2026-05-09, ")
    assert path.read_text("utf-8").startswith("<!doctype html>")
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("--near", "Nowhere/Land"), "is not a place"),
        (("--near", "99,9"), "latitude"),
        (("--near", ""), "no place is given"),
        (("--near", "PT", "--on", "2026-02-30"), "does not exist"),
        (("--near", "PT", "--on", "soon"), "ISO 8601"),
        (("--near", "PT", "-o", "missing/folder/field.html"), "cannot be written"),
    ],
)
def test_bad_input_gives_one_line(run: Run, given: tuple[str, ...], said: str) -> None:
    result = run(*given)
    assert result.exit_code == 1
    assert said in result.output
    assert result.output.count("\n") == 1
    assert "Traceback" not in result.output


@pytest.mark.parametrize("given", [(), ("--near", "PT", "--company", "crowd")])
def test_wrong_usage_is_told_apart_from_bad_input(run: Run, given: tuple[str, ...]) -> None:
    assert run(*given).exit_code == 2


def test_a_failed_writing_leaves_the_old_file(pack: FieldPack, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "field.html"
    path.write_text("old")

    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(RefusedInputError, match=r"field\.html: cannot be written: No space left"):
        write_pack(pack, path)
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]
