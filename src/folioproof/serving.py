"""Serving the pages: Datasette, read-only, on one built file."""

from __future__ import annotations

import contextlib
import json
import os
import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any

from datasette.app import Datasette
from datasette.database import Database
from datasette.inspect import inspect_hash
from datasette.utils import parse_metadata

from .corpus_files import metadata_file
from .database import connect
from .finding import RefusedInputError

#: The name under which the tables are shown, whatever the file is called.
DATABASE_NAME = "reference"

SETTINGS: dict[str, Any] = {
    "default_allow_sql": False,
    "suggest_facets": False,
    "allow_download": True,
    "sql_time_limit_ms": 500,
    "facet_time_limit_ms": 200,
    "max_returned_rows": 1000,
    "default_cache_ttl": 3600,
    # Never cut a caution short.
    "truncate_cells_html": 0,
}


def make_datasette(database: Path) -> Datasette:
    """Return Datasette on the built file `database`, immutable, with our pages, metadata and settings.

    Raises RefusedInputError when there is no such file, or it is no file of ours.
    """
    from .web.desk import desk_of

    if not database.is_file():
        raise RefusedInputError(f"{database}: there is no database; run `folioproof build -o {database}`")
    path = database.resolve()
    serving = Datasette(
        immutables=[str(path)],
        inspect_data=_inspected(path),
        metadata=parse_metadata(metadata_file().read_text(encoding="utf-8")),
        settings=SETTINGS,
        template_dir=str(Path(__file__).parent / "web" / "frame"),
    )
    if desk_of(serving) is None:
        raise RefusedInputError(f"{database}: not a folioproof database of this version; build one anew")
    for name in [name for name, shown in serving.databases.items() if shown.path == str(path)]:
        serving.remove_database(name)
    serving.add_database(Database(serving, str(path), is_mutable=False), name=DATABASE_NAME)
    return serving


def _inspected(path: Path) -> dict[str, Any]:
    """Count the tables now, and leave the counts beside the file for a Datasette that is started by hand.

    Counts from an older file would be shown as true, so they are never read back.
    """
    connection = connect(path)
    try:
        found = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")
        names = [str(name) for (name,) in found]
        counts = {name: {"count": _count(connection, name)} for name in names}
    except Exception as error:
        raise RefusedInputError(f"{path}: this is not a database that can be read ({error})") from None
    finally:
        connection.close()
    about = {"hash": inspect_hash(path), "size": path.stat().st_size, "file": path.name, "tables": counts}
    inspected = {DATABASE_NAME: about}
    # A folder that cannot be written to is no reason not to serve.
    with contextlib.suppress(OSError):
        path.with_suffix(".inspect.json").write_text(json.dumps(inspected, indent=2), encoding="utf-8")
    return inspected


def _count(connection: Any, table: str) -> int:
    quoted = table.replace('"', '""')
    return int(connection.execute(f'SELECT count(*) FROM "{quoted}"').fetchone()[0])  # noqa: S608


def serve(database: Path, host: str, port: int, ready: Callable[[], None] = lambda: None) -> None:
    """Serve the pages until interrupted; `ready` is called once the address is ours and the file is read.

    Raises RefusedInputError when the address or the file cannot be used.
    """
    import uvicorn

    listening = _listen(host, port)
    try:
        app = make_datasette(database).app()
        ready()
        config = uvicorn.Config(app, log_level="warning", lifespan="on", server_header=False)
        uvicorn.Server(config).run(sockets=[listening])
    except KeyboardInterrupt:
        pass
    finally:
        listening.close()


def _listen(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        return socket.create_server((host, port), family=family, backlog=128)
    except (OSError, UnicodeError) as error:
        number = getattr(error, "errno", None) or 0
        reason = os.strerror(number) if number > 0 else getattr(error, "strerror", None) or str(error)
        raise RefusedInputError(f"{host}:{port} cannot be used ({reason}); choose another --host or --port") from None
