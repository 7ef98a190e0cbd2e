"""Two built files side by side: what differs is told, what does not is not; an older shape is read in part."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from folioproof.colorimetry import Lab
from folioproof.comparing import Expected, Held, PlantLevel, compare, compare_files, read_held
from folioproof.finding import RefusedInputError

IVY = "toxicodendron-radicans"
MAPLE = "acer-rubrum"
HELD = Held(
    version="old",
    names={MAPLE: "Acer rubrum", "acer-nigrum": "Acer nigrum"},
    levels={
        (MAPLE, "adults"): PlantLevel("extra care", "why"),
        ("acer-nigrum", "class"): PlantLevel("leave out", "why"),
    },
    columns={"hazards": ("basis", "route", "taxon_id")},
    claims={"hazards": [{"taxon_id": MAPLE, "basis": "published", "route": "eye"}]},
    estimates={(MAPLE, "leaf", "alum", "paper"): Expected(Lab(50, 0, 20), "olive", 2.0)},
)

Changing = Callable[..., Path]


@pytest.fixture
def changed(database: Path, tmp_path: Path) -> Changing:
    """Return a copy of the built file with some statements run on it."""

    def change(*statements: str) -> Path:
        path = tmp_path / f"{len(list(tmp_path.iterdir()))}.db"
        shutil.copy(database, path)
        with closing(sqlite3.connect(path)) as connection, connection:
            for statement in statements:
                connection.execute(statement)
        return path

    return change


def with_estimate(lab: Lab | None, strength: float) -> Held:
    return replace(HELD, estimates={(MAPLE, "leaf", "alum", "paper"): Expected(lab, "a name", strength)})


# -- pure --------------------------------------------------------------------------------------------------------------


def test_nothing_differs_from_itself() -> None:
    found = compare(HELD, HELD)
    assert (found.levels, found.new_plants, found.gone_plants, found.claims, found.estimates) == ((), (), (), (), ())


def test_a_level_that_rose_stands_before_one_that_fell() -> None:
    levels = {
        (MAPLE, "adults"): PlantLevel("leave out", "now"),
        ("acer-nigrum", "class"): PlantLevel("extra care", "now"),
    }
    first, second = compare(HELD, replace(HELD, levels=levels)).levels
    assert (first.taxon_id, first.old, first.new, first.reason, first.is_graver) == (
        MAPLE,
        "extra care",
        "leave out",
        "now",
        True,
    )
    assert second.taxon_id == "acer-nigrum" and not second.is_graver


def test_not_assessed_asks_for_more_care_than_ordinary_care_and_an_unknown_word_for_most() -> None:
    for old, new, graver in (
        ("ordinary care", "not assessed", True),
        ("not assessed", "extra care", False),
        ("leave out", "a word of tomorrow", True),
        ("a word of yesterday", "leave out", False),
    ):
        before = replace(HELD, levels={(MAPLE, "adults"): PlantLevel(old, "")})
        after = replace(HELD, levels={(MAPLE, "adults"): PlantLevel(new, "")})
        assert [each.is_graver for each in compare(before, after).levels] == [graver]


def test_plants_come_and_go() -> None:
    found = compare(HELD, replace(HELD, names={MAPLE: "Acer rubrum", "acer-x": "Acer x"}))
    assert found.new_plants == (("acer-x", "Acer x"),)
    assert found.gone_plants == (("acer-nigrum", "Acer nigrum"),)


def test_claims_are_counted_by_basis_twice_told_ones_too() -> None:
    claim = {"taxon_id": MAPLE, "basis": "published", "route": "eye"}
    after = replace(HELD, claims={"hazards": [claim, claim, {**claim, "basis": "memory"}]})
    counts = [(each.basis, each.added, each.removed) for each in compare(HELD, after).claims]
    assert counts == [("memory", 1, 0), ("published", 1, 0)]
    assert [(each.basis, each.added, each.removed) for each in compare(after, HELD).claims] == [
        ("memory", 0, 1),
        ("published", 0, 1),
    ]


def test_a_column_that_only_one_file_has_makes_no_difference() -> None:
    wider = replace(
        HELD,
        columns={"hazards": ("basis", "onset", "route", "taxon_id")},
        claims={"hazards": [{**HELD.claims["hazards"][0], "onset": "a day"}]},
    )
    assert compare(HELD, wider).claims == compare(wider, HELD).claims == ()


@pytest.mark.parametrize(
    ("lab", "strength", "moved"),
    [
        (Lab(50, 0, 20), 3.0, False),
        (Lab(50, 0, 20), 3.1, True),
        (Lab(54, 0, 20), 2.0, False),
        (Lab(60, 0, 20), 2.0, True),
        (None, 2.0, True),
    ],
)
def test_an_estimate_has_moved_beyond_five_of_colour_or_one_grade(
    lab: Lab | None, strength: float, moved: bool
) -> None:
    found = compare(HELD, with_estimate(lab, strength)).estimates
    assert bool(found) is moved
    if found and lab:
        assert found[0].apart is not None and found[0].new_strength == strength


def test_what_one_file_lacks_is_named_and_not_compared() -> None:
    bare = replace(HELD, columns={}, claims={}, estimates=None)
    found = compare(bare, HELD)
    assert found.claims == () and found.estimates == ()
    assert {"hazards", "estimates"} <= set(found.not_compared)


# -- files -------------------------------------------------------------------------------------------------------------


def test_a_built_file_does_not_differ_from_itself(database: Path) -> None:
    found = compare_files(database, database)
    assert (found.levels, found.new_plants, found.gone_plants, found.claims, found.estimates) == ((), (), (), (), ())
    assert found.not_compared == ()


def test_a_level_that_changed_is_told_with_reason_and_sources(database: Path, changed: Changing) -> None:
    old = changed(f"UPDATE levels SET level = 'ordinary care' WHERE taxon_id = '{IVY}' AND company = 'class'")
    (found,) = compare_files(old, database).levels
    assert (found.taxon_id, found.company, found.old, found.new) == (IVY, "class", "ordinary care", "leave out")
    assert found.is_graver and "urushiol" in found.reason and found.sources
    with closing(sqlite3.connect(database)) as connection:
        known = {row[0] for row in connection.execute("SELECT id FROM sources")}
    assert set(found.sources) <= known


def test_claims_and_estimates_of_built_files_are_compared(database: Path, changed: Changing) -> None:
    old = changed(
        "DELETE FROM hazards WHERE id IN (SELECT id FROM hazards WHERE basis = 'published' ORDER BY id LIMIT 3)",
        "UPDATE estimates SET strength = strength - 1.5 WHERE rowid = (SELECT min(rowid) FROM estimates)",
    )
    found = compare_files(old, database)
    assert [(each.table, each.basis, each.added, each.removed) for each in found.claims] == [
        ("hazards", "published", 3, 0)
    ]
    (moved,) = found.estimates
    assert moved.new_strength - moved.old_strength == pytest.approx(1.5)


def test_an_older_shape_is_read_as_far_as_it_goes(database: Path, changed: Changing) -> None:
    old = changed(
        "DROP TABLE estimates",
        "DROP TABLE dyes",
        "UPDATE build SET value = '1' WHERE key = 'schema_version'",
        f"UPDATE levels SET level = 'extra care' WHERE taxon_id = '{IVY}'",
    )
    found = compare_files(old, database)
    assert {each.company for each in found.levels} == {"adults", "class", "children", "animals"}
    assert set(found.not_compared) == {"dyes", "estimates"}
    back = compare_files(database, old)
    assert not any(each.is_graver for each in back.levels)
    assert all(each.sources == () for each in back.levels), "the rules cannot read the claims of another shape"


def test_a_file_that_is_not_ours_is_refused_in_one_line(database: Path, tmp_path: Path) -> None:
    garbage, foreign, half = tmp_path / "garbage.db", tmp_path / "foreign.db", tmp_path / "half.db"
    garbage.write_bytes(b"no database" * 99)
    with closing(sqlite3.connect(foreign)) as connection, connection:
        connection.execute("CREATE TABLE build (a)")
    half.write_bytes(database.read_bytes()[: 1 << 16])
    for path in (garbage, foreign, half, tmp_path / "none.db", tmp_path):
        with pytest.raises(RefusedInputError) as refused:
            read_held(path)
        assert str(path) in str(refused.value) and "\n" not in str(refused.value)
