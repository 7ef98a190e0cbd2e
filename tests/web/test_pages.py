"""The pages and their headers, asked in process."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import httpx
import pytest
from datasette.app import Datasette
from datasette.utils import parse_metadata

from folioproof.corpus_files import metadata_file
from folioproof.reading import COUNTRIES, Reading
from folioproof.schema import TABLES
from folioproof.serving import SETTINGS, make_datasette
from folioproof.web.headers import script_hash


@pytest.fixture(scope="session")
def pages(database: Path) -> Any:
    return make_datasette(database).client


@pytest.fixture
async def address_bar(database: Path) -> Any:
    """A client that sends paths as they are typed; Datasette's own rewrites them first."""
    transport = httpx.ASGITransport(app=make_datasette(database).app())
    async with httpx.AsyncClient(transport=transport) as client:
        yield client


SMOKE = [
    ("/", "Ask"),
    ("/look-up?q=hemlock", "Conium maculatum"),
    ("/look-up?q=acer+rubrum&company=class", "Acer rubrum"),
    ("/look-up?q=", "plant"),
    ("/plant/nerium-oleander", "Leave out"),
    ("/plant/acer", "Acer rubrum"),
    ("/plant/anacardiaceae", "Toxicodendron"),
    ("/sources", "Sources"),
    ("/source/UCD2012", "Filmer"),
    ("/how", "S05"),
    ("/agents", "urushiol"),
    ("/agent/urushiol", "Toxicodendron"),
    ("/materials", "potash alum"),
    ("/material/copper-sulfate", "local rules first"),
    ("/names-that-mislead", "mislead"),
    ("/robots.txt", "Disallow"),
    ("/reference", "hazards"),
    ("/reference/taxa", "scientific_name"),
    ("/reference/plant_levels", "level"),
    ("/reference/claims_with_sources?_size=5", "citation"),
    ("/reference/all_names?_size=5", "accepted_name"),
    ("/reference/hazards.csv?_size=2", "severity"),
    ("/reference/hazards.json?_shape=array&_size=1", "severity"),
]


@pytest.mark.parametrize(("path", "phrase"), SMOKE)
async def test_every_page_answers_with_its_phrase(pages: Any, path: str, phrase: str) -> None:
    response = await pages.get(path, follow_redirects=True)
    assert response.status_code == 200
    assert phrase in response.text


@pytest.mark.parametrize("path", ["/look-up.json?q=maple", "/plant/acer-rubrum.json", "/suggest.json?q=aco"])
async def test_every_answer_is_to_be_had_as_json(pages: Any, path: str) -> None:
    response = await pages.get(path)
    assert response.status_code == 200 and response.headers["content-type"].startswith("application/json")
    json.loads(response.text)


async def test_the_page_and_the_library_give_the_same_level(pages: Any, reference: Any) -> None:
    for name in ("fig", "oak", "castor bean", "xqzw", "Rhus radicans"):
        answer = json.loads((await pages.get("/look-up.json", params={"q": name, "company": "class"})).text)
        assert answer["level"] == reference.check(name, company="class").level


async def test_suggestions_are_names_without_levels(pages: Any) -> None:
    text = (await pages.get("/suggest.json?q=acer%20ru")).text
    assert "Acer rubrum" in text and "care" not in text


HOSTILE = [
    "x" * 5_000,
    "<script>alert(1)</script>",
    "'; DROP TABLE taxa; --",
    "\u202eevil\x00",
    '"><img src=x onerror=alert(1)>',
    "%00%ff",
    "\ud7ff🍁",
]


@pytest.mark.parametrize("text", HOSTILE)
async def test_hostile_names_get_a_page_and_are_never_echoed_raw(pages: Any, text: str) -> None:
    for path in ("/look-up", "/look-up.json", "/suggest.json"):
        response = await pages.get(path, params={"q": text})
        assert response.status_code in (200, 400)
        if "json" not in path:
            assert "<script>alert" not in response.text and "<img src=x" not in response.text


@pytest.mark.parametrize("query", ["part=nose", "state=frozen", "company=ghosts", "part=leaf&state=%3Cb%3E"])
async def test_terms_out_of_the_vocabulary_are_refused_with_help(pages: Any, query: str) -> None:
    response = await pages.get(f"/look-up?q=oak&{query}")
    assert response.status_code == 400
    assert "<b>" not in response.text.split("</head>")[1].split("<main")[0]


NOT_THERE = ["/plant/nope", "/source/NOPE", "/agent/nope", "/material/nope", "/plant/..%2f..%2fetc"]


@pytest.mark.parametrize("path", NOT_THERE)
async def test_what_is_not_there_is_a_404(pages: Any, path: str) -> None:
    assert (await pages.get(path)).status_code == 404


