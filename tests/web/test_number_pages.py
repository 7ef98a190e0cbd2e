"""The pages of numbers and changes: each number is that of the rows it leads to, and what a page says of itself."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

from folioproof.corpus import load
from folioproof.corpus_files import data_root
from folioproof.estimates import LayerKind
from folioproof.reading import Reading
from folioproof.serving import make_datasette
from folioproof.tallies import Number, Tally
from folioproof.vocabulary import Company


@pytest.fixture(scope="module")
def pages(database: Path) -> Any:
    return make_datasette(database).client


@pytest.fixture(scope="module")
def tally(database: Path) -> Tally:
    reading = Reading(database)
    found = reading.tally()
    assert reading.tally() is found, "a file never changes, so it is counted once"
    reading.close()
    return found


@pytest.fixture(scope="module")
def rows(database: Path) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(database)) as connection:
        yield connection


async def text_of(pages: Any, path: str) -> str:
    response = await pages.get(path)
    assert response.status_code == 200, path
    return str(response.text)


async def shown(pages: Any, address: str) -> int:
    """Return how many rows Datasette counts at an address of rows."""
    path, _, query = address.partition("?")
    answer = await pages.get(f"{path}.json?{query}&_size=0&_nofacet=1")
    assert answer.status_code == 200, address
    return int(answer.json()["filtered_table_rows_count"])


def numbers_of(tally: Tally) -> list[Number]:
    return [*tally.layers, *tally.coverage, *tally.missing]


# -- numbers -----------------------------------------------------------------------------------------------------------


async def test_each_number_is_that_of_the_rows_it_leads_to(pages: Any, tally: Tally) -> None:
    text = unescape(await text_of(pages, "/numbers"))
    for each in numbers_of(tally):
        address = f"/reference/{each.table}" + (f"?{urlencode(each.where)}" if each.where else "")
        assert f'href="{address}"' in text, each.label
        assert await shown(pages, address) == each.count, each.label
        assert each.of is None or each.count <= each.of, each.label


async def test_each_linked_count_of_claims_and_levels_is_that_of_its_rows(pages: Any) -> None:
    text = await text_of(pages, "/numbers")
    cells = re.findall(r'<td class="n"[^>]*><a href="([^"]+)">([\d,]+)</a></td>', text)
    assert len(cells) > 30
    for address, count in cells:
        assert await shown(pages, unescape(address)) == int(count.replace(",", "")), address


def test_what_is_covered_and_what_is_missing_add_up(tally: Tally, rows: sqlite3.Connection) -> None:
    counts = {each.label: each.count for each in numbers_of(tally)}
    (plants,) = rows.execute("SELECT count(*) FROM taxa WHERE rank NOT IN ('family', 'genus')").fetchone()
    assert counts["plants with a level"] + counts["plants that nobody has assessed"] == plants
    assert counts["plants whose print is spoken of"] + counts["plants of whose print nothing is known"] == plants
    (estimates,) = rows.execute("SELECT count(*) FROM estimates").fetchone()
    assert sum(each.count for each in tally.layers) == estimates
    assert [each.label for each in tally.layers] == [*(kind.value for kind in LayerKind), "nothing"]
    paper, seen, in_print = (counts[f"plants whose contact print {what}"] for what in (
        "on paper somebody reports", "somebody reports", "a publication reports"))  # fmt: skip
    assert max(paper, in_print) <= seen <= counts["plants with a published or a maker’s colour"]


def test_every_claim_is_counted_once_by_basis(tally: Tally, rows: sqlite3.Connection) -> None:
    for row in tally.claims:
        only = "AND kind <> 'accepted'" if row["in_table"] == "names" else ""
        sql = f"SELECT count(*) FROM {row['in_table']} WHERE basis = ? {only}"
        assert rows.execute(sql, (row["basis"],)).fetchone()[0] == row["claims"], row


def test_every_citation_is_counted_once_by_source(rows: sqlite3.Connection) -> None:
    tables = [row[0] for row in rows.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    columns = {
        (table, column[1])
        for table in tables
        for column in rows.execute(f'PRAGMA table_info("{table}")').fetchall()
        if column[1].endswith("source_id")
    }
    cited = sum(rows.execute(f'SELECT count("{column}") FROM "{table}"').fetchone()[0] for table, column in columns)
    (counted,) = rows.execute("SELECT sum(claims) FROM claims_by_source").fetchone()
    assert counted == cited
    parts = "hazards + all_clears + names + dyes + colours + other"
    assert rows.execute(f"SELECT count(*) FROM claims_by_source WHERE claims > 0 AND claims <> {parts}").fetchone() == (
        0,
    )
    assert (
        rows.execute("SELECT count(*) FROM claims_by_source").fetchone()
        == rows.execute("SELECT count(*) FROM sources").fetchone()
    )


def test_levels_are_of_plants_only_and_in_each_company(tally: Tally, rows: sqlite3.Connection) -> None:
    (plants,) = rows.execute("SELECT count(*) FROM taxa WHERE rank NOT IN ('family', 'genus')").fetchone()
    assert [row["company"] for row in tally.levels] == [each.value for each in Company]
    for row in tally.levels:
        assert sum(value for key, value in row.items() if key != "company") == plants


@pytest.mark.parametrize(
    ("count", "of", "said"),
    [(0, 9, "0 %"), (1, 1000, "under 1 %"), (999, 1000, "over 99 %"), (9, 9, "100 %"), (1, 3, "33 %"), (0, 0, None)],
)
def test_a_share_never_rounds_a_few_to_none_or_most_to_all(count: int, of: int, said: str | None) -> None:
    assert Number("a", count, of, "b", "taxa").percent == said


async def test_the_numbers_are_there_as_json(pages: Any, tally: Tally) -> None:
    plain = json.loads(await text_of(pages, "/numbers.json"))
    assert [each["count"] for each in plain["missing"]] == [each.count for each in tally.missing]
    assert len(plain["top_sources"]) == 20 and plain["levels"] == tally.levels
    assert {each["label"] for each in plain["days"]} >= {"searches of the lists"}


# -- changes -----------------------------------------------------------------------------------------------------------


async def test_changes_stand_as_they_are_written_newest_first(pages: Any) -> None:
    (entry,) = load(data_root()).changes
    text = unescape(await text_of(pages, "/changes"))
    places = [text.index(change.what) for change in entry.record.changes]
    assert places == sorted(places) and len(places) >= 10
    for change in entry.record.changes:
        for plant in change.plants:
            assert f'href="/plant/{plant}"' in text
            assert (await pages.get(f"/plant/{plant}")).status_code == 200
    plain = json.loads(await text_of(pages, "/changes.json"))["changes"]
    assert [each["what"] for each in plain] == [change.what for change in entry.record.changes]


@pytest.mark.parametrize("path", ["/how", "/how-colours", "/"])
async def test_other_pages_lead_to_both(pages: Any, path: str) -> None:
    text = await text_of(pages, path)
    assert 'href="/numbers"' in text and 'href="/changes"' in text


@pytest.mark.parametrize("path", ["/numbers", "/changes"])
async def test_pages_are_small_and_hold_nothing_inline(pages: Any, path: str) -> None:
    text = await text_of(pages, path)
    assert len(text) < 100_000
    assert not re.search(r"<script>|<style| style=| on[a-z]+=", text)
    assert (await pages.get(f"{path}?x=<script>")).status_code == 200


# -- what a page says of itself ----------------------------------------------------------------------------------------


def said_of(text: str) -> Any:
    (block,) = re.findall(r'<script type="application/ld\+json">(.*?)</script>', text, re.DOTALL)
    assert "<" not in block
    return json.loads(block)


def shared(text: str) -> dict[str, str]:
    found = re.findall(r'<meta property="og:(\w+)" content="([^"]*)">', text)
    assert len(found) == len(dict(found)) == 4
    return {key: unescape(value) for key, value in found}


async def test_a_plant_says_what_it_is_and_not_what_it_is_wrongly_called(pages: Any, rows: sqlite3.Connection) -> None:
    sql = (
        "SELECT taxon_id, name FROM names WHERE kind IN ('misapplied', 'misspelling') OR shared ORDER BY name LIMIT 20"
    )
    for taxon_id, wrong in rows.execute(sql).fetchall():
        said = said_of(await text_of(pages, f"/plant/{taxon_id}"))
        right = rows.execute(
            "SELECT count(*) FROM names WHERE taxon_id = ? AND name = ?"
            " AND kind IN ('synonym', 'vernacular') AND NOT shared",
            (taxon_id, wrong),
        ).fetchone()[0]
        assert right or wrong not in said.get("alternateName", [])
    said = said_of(await text_of(pages, "/plant/acer-rubrum"))
    assert said["@context"] == "https://schema.org" and said["@type"] == "Taxon"
    assert (said["name"], said["taxonRank"], said["url"]) == ("Acer rubrum", "species", "/plant/acer-rubrum")
    assert said["parentTaxon"] == {"@type": "Taxon", "name": "Acer", "taxonRank": "genus", "url": "/plant/acer"}
    assert "red maple" in [name.lower() for name in said["alternateName"]]
    assert not re.search(r"ordinary care|extra care|leave out", json.dumps(said))


async def test_a_genus_belongs_to_its_family_and_a_family_to_none(pages: Any) -> None:
    assert said_of(await text_of(pages, "/plant/acer"))["parentTaxon"]["name"] == "Sapindaceae"
    assert "parentTaxon" not in said_of(await text_of(pages, "/plant/sapindaceae"))


@pytest.mark.parametrize("path", ["/", "/numbers"])
async def test_the_records_say_that_they_are_a_dataset(pages: Any, path: str) -> None:
    said = said_of(await text_of(pages, path))
    assert said["@type"] == "Dataset" and said["license"].startswith("https://creativecommons.org/licenses/by/")
    assert (await pages.get(said["distribution"][0]["contentUrl"])).status_code == 200


async def test_a_preview_says_for_whom_and_in_which_data_version(pages: Any, reference: Any) -> None:
    text = await text_of(pages, "/plant/toxicodendron-radicans?company=class")
    said = shared(text)
    assert said["title"].startswith("Toxicodendron radicans") and said["type"] == "article"
    assert "leave out" in said["description"] and "a class" in said["description"]
    assert re.search(r"In data version [0-9a-f]{12}, ", said["description"])


async def test_every_page_has_a_preview_and_none_is_broken_by_what_was_typed(pages: Any) -> None:
    for path in ("/", "/how", "/sources", "/changes", "/look-up?q=oak", '/look-up?q="><script>alert(1)</script>'):
        said = shared(await text_of(pages, path))
        assert said["title"] and said["description"] and said["site_name"] == "folioproof"
