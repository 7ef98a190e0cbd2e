"""The record of an outcome: strict, its template true and current, each rule on its own."""

from __future__ import annotations

from copy import deepcopy
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pycountry
import pytest
from hypothesis import given
from hypothesis import strategies as st

from folioproof.corpus import load, validate
from folioproof.corpus_files import data_root
from folioproof.filling import fill_result
from folioproof.outcome_record import OutcomeRecord, latest_day
from folioproof.outcome_rules import MAX_PHOTO_BYTES, Known, metals_in, photo_problem, problems, sameness
from folioproof.outcome_text import outcome_text, scalar, template_text
from folioproof.photo_file import tells_place
from folioproof.places import far_from_country, region_of_zone, region_problem
from folioproof.vocabulary import MaterialKind, Rank
from folioproof.yaml_reader import Document, read

KNOWN = Known(
    ranks={"acer-palmatum": Rank.SPECIES, "acer": Rank.GENUS, "sapindaceae": Rank.FAMILY},
    materials={
        "potash-alum": MaterialKind.MORDANT,
        "ferrous-sulfate": MaterialKind.DIP,
        "copper-sulfate": MaterialKind.DIP,
        "gallnut": MaterialKind.TANNIN,
        "ptfe-sheet": MaterialKind.BARRIER,
        "cotton-watercolour-paper": MaterialKind.SUBSTRATE,
        "silk-cloth": MaterialKind.SUBSTRATE,
    },
    colours=frozenset({"light olive brown"}),
    today=date(2026, 11, 25),
)


@pytest.fixture
def example() -> dict[str, Any]:
    """The template with its own examples, as a person would leave it who changed nothing."""
    document, findings = read(Path("x.yml"), template_text(filled=True).encode())
    assert document is not None and findings == []
    return document.data


def changed(example: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    data = deepcopy(example)
    for key, value in changes.items():
        *outer, last = key.split(".")
        place: Any = data
        for step in outer:
            place = place[int(step) if step.isdigit() else step]
        if value is None:
            del place[last]
        else:
            place[last] = value
    return data


def wrong(data: dict[str, Any]) -> set[str]:
    """Return the codes of everything that is wrong with the data, those of its form too."""
    record, findings = validate(Document(Path("x.yml"), data, ""), OutcomeRecord)
    return {found.code for found in findings} if record is None else {each.code for each in problems(record, KNOWN)}


def test_the_template_in_shared_is_current() -> None:
    root = Path(__file__).parent.parent / "shared"
    assert (root / "template.yml").read_text(encoding="utf-8") == template_text(), "run `folioproof lint --schema`"


def test_the_template_says_of_every_key_what_it_means_and_which_terms_it_takes() -> None:
    text = template_text()
    for model in (OutcomeRecord, *(f for f in _inner_models())):
        for key, field in model.model_fields.items():
            assert field.description
            assert any(line.strip().lstrip("#- ").startswith(f"{key}:") for line in text.splitlines()), key
    for term in ("hot press", "CC-BY-4.0", "colour name", "alum + iron", "unknown", "Darwin Core: eventDate"):
        assert term in text


def _inner_models() -> list[type]:
    from folioproof.outcome_record import LightTest, Mordant, Result, Review, Temperature

    return [LightTest, Mordant, Result, Review, Temperature]


def test_the_template_with_its_examples_is_a_good_record(example: dict[str, Any]) -> None:
    assert wrong(example) == set()


def test_a_blank_template_is_told_key_by_key_what_to_write(tmp_path: Path) -> None:
    folder = tmp_path / "outcomes" / "NZ-AUK" / "2026"
    folder.mkdir(parents=True)
    (folder / "mine.yml").write_text(template_text(), encoding="utf-8")
    (tmp_path / "template.yml").write_text(template_text(), encoding="utf-8")
    said = load(data_root() / "schema", tmp_path).findings
    needed = [key for key, field in OutcomeRecord.model_fields.items() if field.is_required() and key != "result"]
    assert sorted(found.field for found in said) == sorted(
        [*needed, "result.strength", "result.clarity", "result.colour_basis"]
    )
    assert {found.code for found in said} == {"Y005"}


def test_measure_fills_a_copy_of_the_template(tmp_path: Path) -> None:
    path = tmp_path / "mine.yml"
    path.write_text(template_text(), encoding="utf-8")
    fill_result(path, {"lab": (45.0, -3.0, 0.0), "lab_spread": 2.5, "colour_basis": "scan", "transferred": 0.9})
    document, _ = read(path)
    assert document is not None
    assert document.data["result"]["lab"] == [45.0, -3.0, 0.0]
    assert document.data["result"]["colour_basis"] == "scan"


def test_what_is_written_reads_back_as_the_same_record(example: dict[str, Any]) -> None:
    awkward = "NO: \"yes\" # 12:30 'x' \\ é 枫 - [a] {b}: *c &d"
    for note in (awkward, "no", "010", "1.50", "- a", "true", "~", "@x", "end ", "a: b", "x\ny"):
        record = OutcomeRecord.model_validate(changed(example, {"note": note, "name_as_given": "yes"}))
        document, findings = read(Path("x.yml"), outcome_text(record).encode())
        assert document is not None and findings == [], note
        assert OutcomeRecord.model_validate(document.data) == record


@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=60))
def test_any_text_at_all_is_written_so_that_it_reads_back(text: str) -> None:
    document, findings = read(Path("x.yml"), f"a: {scalar(text)}\n".encode())
    assert document is not None and findings == []
    assert document.data["a"] == text


