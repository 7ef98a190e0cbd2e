"""One golden pair for each rule of `folioproof lint`: `<CODE>.yml` is written, `<CODE>.expected` is said.

A pair is a bundle (see bundles.py) that is laid on top of `base.yml`, a small corpus without a finding, and of
`outcomes.yml`, an outcome without one in the folder shared/ beside it.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

from folioproof.checks import ALL_RULES, check_corpus
from folioproof.corpus import load

sys.path.insert(0, str(Path(__file__).parent))
from bundles import changed, lay_out

HERE = Path(__file__).parent


def findings(root: Path) -> str:
    """Return all findings below `root` and in the folder beside it as they are printed, one a line."""
    said = "".join(f"{found}\n" for found in check_corpus(load(root, root.parent / "shared")))
    return said.replace(f"{root}/", "").replace(f"{root.parent}/", "")


@pytest.fixture
def base(tmp_path: Path) -> Path:
    root = tmp_path / "data"
    for name in ("base.yml", "outcomes.yml"):
        lay_out(HERE / name, root)
    return root


def test_the_base_has_no_finding(base: Path) -> None:
    assert findings(base) == ""


@pytest.mark.parametrize("code", ALL_RULES)
def test_each_rule_says_what_its_golden_pair_says(code: str, base: Path) -> None:
    bundle, expected = HERE / f"{code}.yml", HERE / f"{code}.expected"
    assert bundle.is_file() and expected.is_file(), f"rule {code} has no golden pair in tests/checks"
    lay_out(bundle, base)
    said = findings(base)
    assert said == expected.read_text(encoding="utf-8")
    assert f": {code} " in said, f"the golden pair of {code} does not break the rule it is named after"


def test_every_golden_pair_belongs_to_a_rule() -> None:
    pairs = {path.stem for path in HERE.iterdir() if path.suffix in (".yml", ".expected")}
    assert pairs - {"base", "outcomes"} == set(ALL_RULES)


def test_a_finding_is_one_line_with_place_code_and_remedy() -> None:
    line = re.compile(r"^[\w/.-]+:\d+: [A-Z]\d{3} [^:]+: .+\. .+\.$")
    for path in HERE.glob("*.expected"):
        for said in path.read_text(encoding="utf-8").splitlines():
            assert line.match(said), f"{path.name}: {said}"


def test_a_changed_line_must_stand_in_the_base_once() -> None:
    assert changed("a\nb\nc\n", "-b\n+x\n+y\n") == "a\nx\ny\nc\n"
    with pytest.raises(AssertionError, match="stands 0 times"):
        changed("a\n", "-b\n")
