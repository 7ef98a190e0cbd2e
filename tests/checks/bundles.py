"""Small corpora in one file each, for tests. The sections of such a bundle begin with a line

#: path     the whole file follows, in place of an earlier one
#~ path     lines of an earlier file change: `-` before the lines that go, `+` before those that come instead
#! path     the bytes of the file follow as hexadecimal digits
"""

from __future__ import annotations

import re
from pathlib import Path

_SECTION = re.compile(r"^#([:~!]) (\S+)\n", re.MULTILINE)


def lay_out(bundle: Path, root: Path) -> None:
    """Write the sections of `bundle` below `root`."""
    _, *pieces = _SECTION.split(bundle.read_text(encoding="utf-8"))
    for mark, name, body in zip(pieces[::3], pieces[1::3], pieces[2::3], strict=True):
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if mark == "!":
            path.write_bytes(bytes.fromhex(body))
        else:
            path.write_text(changed(path.read_text("utf-8"), body) if mark == "~" else body, "utf-8")


def changed(text: str, changes: str) -> str:
    """Replace each run of `-` lines, which must stand in `text` once, by the `+` lines after it."""
    for gone, come in re.findall(r"((?:^-.*\n)+)((?:^\+.*\n)*)", changes, re.MULTILINE):
        old, new = (re.sub(r"^[-+]", "", lines, flags=re.MULTILINE) for lines in (gone, come))
        assert text.count(old) == 1, f"stands {text.count(old)} times in the base:\n{old}"
        text = text.replace(old, new)
    return text
