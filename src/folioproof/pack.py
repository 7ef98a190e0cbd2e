"""The field pack: one HTML file that answers by itself, on a phone, with the network off.

It holds every name, the level of every leaf in each company, precautions, colours on paper, and the season of one
place and day; the scripts in field/ look names up as `matching` does. What it holds may go out of date, so it says
when it was made, and its page warns when that is long ago.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from importlib.resources import files
from itertools import groupby
from pathlib import Path
from string import Template
from tempfile import NamedTemporaryFile
from typing import Any, Generic, TypeVar

from .assessment import STANDING_CAUTIONS, Assessment
from .claims import HazardClaim
from .colorimetry import to_hex
from .finding import RefusedInputError
from .nomenclature import LANGUAGES
from .places import Place
from .reference import Reference
from .terms import company_of
from .vocabulary import Company, Fibre, Grade, GuardKind, Level, NameKind, Part, Rank, Step, Treatment

T = TypeVar("T", bound=Hashable)

#: After so many days the page says that it is out of date. Our own choice: levels rise between data versions.
GOOD_FOR_DAYS = 90
#: No pack may be larger, so that it can be sent and opened anywhere.
LARGEST = 2_000_000
TREATMENTS = (Treatment.ALUM, Treatment.IRON)

_GATHERED = 40
_KINDS = {NameKind.ACCEPTED: "=", NameKind.SYNONYM: "+", NameKind.MISAPPLIED: "!", NameKind.MISSPELLING: "?"}
_RANKS = {Rank.GENUS: "g", Rank.FAMILY: "f"}
#: The marks that the lists of names are cut at. Folding makes them spaces, so a name that had one is still found.
_CUTS = str.maketrans("~|^*:", "     ")
_SCRIPTS = ("look_up.js", "matching.js", "page.js")
_LEVELS = list(Level)


class _Interned(Generic[T]):
    """Values that are written once and meant by their number."""

    def __init__(self) -> None:
        self._numbers: dict[T, int] = {}

    def number(self, value: T) -> int:
        return self._numbers.setdefault(value, len(self._numbers))

    @property
    def rows(self) -> list[T]:
        return list(self._numbers)


@dataclass(frozen=True, slots=True)
class FieldPack:
    """A finished pack: its page, and what it was made for."""

    html: str
    place: Place
    on: date
    made: date
    company: tuple[Company, ...]

    @property
    def file_name(self) -> str:
        """Return the name under which a pack is saved: plain letters, the place and the day."""
        place = re.sub(r"-(?=\d)", "minus", self.place.name.lower())
        place = re.sub(r"[^a-z0-9.]+", "-", place).strip("-.")
        return f"field-pack-{place or 'place'}-{self.on}.html"


class Packer:
    """Makes field packs from one opened reference; what no place or day changes is put together once."""

    def __init__(self, reference: Reference) -> None:
        self.reference = reference
        self._prints = reference.prints
        self._shelf = self._prints.shelf
        rows = self._shelf.rows("SELECT * FROM taxa ORDER BY id")
        self._taxa = [dict(row) for row in rows]
        self._number = {row["id"]: i for i, row in enumerate(self._taxa)}

    @cached_property
    def _common(self) -> tuple[str, dict[str, Any]]:
        """What no place or day changes, as JSON, and in numbers: it takes seconds, so input is read first."""
        data = self._plants_data()
        held = {
            "version": self._shelf.build["content_sha256"][:12],
            "taxa": len(self._taxa),
            "names": self._shelf.build["names"],
            "coloured": len(set().union(*data["colours"])),
        }
        return _json(data), held

    def pack(
        self,
        near: str | Place,
        on: str | date | None = None,
        company: Company | str | Iterable[Company | str] = Company.ADULTS,
        made: date | None = None,
    ) -> FieldPack:
        """Return the pack for a place, a day and a company; raises RefusedInputError for what cannot be read."""
        place, day = self._prints.where_and_when(near, on)
        assert place is not None and day is not None
        group = tuple(each for each in Company if each in company_of(company))
        made = made or date.today()
        here = _json(self._here_data(place, day, group, made))
        plants, held = self._common
        html = _page(plants, here, f"{place.name}, {day}", made, held)
        if (size := len(html.encode())) > LARGEST:
            raise RefusedInputError(f"the field pack would have {size} bytes; at most {LARGEST} are allowed")
        return FieldPack(html, place, day, made, group)

    # -- what no place or day changes ----------------------------------------------------------------------------

    def _plants_data(self) -> dict[str, Any]:
        names = self._names()
        return {
            "names": names["runs"],
            "alerts": names["alerts"],
            "common": [row["common_name"] or "" for row in self._taxa],
            "ranks": "".join(_RANKS.get(Rank(row["rank"]), "s") for row in self._taxa),
            "family": [self._number.get(row["family_id"], -1) for row in self._taxa],
            "gravity": [self._gravity(row["id"]) for row in self._taxa],
            "guards": [
                [row["word"], int(row["kind"] == GuardKind.HAZARD_WORD), row["means"]]
                for row in self._shelf.rows("SELECT * FROM guards ORDER BY id")
            ],
            "homonyms": self._homonyms(),
            "languages": LANGUAGES,
            **self._judgements(),
            **self._colours(),
            "local": self._local_notes(),
            "grades": [each.value for each in Grade],
        }

    def _names(self) -> dict[str, Any]:
        """Return the names of each plant as runs of one kind, and the pairs of names that mislead, by number."""
        rows = self._shelf.rows("SELECT * FROM names ORDER BY id")
        of_taxon: list[list[Any]] = [[] for _ in self._taxa]
        for row in rows:
            of_taxon[self._number[row["taxon_id"]]].append(row)
        number = {(row["name"], row["taxon_id"]): i for i, row in enumerate(row for own in of_taxon for row in own)}
        folded = {row["folded"]: number[row["name"], row["taxon_id"]] for row in rows}
        alerts = self._shelf.rows("SELECT * FROM confusable_names WHERE edits <= 1 ORDER BY id")
        pairs = {(folded[row["folded"]], number[row["near_name"], row["near_taxon_id"]]): None for row in alerts}
        return {"runs": [_runs(own) for own in of_taxon], "alerts": [each for pair in pairs for each in pair]}

    def _gravity(self, taxon_id: str) -> int:
        hazards = (held.claim for held in self._shelf.facts(taxon_id).hazards)
        return max((claim.severity.rank for claim in hazards if isinstance(claim, HazardClaim)), default=0)

    def _homonyms(self) -> list[list[Any]]:
        rows = self._shelf.rows("SELECT word, taxon_id FROM homonyms ORDER BY folded, taxon_id")
        by_word = groupby(rows, key=lambda row: row["word"])
        return [[word, [self._number[row["taxon_id"]] for row in found]] for word, found in by_word]

    def _judgements(self) -> dict[str, Any]:
        """Return for each plant and company the level, whether it rests on thin evidence, why, and what to do."""
        reasons, lines = _Interned[tuple[int, str]](), _Interned[tuple[int, str]]()
        verdicts, judged = _Interned[tuple[Any, ...]](), _Interned[tuple[int, ...]]()
        judgement = []
        for row in self._taxa:
            found = [self.reference.assess(row["id"], frozenset({Company.ADULTS, each})) for each in Company]
            own = [verdicts.number(_verdict(each, reasons, lines)) for each in found]
            judgement.append(judged.number(tuple(own)))
        return {
            "levels": [level.value for level in _LEVELS],
            "steps": [step.value for step in Step],
            "usual": [lines.number((list(Step).index(step), text)) for step, text in self._shelf.tables().always],
            "reasons": reasons.rows,
            "lines": lines.rows,
            "verdicts": verdicts.rows,
            "judged": judged.rows,
            "judgement": judgement,
            "mistaken": self._mistaken(),
        }

    def _mistaken(self) -> dict[str, list[list[Any]]]:
        """Return for each plant the more dangerous ones that it is taken for: their number and how to tell them."""
        found = {}
        for row in self._taxa:
            first = self.reference.assess(row["id"], frozenset({Company.ADULTS})).identify_first
            if first:
                others = [[self._number[n.look_alike.taxon], n.look_alike.tell_apart] for n in first]
                found[str(self._number[row["id"]])] = others
        return found

    def _colours(self) -> dict[str, Any]:
        """Return what each plant's leaf prints on paper: colour, its name, spread, strength and what it rests on."""
        words = _Interned[str]()
        found: list[dict[str, list[Any]]] = []
        for treatment in TREATMENTS:
            rows = self._prints.store.estimates(treatment, Fibre.PAPER, Part.LEAF)
            found.append({})
            for row in rows:
                known = row.lab is not None and row.name is not None and row.spread is not None
                shown = [to_hex(row.lab), words.number(row.name), round(row.spread)] if known else ["", 0, 0]  # type: ignore[arg-type]
                found[-1][str(self._number[row.taxon_id])] = [*shown, row.grade.number, words.number(row.rests_on)]
        return {"colours": found, "words": words.rows}

    def _local_notes(self) -> dict[str, list[str]]:
        """Return where a rule is known to limit picking or carrying a plant."""
        ids = [row[0] for row in self._shelf.rows("SELECT DISTINCT taxon_id FROM local_notes ORDER BY taxon_id")]
        return {
            str(self._number[each]): [
                f"{note.rule.value} in {', '.join(note.regions)} ({note.basis.value})"
                for note in self._prints.store.local_notes(each)
            ]
            for each in ids
        }

    # -- what place and day change -------------------------------------------------------------------------------

    def _here_data(self, place: Place, day: date, company: tuple[Company, ...], made: date) -> dict[str, Any]:
        seasons = _Interned[tuple[Any, ...]]()
        season = {}
        for taxon_id in self._prints.store.growth():
            now = self._prints.season(taxon_id, place, day)
            row = (now.stage.value, round(now.strength, 2), str(now.until or ""), now.sure, int(now.in_season))
            season[str(self._number[taxon_id])] = seasons.number(row)
        return {
            "place": place.name,
            "note": place.note,
            "on": str(day),
            "made": str(made),
            "goodFor": GOOD_FOR_DAYS,
            "company": [list(Company).index(each) for each in company],
            "seasons": seasons.rows,
            "season": season,
            "gather": self._gather(place, day, company),
            "helplines": self._helplines(place),
            "cautions": STANDING_CAUTIONS,
        }

    def _gather(self, place: Place, day: date, company: tuple[Company, ...]) -> list[list[int | None]]:
        """Return what to gather: plant, its grade now under alum and under iron, and whether it grows here."""
        found: dict[str, list[int | None]] = {}
        best: dict[str, float] = {}
        for i, treatment in enumerate(TREATMENTS):
            listed = self._prints.gather(place, day, treatment, Fibre.PAPER, company, limit=_GATHERED)
            for each in listed.plants:
                grows = None if each.grows_here is None else int(each.grows_here)
                row = found.setdefault(each.plant.id, [self._number[each.plant.id], None, None, grows])
                row[1 + i] = each.grade_now.number
                best[each.plant.id] = max(best.get(each.plant.id, 0.0), each.strength_now)
        order = sorted(found, key=lambda each: (-best[each], each))
        return [found[each] for each in order[:_GATHERED]]

    def _helplines(self, place: Place) -> list[list[str]]:
        """Return the poison help lines, those of the place's country first."""
        sql = "SELECT * FROM helplines ORDER BY country != ?, country, region IS NOT NULL, region, id"
        rows = self._shelf.rows(sql, place.country or "")
        return [[row["country"], row["region"] or "", row["name"], row["number"], row["hours"] or ""] for row in rows]