@pytest.mark.parametrize("path", ["/nope", "/reference/nope", "/reference/taxa/nope", "/nope/?a=1", "/-/nope"])
async def test_an_address_that_means_nothing_gets_our_page(pages: Any, path: str) -> None:
    response = await pages.get(path, follow_redirects=True)
    assert response.status_code == 404
    assert "Skip to the page" in response.text


@pytest.mark.parametrize(
    "path",
    [
        "/-/threads",
        "/-/threads.json",
        "/-/messages",
        "/-/allow-debug",
        "/-/patterns",
        "/-/logout",
        "/-/actor.json",
        "/-/permissions",
        "/-/auth-token",
        "/-/databases.json",
        "/-/plugins.json",
        "/%2d/threads",
        "/-",
        "/-/",
        "/\\host/",
        "/%5Chost/",
        "//host/",
        "//host/%2e%2e",
        "/a%0d%0ab",
    ],
)
async def test_debug_pages_and_strange_paths_are_closed(address_bar: Any, path: str) -> None:
    response = await address_bar.get(f"http://localhost{path}")
    assert response.status_code == 404
    assert "location" not in response.headers


async def test_an_address_of_another_host_is_not_redirected_to(database: Path) -> None:
    sent: list[Any] = []

    async def send(message: Any) -> None:
        sent.append(message)

    path = "http://evil.example/"
    scope = {
        "type": "http",
        "method": "GET",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "headers": [],
    }
    await make_datasette(database).app()(scope, None, send)
    assert sent[0]["status"] == 404
    assert b"location" not in dict(sent[0]["headers"])


@pytest.mark.parametrize("method", ["post", "put", "delete", "patch", "options"])
async def test_only_reading_methods_are_taken(pages: Any, method: str) -> None:
    response = await getattr(pages, method)("/reference/taxa")
    assert response.status_code == 405
    assert response.headers["allow"] == "GET, HEAD"


@pytest.mark.parametrize("path", ["/", "/look-up?q=oak", "/reference/taxa", "/reference/taxa.json", "/plant/nope"])
async def test_head_answers_like_get_without_a_body(pages: Any, path: str) -> None:
    asked, read = await pages.head(path), await pages.get(path)
    assert (asked.status_code, asked.headers["content-type"]) == (read.status_code, read.headers["content-type"])
    assert asked.content == b""


async def test_sql_cannot_be_written_in_the_address(pages: Any) -> None:
    assert (await pages.get("/reference?sql=select+1")).status_code == 403
    assert (await pages.get("/reference/taxa?_where=1=1")).status_code in (400, 403)


async def test_settings_are_in_force(pages: Any) -> None:
    assert SETTINGS == {
        "default_allow_sql": False,
        "suggest_facets": False,
        "allow_download": True,
        "sql_time_limit_ms": 500,
        "facet_time_limit_ms": 200,
        "max_returned_rows": 1000,
        "default_cache_ttl": 3600,
        "truncate_cells_html": 0,
    }
    effective = json.loads((await pages.get("/-/settings.json")).text)
    assert {name: effective[name] for name in SETTINGS} == SETTINGS


OUR_PAGES = [
    "/",
    "/look-up",
    "/look-up?q=hemlock",
    "/look-up?q=oak&company=class",
    "/look-up?q=xqzw",
    "/plant/nerium-oleander",
    "/plant/prunus",
    "/plant/asteraceae",
    "/sources",
    "/source/TPPT2018",
    "/agents",
    "/agent/calcium-oxalate",
    "/materials",
    "/material/aluminium-sulfate",
    "/names-that-mislead",
    "/how",
    "/plant/nope",
]


@pytest.mark.parametrize("path", OUR_PAGES)
async def test_our_pages_stay_small_and_allow_nothing_inline(pages: Any, path: str) -> None:
    response = await pages.get(path)
    policy = response.headers["content-security-policy"]
    assert len(response.content) < 100_000
    assert "unsafe" not in policy and "sha256" not in policy
    assert not re.search(r"<script>|<style| style=| on[a-z]+=", response.text)


@pytest.mark.parametrize("path", OUR_PAGES)
async def test_our_pages_are_well_formed_for_a_screen_reader(pages: Any, path: str) -> None:
    text = (await pages.get(path)).text
    ids = re.findall(r' id="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'aria-labelledby="([^"]+)"', text)) <= set(ids)
    assert set(re.findall(r' for="([^"]+)"', text)) <= set(ids)
    assert text.count("<h1") == 1 and text.count("<main") == 1
    assert text.count("<table") == text.count("<caption")
    assert all("scope=" in cell for cell in re.findall(r"<th[^e>]*>", text))


