"""The pictures in README.md: the script's list, the files and the words beside them agree."""

from __future__ import annotations

import importlib.util
import re
import struct
from pathlib import Path
from types import ModuleType

import pytest

CHECKOUT = Path(__file__).parents[2]
MOST_BYTES = 200_000


@pytest.fixture(scope="module")
def script() -> ModuleType:
    found = importlib.util.spec_from_file_location("pictures", CHECKOUT / ".ci" / "pictures.py")
    assert found is not None and found.loader is not None
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module


def test_the_list_and_the_files_agree(script: ModuleType) -> None:
    assert {path.name for path in script.FOLDER.iterdir()} == script.wanted()


def test_each_picture_has_its_size_and_is_light(script: ModuleType) -> None:
    for path in script.FOLDER.glob("*.png"):
        data = path.read_bytes()
        width, height = struct.unpack(">II", data[16:24])
        assert path.name.endswith(f"-{width}.png") and script.SCREENS[width] == height
        assert len(data) < MOST_BYTES, path.name


def test_the_readme_shows_three_and_says_what_is_invented(script: ModuleType) -> None:
    readme = (CHECKOUT / "README.md").read_text(encoding="utf-8")
    shown = re.findall(r"!\[[^\]]+\]\(\.pictures/([^)]+)\)", readme)
    assert len(shown) == 3 and set(shown) <= script.wanted()
    assert "invented" in readme.split("## What it looks like")[1].split("## ")[0]