@pytest.mark.parametrize("value", [0.1, 1e-07, 12.0, 1e6, -0.5, 45.25, 7])
def test_numbers_are_written_so_that_the_strict_reader_takes_them(value: float) -> None:
    document, findings = read(Path("x.yml"), f"a: {scalar(value)}\n".encode())
    assert document is not None and findings == []
    assert document.data["a"] == value


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        ({"taxon": "acer", "id": "nz-auk-2026-04-10-acer-mira-2"}, set()),
        ({"taxon": "acer-rubra"}, {"O251", "O253"}),
        ({"taxon": "sapindaceae"}, {"O251", "O253"}),
        ({"region": "NZ-AKL"}, {"O252", "O253"}),
        ({"region": "NZ"}, {"O252", "O253"}),
        ({"region": "XX-1", "coordinates": None}, {"O252", "O253"}),
        ({"id": "nz-auk-2026-04-10-acer-palmatum-mira-0"}, {"O253"}),
        ({"date": "2026-02-30"}, {"O254"}),
        ({"date": "10/04/2026"}, {"O254"}),
        ({"date": 20260410}, {"O254"}),
        ({"date": "2026-12-01"}, {"O254", "O253"}),
        ({"date": "1989-12-31"}, {"O254", "O253"}),
        ({"review.on": "2026-04-09"}, {"O254"}),
        ({"review.note": None}, {"R102"}),
        ({"temperature": 95}, {"O255"}),
        ({"temperature": "95 C"}, {"O255"}),
        ({"temperature.unit": None}, {"O255"}),
        ({"temperature.unit": "K"}, {"R103"}),
        ({"temperature.value": 201}, {"O255"}),
        ({"temperature": {"value": 392, "unit": "F"}}, set()),
        ({"temperature": {"value": 31, "unit": "F"}}, {"O255"}),
        ({"temperature": None}, set()),
        ({"mordants.0.material": "alum-from-the-shop"}, {"O256"}),
        ({"mordants.0.material": "unknown"}, set()),
        ({"mordants.0.material": "ptfe-sheet"}, {"O256", "O257"}),
        ({"mordants.0.unit": None}, {"O256"}),
        ({"mordants.0.strength": "unknown", "mordants.0.unit": None}, set()),
        ({"mordants.0.strength": "a spoon"}, {"O256"}),
        ({"mordants.0.strength": 0}, {"O256"}),
        ({"mordants.0.unit": "spoons"}, {"R103"}),
        ({"substrate": "silk-cloth"}, {"O256"}),
        ({"substrate": "gallnut"}, {"O256"}),
        ({"treatment": "iron"}, {"O257"}),
        ({"treatment": "none"}, {"O257"}),
        ({"treatment": "alum + iron"}, {"O257"}),
        ({"treatment": "other", "note": None}, {"O257"}),
        ({"treatment": "unstated"}, {"R103"}),
        ({"mordants.0.material": "copper-sulfate"}, {"O257"}),
        ({"mordants.0.material": "copper-sulfate", "treatment": "other"}, set()),
        ({"mordants.0.material": "ferrous-sulfate", "treatment": "iron"}, set()),
        ({"mordants.0.material": "gallnut", "treatment": "none"}, set()),
        ({"mordants": None}, {"O257"}),
        ({"mordants": None, "treatment": "none"}, set()),
        ({"result.colour_basis": "instrument", "result.lab": None}, {"O258"}),
        ({"result.colour_basis": "none"}, {"O258"}),
        ({"result.strength": "none"}, {"O258"}),
        ({"result.lab": [101, 0, 0]}, {"O258"}),
        ({"result.colour_name": "khaki-ish"}, {"O258"}),
        ({"result.hex": "8a7a4e"}, {"R104"}),
        ({"result.transferred": 1.2}, {"R104"}),
        ({"result.clarity": "sharp"}, {"R103"}),
        ({"result.clarity": "unknown", "stage": "unknown", "side": "unknown"}, set()),
        ({"state": "any"}, {"R103"}),
        ({"part": "all"}, {"R103"}),
        ({"coordinates": [-36.85, 174.8]}, {"O259"}),
        ({"coordinates": [36.8, 174.8]}, {"O259"}),
        ({"coordinates": [174.8, -36.8]}, {"O259"}),
        ({"coordinates": [-36, 174]}, set()),
        ({"consent": False}, {"O261"}),
        ({"consent": "yes"}, {"R104"}),
        ({"lightfastness.grade": 9}, {"O266"}),
        ({"lightfastness.grade": 4}, set()),
        ({"contributor": "Mira Example"}, {"R104"}),
        ({"licence": "all rights reserved"}, {"R103"}),
        ({"colour": "red"}, {"R101"}),
        ({"reaction": None}, {"R102"}),
    ],
)
def test_each_rule_by_itself(example: dict[str, Any], changes: dict[str, Any], codes: set[str]) -> None:
    assert wrong(changed(example, changes)) == codes


