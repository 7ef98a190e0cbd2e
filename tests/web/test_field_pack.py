"""The field pack: its page and download, and the pack itself in a real browser, from a file, with the network off."""

from __future__ import annotations

import random
import sys
import unicodedata
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest

import folioproof
from folioproof import Reference
from folioproof.pack import Packer, write_pack
from folioproof.serving import make_datasette
from folioproof.store import Shelf
from folioproof.text import normalise, sound_key
from folioproof.vocabulary import Company, GuardKind, Level, NameKind, Status
from folioproof.web.render import GRADE_WORDS, STATUS_WORDS

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
from typos import misspell

SEED = 20261125
MADE = date(2026, 5, 2)
BATCH = 4000


# -- the page that offers it -------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def client(database: Path) -> Any:
    return make_datasette(database).client


async def test_the_form_offers_what_it_was_asked_for(client: Any) -> None:
    empty = await client.get("/field-pack")
    assert empty.status_code == 200
    assert "field-pack.html" not in empty.text
    asked = await client.get("/field-pack?near=Europe/Lisbon&on=2026-05-09&company=class")
    assert asked.status_code == 200
    assert "/field-pack.html?near=Europe%2FLisbon&amp;on=2026-05-09&amp;company=class" in asked.text


async def test_the_list_to_gather_leads_to_it(client: Any) -> None:
    found = await client.get("/gather?near=Europe/Lisbon&on=2026-05-09&company=class")
    assert "/field-pack?near=Europe%2FLisbon&amp;on=2026-05-09" in found.text


async def test_the_download_is_a_file_with_a_name(client: Any) -> None:
    found: httpx.Response = await client.get("/field-pack.html?near=Europe/Lisbon&on=2026-05-09&company=class")
    assert found.status_code == 200
    name = "field-pack-europe-lisbon-2026-05-09.html"
    assert found.headers["content-disposition"] == f'attachment; filename="{name}"'
    assert found.headers["content-type"].startswith("text/html")
    assert found.text.startswith("<!doctype html>")
    assert '"company":[0,1]' in found.text


@pytest.mark.parametrize("path", ["/field-pack", "/field-pack.html"])
@pytest.mark.parametrize(
    "query",
    [
        "near=%3Cscript%3Ealert(1)%3C/script%3E",
        "near=PT&on=2026-02-30",
        "near=PT&on=%22%3E%3Cb%3E",
        "near=PT&on=9999-99-99",
        "on=soon",
        "near=PT&near=ES",
        "near=PT&company=crowd",
        "near=" + "9" * 5000,
        "near=%00%E2%80%AE",
        "near=-91,0",
    ],
)
async def test_hostile_parameters_get_a_helpful_page(client: Any, path: str, query: str) -> None:
    found = await client.get(f"{path}?{query}")
    assert found.status_code == 400
    assert "That cannot be asked this way" in found.text
    assert (
        "<script>alert" not in found.text and "<b>" not in found.text.partition("<main")[2].partition("</h1>")[2][:200]
    )
    assert "content-disposition" not in found.headers


async def test_a_download_without_a_place_is_refused(client: Any) -> None:
    found = await client.get("/field-pack.html")
    assert found.status_code == 400
    assert "write a place" in found.text


def test_its_words_are_those_of_the_pages() -> None:
    script = (Path(folioproof.__file__).parent / "field" / "page.js").read_text("utf-8")
    for status, words in STATUS_WORDS.items():
        assert f'{status}: "{words}"' in script
    assert ", ".join(f'"{words}"' for words in GRADE_WORDS.values()) in script


# -- the pack in a browser ---------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def packer(reference: Reference) -> Packer:
    return Packer(reference)


