"""What a page says of itself to other programs, in the words of schema.org: data that is read, never run."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from jinja2.utils import htmlsafe_json_dumps
from markupsafe import Markup

from ..answers import Plant
from ..vocabulary import NameKind, Rank

At = Callable[[str], str]

_CONTEXT = "https://schema.org"
_LICENCE = "https://creativecommons.org/licenses/by/4.0/"
_DESCRIPTION = (
    "Plants whose leaves are printed by contact: hazards, all-clears, names, and what the leaves print. Each claim "
    "names what it rests on. A reference, not medical advice."
)
#: Names under which a plant is rightly known. A name wrongly used for it would send another plant's readers here.
_RIGHT = (NameKind.SYNONYM, NameKind.VERNACULAR)


def taxon(plant: Plant, at: At) -> dict[str, Any]:
    """Return a plant, genus or family as a schema.org Taxon. It carries no level: a copy elsewhere would outlive it."""
    names = [name.name for name in plant.names if name.kind in _RIGHT and not name.shared]
    said: dict[str, Any] = {
        "@context": _CONTEXT,
        "@type": "Taxon",
        "name": plant.scientific_name,
        "taxonRank": plant.rank.value,
        "identifier": plant.id,
        "url": at(f"/plant/{plant.id}"),
    }
    if names:
        said["alternateName"] = list(dict.fromkeys(names))
    if parent := _parent(plant, at):
        said["parentTaxon"] = parent
    return said


def _parent(plant: Plant, at: At) -> dict[str, Any] | None:
    if plant.genus_id:
        rank, taxon_id, name = Rank.GENUS, plant.genus_id, plant.genus_id.capitalize()
    elif plant.family_id and plant.family and plant.rank is not Rank.FAMILY:
        rank, taxon_id, name = Rank.FAMILY, plant.family_id, plant.family
    else:
        return None
    return {"@type": "Taxon", "name": name, "taxonRank": rank.value, "url": at(f"/plant/{taxon_id}")}


def dataset(data_version: str, file_address: str, at: At) -> dict[str, Any]:
    """Return the records as a schema.org Dataset."""
    return {
        "@context": _CONTEXT,
        "@type": "Dataset",
        "name": "folioproof",
        "description": _DESCRIPTION,
        "license": _LICENCE,
        "version": data_version,
        "isAccessibleForFree": True,
        "keywords": ["botanical contact printing", "plant hazards", "plant names", "natural dyes"],
        "url": at("/"),
        "distribution": [
            {"@type": "DataDownload", "encodingFormat": "application/vnd.sqlite3", "contentUrl": file_address}
        ],
    }


def block(said: dict[str, Any]) -> Markup:
    """Return the data block of a page: a script element of a type that no browser runs."""
    return Markup('<script type="application/ld+json">{}</script>').format(
        htmlsafe_json_dumps(said, ensure_ascii=False)
    )