def test_an_impossible_date_is_said_with_the_days_there_are(example: dict[str, Any]) -> None:
    data = changed(example, {"date": "2026-02-30"})
    (found,) = validate(Document(Path("x.yml"), data, ""), OutcomeRecord)[1]
    assert str(found) == "x.yml:1: O254 date: 2026-02-30 does not exist. Write a day from 01 to 28 for 2026-02."


def test_no_day_that_has_begun_anywhere_is_in_the_future() -> None:
    assert timedelta(0) <= latest_day() - date.today() <= timedelta(1)


def test_a_reaction_raises_the_flag_and_only_a_dated_note_clears_it(example: dict[str, Any]) -> None:
    def flagged(changes: dict[str, Any]) -> bool:
        return OutcomeRecord.model_validate(changed(example, changes)).is_flagged

    assert not flagged({"review": None})
    assert flagged({"review": None, "reaction": "skin"})
    assert not flagged({"reaction": "skin"})
    assert flagged({"review.flag": "raised"})


def test_a_photo_is_asked_for_its_size_and_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with (tmp_path / "huge.png").open("wb") as stream:
        stream.truncate(2_000_000_000)
    (tmp_path / "good.jpg").write_bytes(b"x")
    (tmp_path / "page.svg").write_bytes(b"x")
    (tmp_path / "inside").mkdir()
    (tmp_path / "inside" / "link.png").symlink_to(tmp_path / "good.jpg")
    assert photo_problem(tmp_path, "good.jpg") is None
    monkeypatch.setattr(Path, "read_bytes", lambda _: pytest.fail("the photo was read"))
    for folder, photo, said in (
        (tmp_path, "huge.png", f"has 2000 MB; the limit is {MAX_PHOTO_BYTES // 10**6} MB"),
        (tmp_path, "../good.jpg", "is outside the folder"),
        (tmp_path, str(tmp_path / "good.jpg"), "is outside the folder"),
        (tmp_path / "inside", "link.png", "is outside the folder"),
        (tmp_path, "page.svg", "is no photo"),
        (tmp_path, "none.jpg", "there is no file"),
        (tmp_path, "inside", "is no photo"),
        (tmp_path, "a" * 119 + ".jpg" * 60, "there is no file"),
    ):
        found = photo_problem(folder, photo)
        assert found is not None and said in " ".join(found), photo


