"""What can be measured of the look without a browser: contrast, system fonts, and nothing fetched from elsewhere."""

from __future__ import annotations

import re
from colorsys import rgb_to_hls
from pathlib import Path

import pytest

import folioproof.web

STATIC = Path(folioproof.web.__file__).parent / "static"
FIELD = STATIC.parents[1] / "field"
SENT = [*sorted(STATIC.iterdir()), *sorted(path for path in FIELD.iterdir() if path.suffix in (".css", ".js", ".html"))]
STYLE = (STATIC / "folio.css").read_text(encoding="utf-8")

#: WCAG 2.2, success criteria 1.4.3 (text) and 1.4.11 (what bounds a control).
TEXT, CONTROL = 4.5, 3.0


def inks(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z]+): (#[0-9a-f]{3,6})", block))


def luminance(colour: str) -> float:
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    parts = (int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4))
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


SCHEMES = dict(zip(("light", "dark", "print"), re.findall(r":root \{(.*?)\}", STYLE, re.DOTALL), strict=True))


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("ink", ["ink", "soft", "link"])
@pytest.mark.parametrize("ground", ["paper", "sheet"])
def test_every_ink_is_readable_on_every_ground(scheme: str, ink: str, ground: str) -> None:
    colours = inks(SCHEMES[scheme])
    assert contrast(colours[ink], colours[ground]) >= TEXT


@pytest.mark.parametrize("scheme", SCHEMES)
def test_lines_that_bound_are_seen(scheme: str) -> None:
    colours = inks(SCHEMES[scheme])
    assert contrast(colours["line"], colours["paper"]) >= CONTROL


@pytest.mark.parametrize("path", SENT, ids=lambda path: path.name)
def test_nothing_is_fetched_from_elsewhere(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"@import|@font-face|url\((?!#)", text)
    assert set(re.findall(r"https?://[^\s\"]+", text)) <= {"http://www.w3.org/2000/svg"}


def test_no_colour_carries_a_level() -> None:
    rules = re.findall(r"\.(?:level|verdict|group)-(?:ordinary|extra|unknown|out)[^{]*\{([^}]*)\}", STYLE)
    assert rules
    for rule in rules:
        named = re.findall(r"(?:color|background): ([^;]+)", rule)
        assert all(value.strip() in ("var(--ink)", "var(--paper)", "#fff", "#000") for value in named), rule


@pytest.mark.parametrize("path", [path for path in SENT if path.suffix == ".css"], ids=lambda path: path.name)
def test_nothing_moves(path: Path) -> None:
    assert not re.search(r"transition|animation|@keyframes|scroll-behavior", path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("scheme", SCHEMES)
def test_no_ink_is_the_red_or_the_green_of_a_traffic_light(scheme: str) -> None:
    for name, colour in inks(SCHEMES[scheme]).items():
        digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
        hue, _, saturation = rgb_to_hls(*(int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)))
        assert saturation < 0.12 or 20 <= hue * 360 <= 60 or 190 <= hue * 360 <= 250, name