@pytest.fixture(scope="module")
def file(packer: Packer, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("pack") / "field.html"
    write_pack(packer.pack("Europe/London", "2026-05-09", made=MADE), path)
    return path


class Field:
    """A pack that is open on a phone with the network off, some days after it was made."""

    def __init__(self, browser: Any, file: Path, days: int = 3, width: int = 390, scheme: str = "light") -> None:
        self.context = browser.new_context(viewport={"width": width, "height": 844}, color_scheme=scheme)
        self.context.set_offline(True)
        self.page = self.context.new_page()
        self.complaints: list[str] = []
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", self._requested)
        noon = datetime(MADE.year, MADE.month, MADE.day, 12)
        self.page.clock.set_fixed_time(noon + timedelta(days=days))
        self.page.goto(file.as_uri())
        self.page.wait_for_selector("#gather-list li")

    def _requested(self, request: Any) -> None:
        if not request.url.startswith("file:"):
            self.complaints.append(f"asked for {request.url}")

    def ask(self, text: str) -> str:
        self.page.fill("#q", text)
        self.page.press("#q", "Enter")
        return str(self.page.inner_text("#answer"))

    def close(self) -> None:
        assert self.complaints == []
        self.context.close()


@pytest.fixture
def field(browser: Any, file: Path) -> Iterator[Field]:
    opened = Field(browser, file)
    yield opened
    opened.close()


@pytest.mark.browser
def test_asking_by_typo_and_by_homonym_with_the_network_off(field: Field) -> None:
    exact = field.ask("Nerium oleander")
    assert not field.page.is_visible("#waiting")
    assert "Leave out" in exact and "it means one plant" in exact
    typo = field.ask("neruim oleandr")
    assert "Leave out" in typo and "Nerium oleander" in typo and "Confirm which plant you hold" in typo
    homonym = field.ask("hemlock")
    assert "Conium maculatum" in homonym and "Tsuga canadensis" in homonym
    assert homonym.index("Conium maculatum") < homonym.index("Tsuga canadensis")
    assert "more than one plant" in homonym
    nonsense = field.ask("xqzwklerty")
    assert "Not assessed" in nonsense and "No record has this name" in nonsense
    assert "Not assessed. No record" in field.page.inner_text("#spoken")


@pytest.mark.browser
def test_a_plant_shows_colours_season_and_steps(field: Field) -> None:
    text = field.ask("Acer palmatum")
    assert "Ordinary care" in text
    assert "With alum: " in text and "With iron: " in text and "give or take" in text
    assert "Season at Europe/London" in text and "of its best" in text
    for step in ("Pick", "Lay", "Heat", "Lift", "Discard"):
        assert step in text
    assert field.page.locator("#answer .blot").count() == 2


@pytest.mark.browser
def test_look_alikes_come_before_the_colours(field: Field) -> None:
    usable = "(t) => PLANTS.colours[0][t] && lookUp(names(), scientific(t), [0]).status === 'exact'"
    usable += " && lookUp(names(), scientific(t), [0]).level < NOT_ASSESSED"
    name = field.page.evaluate(f"scientific(Number(Object.keys(PLANTS.mistaken).find({usable})))")
    text = field.ask(name)
    assert text.index("Identify first") < text.index("On paper")


@pytest.mark.browser
def test_company_raises_the_level_and_shortens_the_list(field: Field) -> None:
    before = field.page.locator("#gather-list li").count()
    assert "Extra care" in field.ask("castor bean")
    field.page.check("#company input[value='2']")
    assert field.page.inner_text("#answer .word") == "Leave out"
    assert field.page.locator("#gather-list li").count() < before
    assert field.page.locator("#gather-list .level-out, #gather-list .level-unknown").count() == 0


@pytest.mark.browser
def test_by_keyboard_alone_from_the_list_to_an_answer(field: Field) -> None:
    field.page.focus("#gather-list button >> nth=0")
    name = field.page.inner_text("#gather-list button >> nth=0")
    field.page.keyboard.press("Enter")
    assert field.page.evaluate("document.activeElement.id") == "answer"
    assert field.page.inner_text("#answer .asked-for") == name
    assert field.page.inner_text("#spoken") != ""


@pytest.mark.browser
def test_ticking_a_box_answers_what_was_asked_not_what_is_being_typed(field: Field) -> None:
    field.ask("castor bean")
    field.page.fill("#q", "Acer palm")
    field.page.check("#company input[value='1']")
    assert field.page.inner_text("#answer .asked-for") == "castor bean"


@pytest.mark.browser
def test_where_the_script_cannot_run_the_page_says_to_leave_every_plant_out(browser: Any, file: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(file.as_uri())
    assert "leave every plant out" in page.inner_text("#waiting")
    context.close()


@pytest.mark.browser
@pytest.mark.parametrize(("days", "stale"), [(0, False), (90, False), (91, True), (400, True), (-5, True)])
def test_it_goes_out_of_date_in_plain_sight(browser: Any, file: Path, days: int, stale: bool) -> None:
    field = Field(browser, file, days)
    assert field.page.is_visible("#age") is stale
    text = field.ask("Acer palmatum")
    assert ("Out of date: check again" in text) is stale
    marks = field.page.locator("#gather-list .level").all_inner_texts()
    assert marks and all(("out of date: check again" in mark) is stale for mark in marks)
    assert ("Out of date" in field.page.inner_text("#spoken")) is stale
    if days > 0 and stale:
        assert f"{days} days ago" in field.page.inner_text("#age")
    field.close()


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 390, 768, 1280])
def test_nothing_is_wider_than_the_screen(browser: Any, file: Path, width: int, scheme: str) -> None:
    field = Field(browser, file, 100, width, scheme)
    for name in ("hemlock", "Acer palmatum", "w" * 200):
        field.ask(name)
        assert field.page.evaluate("document.documentElement.scrollWidth") <= width, name
    field.close()