def _runs(rows: list[Any]) -> str:
    """Write the names of one plant: runs of one kind or language, in their order."""
    runs = []
    for kind, members in groupby(rows, key=lambda row: _KINDS.get(NameKind(row["kind"])) or row["language"] or ""):
        names = [
            row["name"].translate(_CUTS)
            + (f"^{row['authorship'].translate(_CUTS)}" if row["authorship"] else "")
            + ("*" if row["shared"] else "")
            for row in members
        ]
        runs.append(f"{kind}:{'|'.join(names)}")
    return "~".join(runs)


def _verdict(
    found: Assessment, reasons: _Interned[tuple[int, str]], lines: _Interned[tuple[int, str]]
) -> tuple[Any, ...]:
    said = tuple(dict.fromkeys(reasons.number((each.level.rank, each.text)) for each in found.reasons))
    steps = list(Step)
    to_do = tuple(
        lines.number((steps.index(step), text)) for step, texts in found.precautions.items() for text in texts
    )
    return found.level.rank, int(found.thin_evidence), said, to_do


def _json(value: Any) -> str:
    """Write plain JSON that may stand inside a page: no text in it can end the block it stands in."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")


def _page(plants: str, here: str, title: str, made: date, held: dict[str, Any]) -> str:
    folder = files(__package__)
    web = folder / "web"
    style = (web / "static" / "folio.css").read_text("utf-8") + (folder / "field" / "field.css").read_text("utf-8")
    script = "\n".join((folder / "field" / name).read_text("utf-8") for name in _SCRIPTS)
    # The drawings of the levels and the soft edges are the site's own.
    marks = (web / "templates" / "folio" / "_marks.html").read_text("utf-8")
    drawings = marks[marks.index("<svg") : marks.index("</svg>\n{% endmacro") + len("</svg>")]
    return Template((folder / "field" / "page.html").read_text("utf-8")).substitute(
        style_hash=_hash(style),
        script_hash=_hash(script),
        title=title.replace("&", "&amp;").replace("<", "&lt;"),
        style=style,
        drawings=drawings,
        plants=plants,
        here=here,
        script=script,
        made=made,
        days=GOOD_FOR_DAYS,
        **held,
    )


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def write_pack(pack: FieldPack, path: Path) -> int:
    """Write the pack whole or not at all, and return its size; raises RefusedInputError where it cannot be written."""
    data = pack.html.encode()
    temporary = None
    try:
        with NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as file:
            temporary = Path(file.name)
            file.write(data)
        temporary.chmod(0o644)
        temporary.replace(path)
    except OSError as error:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        raise RefusedInputError(f"{path}: cannot be written: {error.strerror or error}") from None
    return len(data)