async def test_security_headers_are_on_every_answer(pages: Any) -> None:
    for path in ("/", "/look-up.json?q=oak", "/plant/nope", "/reference/taxa", "/-/static/table.js", "/robots.txt"):
        headers = (await pages.get(path)).headers
        assert headers["x-content-type-options"] == "nosniff"
        assert "frame-ancestors 'none'" in headers["content-security-policy"]
        assert headers["referrer-policy"] == "no-referrer"


async def test_each_kind_of_answer_says_how_long_it_may_be_kept(pages: Any) -> None:
    style = re.search(r'href="([^"]+folio\.css[^"]*)"', (await pages.get("/")).text)
    assert style
    for path, kept in (
        ("/plant/acer-rubrum", "public, max-age=600"),
        ("/look-up.json?q=oak", "public, max-age=600"),
        ("/plant/nope", "no-store"),
        ("/reference/taxa", "max-age=3600"),
        ("/-/static/table.js", "public, max-age=3600"),
        (style[1], "public, max-age=31536000, immutable"),
    ):
        assert (await pages.get(path)).headers["cache-control"] == kept, path


async def test_an_answer_to_a_visitor_with_a_cookie_is_not_kept_for_others(pages: Any) -> None:
    response = await pages.get("/plant/acer-rubrum", cookies={"a": "b"})
    assert response.headers["cache-control"] == "private, no-store"


@pytest.mark.parametrize(
    "path", ["/reference/taxa", "/reference", "/reference/taxa/acer-rubrum", "/reference/names?_facet=kind"]
)
async def test_each_inline_script_of_a_table_page_is_allowed_by_its_hash(pages: Any, path: str) -> None:
    response = await pages.get(path)
    policy = response.headers["content-security-policy"]
    scripts = re.findall(r"<script>(.*?)</script>", response.text, re.DOTALL)
    assert scripts or path != "/reference/taxa"
    assert [script for script in scripts if script_hash(script) not in policy] == []
    assert "'unsafe-inline'" not in policy.split("script-src")[1].split(";")[0]


async def test_stock_table_pages_run_under_the_policy_too(database: Path) -> None:
    stock = Datasette(immutables=[str(database)], settings={"default_allow_sql": True}).client
    for path in ("/reference", "/reference/taxa", "/reference?sql=select+1"):
        response = await stock.get(path)
        scripts = re.findall(r"<script>(.*?)</script>", response.text, re.DOTALL)
        assert scripts
        assert [s for s in scripts if script_hash(s) not in response.headers["content-security-policy"]] == []


BAD_PARAMETERS = [
    "_sort=nope",
    "_sort_desc=nope",
    "_size=many",
    "_facet=nope",
    "_next=x",
    "_search=%22",
    "_through=x",
    "_facet_size=x",
    "id__gt=%00",
    "_col=nope",
    "_nocol=nope",
    "_filter_column=nope&_filter_op=exact&_filter_value=1",
    "_labels=%ff",
    "_searchmode=raw&_search=%22",
    "_facet_array=rank",
    "_facet_date=rank",
    "_sort=rank&_sort_desc=rank",
    "_where=1",
    "_ttl=x",
    "_shape=nope",
    "_extra=x",
]


@pytest.mark.parametrize("query", BAD_PARAMETERS)
@pytest.mark.parametrize("table", ["taxa", "names", "plant_levels"])
async def test_no_parameter_of_a_table_is_a_fault_of_ours(pages: Any, table: str, query: str) -> None:
    for path in (f"/reference/{table}?{query}", f"/reference/{table}.json?_shape=array&{query}"):
        response = await pages.get(path, follow_redirects=True)
        assert response.status_code < 500, path


async def test_the_page_number_is_checked(pages: Any) -> None:
    assert (await pages.get("/names-that-mislead?page=2")).status_code == 200
    for page in ("0", "-1", "99999", "x", "1e3", "²", "1" * 400):
        response = await pages.get("/names-that-mislead", params={"page": page})
        assert response.status_code == 400
        assert "whole number" in response.text


async def test_errors_are_json_where_json_was_asked_for(pages: Any) -> None:
    for path, status in (
        ("/look-up.json", 400),
        ("/look-up.json?q=oak&part=nose", 400),
        ("/look-up.json?q=oak&q=ash", 400),
        ("/plant/nope.json", 404),
        ("/reference/taxa.json?_sort=nope", 400),
    ):
        response = await pages.get(path)
        assert response.status_code == status, path
        assert set(json.loads(response.text)) == {"error"}, path


