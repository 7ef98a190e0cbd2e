"""The pages and their headers, asked in process."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from folioproof.serving import SETTINGS, make_datasette
from folioproof.web.headers import script_hash


@pytest.fixture(scope="session")
def pages(database: Path) -> Any:
    return make_datasette(database).client


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


@pytest.mark.parametrize("path", ["/plant/nope", "/source/NOPE", "/agent/nope", "/plant/..%2f..%2fetc"])
async def test_what_is_not_there_is_a_404(pages: Any, path: str) -> None:
    assert (await pages.get(path)).status_code == 404


@pytest.mark.parametrize(
    "path", ["/-/threads", "/-/messages", "/-/allow-debug", "/-/patterns", "/-/logout", "/-/actor", "/\\host/", "//host/"]
)
async def test_debug_pages_and_strange_paths_are_closed(pages: Any, path: str) -> None:
    response = await pages.get(f"http://localhost{path}")
    assert response.status_code == 404


@pytest.mark.parametrize("method", ["post", "put", "delete", "patch"])
async def test_only_reading_methods_are_taken(pages: Any, method: str) -> None:
    assert (await getattr(pages, method)("/reference/taxa")).status_code == 405


async def test_sql_cannot_be_written_in_the_address(pages: Any) -> None:
    assert (await pages.get("/reference?sql=select+1")).status_code == 403
    assert (await pages.get("/reference/taxa?_where=1=1")).status_code in (400, 403)


async def test_settings_are_in_force(pages: Any) -> None:
    effective = json.loads((await pages.get("/-/settings.json")).text)
    assert {name: effective[name] for name in SETTINGS} == SETTINGS


async def test_security_headers_and_caching(pages: Any) -> None:
    for path in ("/", "/look-up?q=oak", "/plant/acer-rubrum", "/reference/taxa"):
        headers = (await pages.get(path)).headers
        assert headers["x-content-type-options"] == "nosniff"
        assert "frame-ancestors 'none'" in headers["content-security-policy"]
        assert "referrer-policy" in headers
        assert "cache-control" in headers


async def test_each_inline_script_of_a_table_page_is_allowed_by_its_hash(pages: Any) -> None:
    response = await pages.get("/reference/taxa")
    policy = response.headers["content-security-policy"]
    scripts = re.findall(r"<script>(.*?)</script>", response.text, re.DOTALL)
    assert scripts
    assert [s for s in scripts if script_hash(s) not in policy] == []
    assert "'unsafe-inline'" not in policy.split("script-src")[1].split(";")[0]


async def test_every_answer_page_ends_with_cautions_and_help_lines(pages: Any) -> None:
    for path in ("/look-up?q=oak", "/plant/acer-rubrum"):
        text = (await pages.get(path)).text
        assert "not medical advice" in text
        assert "check locally" in text.lower() or "locally" in text


async def test_metadata_names_only_tables_and_columns_that_exist(pages: Any, database: Path) -> None:
    import sqlite3

    from datasette.utils import parse_metadata

    from folioproof.corpus_files import metadata_file

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


async def test_pages_stay_small(pages: Any) -> None:
    for path in ("/", "/look-up?q=hemlock", "/plant/nerium-oleander", "/how", "/agents"):
        assert len((await pages.get(path)).content) < 100_000, path