# -- the same answers as Python ----------------------------------------------------------------------------------------

ANSWERS = """([texts, group]) => texts.map((text) => {
  const found = lookUp(names(), text, group);
  return [found.status, found.level, found.candidates.map((c) => c.taxon), found.candidates.map((c) => c.level),
    found.actingOn === undefined ? -1 : found.actingOn];
})"""


class Compared:
    """Asks the pack and Python the same."""

    def __init__(self, field: Field, reference: Reference, shelf: Shelf) -> None:
        self.field, self.reference = field, reference
        self.ids = [row[0] for row in shelf.rows("SELECT id FROM taxa ORDER BY id")]
        self.names = list(dict.fromkeys(row[0] for row in shelf.rows("SELECT name FROM names ORDER BY id")))
        self.shelf = shelf

    def differences(self, texts: list[str], *company: Company) -> list[tuple[Any, ...]]:
        """Return the texts whose status, level, candidates with their levels, or plant to act on differ."""
        group = [0, *(list(Company).index(each) for each in company)]
        found = []
        for start in range(0, len(texts), BATCH):
            batch = texts[start : start + BATCH]
            for text, theirs in zip(batch, self.field.page.evaluate(ANSWERS, [batch, group]), strict=True):
                check = self.reference.check(text, company=company)
                ours = [
                    check.status.value,
                    check.level.rank,
                    [each.id for each in check.candidates],
                    [each.level.rank for each in check.candidates],
                    check.acting_on,
                ]
                theirs[2] = [self.ids[each] for each in theirs[2]]
                theirs[4] = self.ids[theirs[4]] if theirs[4] >= 0 else None
                if ours != theirs:
                    found.append((text, ours, theirs))
        return found


@pytest.fixture(scope="module")
def compared(browser: Any, file: Path, reference: Reference, database: Path) -> Iterator[Compared]:
    field, shelf = Field(browser, file), Shelf(database)
    yield Compared(field, reference, shelf)
    shelf.close()
    field.close()


@pytest.mark.browser
def test_every_published_name_has_the_same_answer(compared: Compared) -> None:
    assert len(compared.names) > 25_000
    assert compared.differences(compared.names) == []


