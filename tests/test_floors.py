"""The house rules that a machine can hold: imports go down, functions and modules stay small."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

SOURCE = Path(__file__).parent.parent / "src" / "folioproof"
FLOORS = [
    ["text", "finding", "yaml_reader", "corpus_files"],
    [
        "vocabulary",
        "claims",
        "printing",
        "assessment",
        "estimates",
        "nomenclature",
        "answers",
        "print_answers",
        "colorimetry",
        "places",
        "phenology",
        "terms",
        "intervals",
        "scan_file",
        "scan_colour",
        "photo_file",
        "filling",
    ],
    ["records", "materials", "outcome_record", "outcome_text"],
    ["corpus"],
    [
        "checks",
        "matches",
        "matching",
        "safety",
        "confusion",
        "expectation",
        "evidence",
        "evidence_colour",
        "evidence_season",
        "measuring",
        "print_edge",
        "outcome_rules",
        "recording",
        "outcome_sheet",
    ],
    [
        "table_spec",
        "schema",
        "printing_tables",
        "outcome_tables",
        "evidence_tables",
        "tally_views",
        "loader",
        "printing_rows",
        "material_rows",
        "outcome_rows",
        "bulk_rows",
        "bulk_outcomes",
        "evidence_sql",
        "database",
        "database_printing",
        "database_evidence",
        "store",
        "print_store",
        "cache",
    ],
    [
        "reference",
        "prints",
        "gathering",
        "outcomes",
        "reading",
        "tallies",
        "comparing",
        "leaving_out",
        "sheet_materials",
        "class_sheet",
        "pack",
        "demo",
    ],
    ["web", "serving"],
    [
        "cli",
        "cli_shared",
        "cli_prints",
        "cli_measure",
        "cli_record",
        "cli_sheet",
        "cli_pack",
        "cli_changes",
        "asking",
        "terminal",
        "terminal_prints",
        "__main__",
    ],
]
FLOOR_OF = {name: number for number, names in enumerate(FLOORS) for name in names}
MODULES = sorted(path for path in SOURCE.rglob("*.py") if path != SOURCE / "__init__.py")


def home(path: Path) -> str:
    return path.relative_to(SOURCE).parts[0].removesuffix(".py")


def imports(path: Path) -> Iterator[tuple[int, str]]:
    """Yield (line, module) for every import, lazy ones too; our own as their name below folioproof."""
    depth = len(path.relative_to(SOURCE).parts)
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            if node.level == 0:
                yield node.lineno, node.module or ""
            elif node.level == depth:
                names = [node.module] if node.module else [alias.name for alias in node.names]
                yield from ((node.lineno, f"folioproof.{name}") for name in names if name != "__version__")


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_imports_go_down_only(path: Path) -> None:
    here = FLOOR_OF[home(path)]
    for line, module in imports(path):
        if module.startswith("folioproof."):
            there = FLOOR_OF[module.split(".")[1]]
            assert there <= here, f"{path.name}:{line} reaches up to {module}"
        assert not (module.split(".")[0] == "datasette" and here < 7), f"{path.name}:{line} imports datasette"
        assert not (module == "sqlite3" and here < 5), f"{path.name}:{line} imports sqlite3"


@pytest.mark.parametrize(
    ("module", "line", "said"),
    [
        ("safety", "import datasette.app", "imports datasette"),
        ("store", "def late():\n    from datasette import hookimpl", "imports datasette"),
        ("matching", "import sqlite3", "imports sqlite3"),
        ("corpus", "from sqlite3 import connect", "imports sqlite3"),
        ("records", "from . import corpus", "reaches up to folioproof.corpus"),
        ("checks/names", "from ..loader import build", "reaches up to folioproof.loader"),
        ("vocabulary", "if TYPE_CHECKING:\n    from .records import Record", "reaches up to folioproof.records"),
    ],
)
def test_an_import_that_goes_up_is_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, module: str, line: str, said: str
) -> None:
    monkeypatch.setitem(globals(), "SOURCE", tmp_path)
    path = tmp_path / f"{module}.py"
    path.parent.mkdir(exist_ok=True)
    path.write_text(line + "\n")
    with pytest.raises(AssertionError, match=said):
        test_imports_go_down_only(path)


def test_every_module_has_a_floor() -> None:
    assert {home(path) for path in MODULES} == set(FLOOR_OF)


def test_a_late_import_that_goes_up_is_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(globals(), "SOURCE", tmp_path)
    module = tmp_path / "text.py"
    module.write_text("def late():\n    from .reference import Reference\n")
    with pytest.raises(AssertionError, match=r"text.py:2 reaches up to folioproof.reference"):
        test_imports_go_down_only(module)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_functions_and_modules_stay_small_and_public_ones_are_said(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= 400
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        length = (node.end_lineno or 0) - node.lineno + 1
        assert length <= 40, f"{path.name}:{node.lineno} {node.name} has {length} lines"
    for node in public_functions(ast.parse(text)):
        where = f"{path.name}:{node.lineno} {node.name}"
        arguments = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
        bare = [each.arg for each in arguments if each.annotation is None and each.arg not in ("self", "cls")]
        assert bare == [], f"{where} does not say what {bare} are"
        assert node.returns is not None, f"{where} names no result"
        assert ast.get_docstring(node), f"{where} has no docstring"


def public_functions(tree: ast.Module) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Yield the functions of a module and of its public classes whose names do not begin with an underscore."""
    classes = [node for node in tree.body if isinstance(node, ast.ClassDef) and not node.name.startswith("_")]
    for node in (*tree.body, *(inner for each in classes for inner in each.body)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and not node.name.startswith("_"):
            yield node