async def test_filters_are_kept_and_raise_the_level(pages: Any) -> None:
    text = (await pages.get("/look-up?q=prunus&part=leaf&state=dried&company=class&company=animals")).text
    assert re.search(r'value="class" checked', text) and re.search(r'value="animals" checked', text)
    assert re.search(r'value="dried" selected', text)
    assert "/plant/prunus?state=dried&amp;company=class&amp;company=animals" in text


async def test_an_ambiguous_name_shows_every_plant_the_dangerous_first(pages: Any, reference: Any) -> None:
    text = (await pages.get("/look-up?q=hemlock")).text
    check = reference.check("hemlock")
    places = [text.index(f"/plant/{each.id}", text.index("candidates-title")) for each in check.candidates]
    assert len(check.candidates) > 3 and places == sorted(places)


async def test_a_level_is_told_by_drawing_and_word(pages: Any) -> None:
    text = (await pages.get("/")).text
    for stem, word in (
        ("ordinary", "ordinary care"),
        ("extra", "extra care"),
        ("unknown", "not assessed"),
        ("out", "leave out"),
    ):
        assert text.count(f'id="m-{stem}"') == 1
        assert f'href="#m-{stem}"/></svg>{word}' in text


async def test_robots_may_read_plants_but_not_walk_the_filters(pages: Any) -> None:
    lines = (await pages.get("/robots.txt")).text.splitlines()
    assert "Disallow: /reference" in lines and "Disallow: /look-up" in lines and "Allow: /" in lines


async def test_a_datasette_without_our_file_is_left_alone() -> None:
    other = Datasette(memory=True).client
    assert (await other.get("/how")).status_code == 404
    assert "content-security-policy" not in (await other.get("/")).headers
    assert (await other.get("/-/versions.json")).status_code == 200


async def test_every_answer_page_ends_with_cautions_and_help_lines(pages: Any) -> None:
    for path in ("/look-up?q=oak", "/plant/acer-rubrum"):
        text = (await pages.get(path)).text
        assert "not medical advice" in text
        assert "check locally" in text.lower() or "locally" in text


async def test_metadata_names_only_tables_and_columns_that_exist(pages: Any, database: Path) -> None:
    import sqlite3

    known = parse_metadata(metadata_file().read_text(encoding="utf-8"))
    connection = sqlite3.connect(database)
    tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type IN ('table', 'view')")}
    assert set(known["databases"]) == {"reference"}
    for table, about in known["databases"]["reference"]["tables"].items():
        assert table in tables, table
        columns = {row[1] for row in connection.execute(f'PRAGMA table_info("{table}")')}
        assert set(about.get("columns", {})) <= columns, table
        facets = {f if isinstance(f, str) else next(iter(f.values())) for f in about.get("facets", [])}
        assert facets <= columns, table
    connection.close()


async def test_look_alikes_stand_before_the_reasons(pages: Any, reference: Any) -> None:
    text = (await pages.get("/plant/daucus-carota")).text
    first = reference.plant("daucus-carota").assessment.identify_first
    assert first
    for neighbour in first:
        assert text.index(f"/plant/{neighbour.look_alike.taxon}") < text.index('id="why-title"')


async def test_two_plants_of_one_name_are_told_apart_once(pages: Any) -> None:
    text = (await pages.get("/look-up?q=wild+carrot")).text
    apart = text.split('id="apart-title"')[1].split("</section>")[0]
    assert apart.count("<li>") == 1
    assert "English name: Wild carrot" in text or "English name: wild carrot" in text


async def test_every_country_with_a_help_line_has_a_name(database: Path) -> None:
    reading = Reading(database)
    assert {country for country, _ in reading.helplines()} <= set(COUNTRIES.values())
    reading.close()


async def test_a_genus_is_given_no_level_in_a_list(pages: Any) -> None:
    plants = json.loads((await pages.get("/agent/urushiol.json")).text)["plants"]
    assert {each["level"] for each in plants if each["rank"] == "genus"} == {None}


async def test_metadata_has_only_keys_that_datasette_reads() -> None:
    known = parse_metadata(metadata_file().read_text(encoding="utf-8"))
    top = {"title", "description", "license", "license_url", "source", "about", "about_url", "databases"}
    assert set(known) <= top
    table = {"description", "columns", "facets", "size", "sort", "label_column", "hidden"}
    for name, about in known["databases"]["reference"]["tables"].items():
        assert set(about) <= table, name
        assert about.get("description") or about.get("hidden"), name


async def test_facets_stand_on_indexed_columns(database: Path) -> None:
    known = parse_metadata(metadata_file().read_text(encoding="utf-8"))
    for table, about in known["databases"]["reference"]["tables"].items():
        indexed = {column for columns in TABLES[table].indexes for column in columns} if table in TABLES else set()
        assert set(about.get("facets", ())) <= indexed, table