def test_a_photo_that_tells_its_place_is_refused(tmp_path: Path) -> None:
    image = pytest.importorskip("PIL.Image")
    for ending in ("jpg", "png", "webp", "tif"):
        for place in (False, True):
            picture, exif = image.new("RGB", (8, 8)), image.Exif()
            exif[0x010F] = "a maker"
            if place:
                exif.get_ifd(0x8825).update({1: "S", 2: (36.0, 50.0, 54.6), 3: "E", 4: (174.0, 45.0, 47.9)})
            if ending == "tif":  # Exif is a TIFF; the library leaves the place out when it writes one itself
                (tmp_path / "a.tif").write_bytes(exif.tobytes().removeprefix(b"Exif\0\0"))
            else:
                picture.save(tmp_path / f"a.{ending}", exif=exif)
            found = photo_problem(tmp_path, f"a.{ending}")
            assert (found is not None) == place, ending
    (tmp_path / "b.jpg").write_bytes(b"<x:xmpmeta exif:GPSLatitude='36,50.9S'/>")
    assert photo_problem(tmp_path, "b.jpg") == (
        "b.jpg tells the very place where it was taken", "Save it without its location data",
    )  # fmt: skip


@pytest.mark.parametrize(
    "content", [b"", b"Exif\0\0", b"Exif\0\0II*\0", b"II*\0\xff\xff\xff\xff", b"MM\0*" + b"\0" * 3]
)
def test_a_spoilt_photo_tells_no_place_and_breaks_nothing(content: bytes) -> None:
    assert not tells_place(content)


def test_two_prints_may_differ_in_their_side_or_note_and_not_in_their_number(example: dict[str, Any]) -> None:
    def same(changes: dict[str, Any]) -> tuple[object, ...]:
        return sameness(OutcomeRecord.model_validate(changed(example, changes)))

    assert same({}) == same({"id": "nz-auk-2026-04-10-acer-palmatum-mira-2", "result.photo": None})
    assert same({}) != same({"side": "upper"})
    assert same({}) != same({"note": "The second sheet."})


def test_every_metal_salt_of_the_records_is_told_apart_by_its_id() -> None:
    materials = {entry.record.id: entry.record.kind for entry in load(data_root() / "materials" / "..").materials}
    alum = {each for each in materials if metals_in([each])[0]}
    iron = {each for each in materials if metals_in([each])[1]}
    assert iron == {"ferrous-sulfate", "iron-acetate", "iron-blanket"}
    assert alum == {each for each, kind in materials.items() if kind is MaterialKind.MORDANT}


def test_every_region_and_every_country_without_regions_is_taken() -> None:
    codes = {each.code for each in pycountry.subdivisions}
    with_regions = {code[:2] for code in codes}
    assert all(region_problem(code) is None for code in sorted(codes)[::50])
    for country in pycountry.countries:
        assert (region_problem(country.alpha_2) is None) == (country.alpha_2 not in with_regions)


def test_the_corners_of_wide_countries_are_in_them_and_wrong_signs_are_not() -> None:
    for place in ((8.1, 77.5, "IN"), (35.5, 76.5, "IN"), (22.8, 5.5, "DZ"), (21.1, 101.6, "CN"), (-25.3, 131.0, "AU")):
        assert far_from_country(*place) is None, place
    for place in ((-8.1, 77.5, "NZ"), (-9.1, 38.7, "PT"), (36.8, 174.8, "NZ"), (51.5, 100.0, "GB")):
        assert far_from_country(*place) is not None, place


@pytest.mark.parametrize(
    ("zone", "region"),
    [("Europe/Vienna", None), ("Europe/Berlin", "DE-BE"), ("Asia/Hong_Kong", "HK"), ("Etc/UTC", None), ("no", None)],
)
def test_a_time_zone_names_a_region_only_when_its_city_is_one(zone: str, region: str | None) -> None:
    assert region_of_zone(zone) == region