@pytest.mark.browser
@pytest.mark.parametrize("company", [(), (Company.CLASS,), (Company.CHILDREN, Company.ANIMALS)])
def test_every_shared_guarded_or_misleading_name_has_the_same_answer(
    compared: Compared, company: tuple[Company, ...]
) -> None:
    sql = (
        "SELECT DISTINCT word FROM homonyms",
        "SELECT DISTINCT word FROM guards",
        "SELECT DISTINCT name FROM names WHERE shared",
        "SELECT DISTINCT name FROM confusable_names WHERE edits <= 1",
        "SELECT folded FROM names GROUP BY folded HAVING count(DISTINCT taxon_id) > 1",
    )
    words = [row[0] for each in sql for row in compared.shelf.rows(each)]
    assert len(words) > 1_000
    assert compared.differences(words, *company) == []


@pytest.mark.browser
def test_misspellings_have_the_same_answer(compared: Compared) -> None:
    rng = random.Random(SEED)
    slips = [misspell(name.lower(), rng) for name in rng.sample(compared.names, 2000)]
    assert compared.differences(slips, Company.CLASS) == []


@pytest.mark.browser
def test_names_of_dangerous_plants_that_are_misspelt_are_no_safer(compared: Compared) -> None:
    sql = """SELECT name FROM names JOIN levels USING (taxon_id)
        WHERE company = 'adults' AND own_level = 'leave out' ORDER BY names.id"""
    rng = random.Random(SEED + 1)
    slips = [misspell(row[0].lower(), rng) for row in compared.shelf.rows(sql)]
    assert len(slips) > 500
    assert compared.differences(slips) == []


READINGS = [
    "", " ", "x", "ab", "A. rubrum", "a. rubrum", "N. oleander", "maple, red", "laurel, cherry", "oak leaf",
    "ivy leaves", "Quercus spp.", "Rhus sp.", "Quercus nonexistens", "Acer rubrum L.", "Acer rubrum Smith",
    "Acer rubrum 'October Glory'", "Prunus laurocerasus ‘Otto Luyken’", "Citrus × limon", "CITRUS X LIMON",
    "coniummaculatm", "neriumoleandr", "black berry", "Hydrangea macrophylla subsp. serrata", "poison ash",
    "poison dogwood", "mad apple", "deadly something", "Ginkgo bilóba", "Œnanthe crocata", "weiße Nieswurz", "イチョウ",
    "ｲﾁｮｳ", "银杏", "Rosaceae", "Anacardiaceae", "Toxicodendron", "Rhus", "constructor", "__proto__", "toString", "🍁",
    "a" * 200, "a" * 201, "’'`´", "<b>oak</b>", "oak\u200b", "oak\u0085leaf", "oak\x1cleaf", "oak\ufeffleaf",
    "Acer rubrum\ufeff L.", "Acer rubrum\r\nL.", "Acer rubrum\u2028L.", "A. rubrım", "oak\tleaveſ",
]  # fmt: skip


@pytest.mark.browser
def test_every_way_to_write_a_name_has_the_same_answer(compared: Compared) -> None:
    assert compared.differences(READINGS) == []
    assert {compared.reference.find(text).status for text in READINGS} == set(Status)


@pytest.mark.browser
def test_letters_are_folded_alike(compared: Compared) -> None:
    """Every letter that both sides know; Cherokee folds to capitals in Python, and no name is written in it."""
    known = (chr(code) for code in range(0x20, 0x30000) if unicodedata.category(chr(code)) not in ("Cn", "Cs"))
    letters = [each for each in known if "CHEROKEE" not in unicodedata.name(each, "")]
    theirs = compared.field.page.evaluate("(all) => all.map((each) => normalise(asPython(`a${each}b c`)))", letters)
    assert [each for each, folded in zip(letters, theirs, strict=True) if folded != normalise(f"a{each}b c")] == []
    sounds = compared.field.page.evaluate("(all) => all.map((each) => soundKey(normalise(each)))", compared.names)
    assert sounds == [sound_key(normalise(name)) for name in compared.names]


def test_the_vocabularies_the_scripts_know_are_complete() -> None:
    assert [level.rank for level in Level] == [0, 1, 2, 3]
    assert list(Company) == [Company.ADULTS, Company.CLASS, Company.CHILDREN, Company.ANIMALS]
    assert len(NameKind) == 5 and len(GuardKind) == 2
