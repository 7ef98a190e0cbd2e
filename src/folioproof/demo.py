"""An invented collection of outcomes, so that every page can be seen alive. Nothing in it happened.

The scene: a guild of printmakers on a temperate coast of the southern hemisphere, made up for this purpose, with
handles that belong to nobody. Grades and colours are drawn, by a fixed seed, about what the records expect; two
plants are made to disagree with their record, and one printmaker reports a reaction. Each record says `invented`.
"""

from __future__ import annotations

import random
import tempfile
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .cache import Progress, build_cached, cache_folder, is_current, ready_database, wanted_stamp
from .colorimetry import Lab, in_gamut
from .corpus_files import data_root
from .expectation import thinned
from .outcome_record import OutcomeRecord
from .outcome_rules import sameness
from .places import Place, read_place
from .recording import write_all
from .vocabulary import Fibre, Grade, Part, Treatment

if TYPE_CHECKING:
    from .prints import Prints

SEED = 20_261_125
PRINTS = 480
_FIRST_DAY, _DAYS = date(2024, 2, 1), 960

#: Handle -> where that printmaker lives, and how many grades better or worse than most their prints come out.
MAKERS = {
    "dune-room": ("NZ-OTA", 0.3), "east-jetty": ("AU-TAS", -0.3), "fern-gully": ("AU-TAS", 0.0),
    "harbour-press": ("NZ-OTA", 0.4), "kelp-table": ("NZ-OTA", -0.2), "lantern-hill": ("AU-VIC", 0.1),
    "north-reef": ("AU-VIC", -0.4), "pebble-studio": ("NZ-STL", 0.0), "salt-shed": ("NZ-STL", 0.2),
    "south-wind": ("NZ-OTA", 0.0), "tide-line": ("AU-TAS", 0.3), "two-gulls": ("NZ-CAN", -0.1),
}  # fmt: skip

PLANTS = (
    "acacia-dealbata", "acer-palmatum", "acer-pseudoplatanus", "achillea-millefolium", "alchemilla-mollis",
    "alnus-glutinosa", "banksia-integrifolia", "betula-pendula", "calendula-officinalis", "camellia-sinensis",
    "carpinus-betulus", "coprosma-robusta", "corymbia-ficifolia", "cosmos-bipinnatus", "crataegus-monogyna",
    "diospyros-kaki", "eriobotrya-japonica", "eucalyptus-globulus", "fagus-sylvatica", "fuchsia-excorticata",
    "geranium-robertianum", "ginkgo-biloba", "helianthus-annuus", "juglans-regia", "kunzea-ericoides",
    "liquidambar-styraciflua", "malus-domestica", "metrosideros-excelsa", "pelargonium-graveolens", "phormium-tenax",
    "pittosporum-tenuifolium", "plantago-lanceolata", "quercus-robur", "rosa-canina", "rubus-fruticosus",
    "rumex-obtusifolius", "salix-babylonica", "tanacetum-vulgare", "tilia-cordata", "vitis-vinifera",
)  # fmt: skip
#: Plants whose invented prints come out otherwise than the record expects, by so many grades.
_OTHERWISE = {"pittosporum-tenuifolium": 2.0, "liquidambar-styraciflua": -2.5}
#: What the guild prints most, so that some numbers stand on many prints.
_POPULAR = (
    "acer-palmatum", "betula-pendula", "liquidambar-styraciflua", "metrosideros-excelsa", "pittosporum-tenuifolium",
    "quercus-robur", "rubus-fruticosus", "tanacetum-vulgare",
)  # fmt: skip
_REACTS = "tanacetum-vulgare"

_TREATMENTS = {Treatment.NONE: 1, Treatment.ALUM: 4, Treatment.IRON: 3, Treatment.ALUM_IRON: 2}
_FIBRES = {Fibre.PAPER: 8, Fibre.PLANT_FIBRE: 1, Fibre.SILK: 2, Fibre.WOOL: 1}
_SUBSTRATES = {
    Fibre.PAPER: "cotton-watercolour-paper", Fibre.PLANT_FIBRE: "cotton-cloth", Fibre.SILK: "silk-cloth",
    Fibre.WOOL: "wool-cloth",
}  # fmt: skip
_ALUM = {"material": "potash-alum", "strength": 10, "unit": "% of dry weight of fibre", "where": "fibre"}
_IRON = {"material": "ferrous-sulfate", "strength": 2, "unit": "g/l", "where": "leaf"}


def write_demo(prints: Prints, folder: Path) -> list[Path]:
    """Write the invented outcomes below `folder`, whole or not at all; return their files."""
    return write_all(demo_records(prints), folder)


def ready_demo(progress: Progress | None = None) -> Path:
    """Return the path of a database whose contributed prints are these, built in the cache folder if need be."""
    from .reference import Reference

    root = data_root()
    wanted = f"demo {wanted_stamp(root, None)}"
    target = cache_folder() / "demo.db"
    if not is_current(target, wanted):
        with tempfile.TemporaryDirectory() as made, Reference(ready_database(progress)) as reference:
            write_demo(reference.prints, Path(made) / "outcomes")
            build_cached(root, Path(made), target, wanted, progress)
    return target


def demo_records(prints: Prints) -> Iterator[OutcomeRecord]:
    """Yield the invented outcomes, the same ones each time the records are the same."""
    dice = random.Random(SEED)
    seen: set[tuple[object, ...]] = set()
    numbers: dict[str, int] = {}
    while len(seen) < PRINTS:
        maker = dice.choice(list(MAKERS))
        liked = _POPULAR if dice.random() < 0.6 else PLANTS
        taxon = PLANTS[len(seen)] if len(seen) < len(PLANTS) else dice.choice(liked)
        record = OutcomeRecord(**_drawn(prints, dice, maker, taxon))
        if sameness(record) in seen:
            continue
        seen.add(sameness(record))
        numbers[record.stem] = numbers.get(record.stem, 0) + 1
        yield record.model_copy(update={"id": f"{record.stem}-{numbers[record.stem]}"})


def _drawn(prints: Prints, dice: random.Random, maker: str, taxon: str) -> dict[str, Any]:
    region, skill = MAKERS[maker]
    day = _FIRST_DAY + timedelta(days=dice.randrange(_DAYS))
    treatment = _pick(dice, _TREATMENTS)
    fibre = _pick(dice, _FIBRES)
    place = read_place(region)
    grade = _grade(prints, dice, taxon, treatment, fibre, place, day, skill)
    reacts = taxon == _REACTS and maker == "kelp-table"
    plant = prints.shelf.taxon(taxon) or {}
    return {
        "id": f"{region.lower()}-{day.isoformat()}-{taxon}-{maker}-1",
        "contributor": maker,
        "licence": dice.choice(["CC0-1.0", "CC-BY-4.0"]),
        "consent": True,
        "invented": True,
        "taxon": taxon,
        "name_as_given": plant.get("common_name") or plant.get("scientific_name") or taxon,
        "part": "leaf",
        "stage": prints.season(taxon, place, day).stage.value,
        "side": dice.choice(["lower", "lower", "upper", "unknown"]),
        "state": dice.choice(["fresh", "fresh", "soaked", "dried"]),
        "date": day.isoformat(),
        "region": region,
        "treatment": treatment.value,
        "fibre": fibre.value,
        "substrate": _SUBSTRATES[fibre],
        "mordants": _mordants(treatment),
        "method": dice.choice(["steam", "steam", "boil", "hot press"]),
        "minutes": dice.choice([45, 60, 90, 120]),
        "result": _result(prints, dice, taxon, treatment, fibre, grade),
        "reaction": "skin" if reacts else "none",
        **({"reaction_note": "Itching wrists the same evening, gone by morning."} if reacts else {}),
    }


def _pick(dice: random.Random, weights: dict[Any, int]) -> Any:
    return dice.choices(list(weights), list(weights.values()))[0]


def _mordants(treatment: Treatment) -> list[dict[str, Any]]:
    alum = treatment in (Treatment.ALUM, Treatment.ALUM_IRON)
    iron = treatment in (Treatment.IRON, Treatment.ALUM_IRON)
    return [*([_ALUM] if alum else []), *([_IRON] if iron else [])]


def _grade(
    prints: Prints,
    dice: random.Random,
    taxon: str,
    treatment: Treatment,
    fibre: Fibre,
    place: Place,
    day: date,
    skill: float,
) -> Grade:
    estimate = prints.of_plant(taxon, fibre, Part.LEAF, (treatment,))[0]
    chances = thinned(estimate.posterior, prints.season(taxon, place, day).strength)
    drawn = dice.choices(range(5), chances)[0] + dice.gauss(skill, 0.4) + _OTHERWISE.get(taxon, 0.0)
    return list(Grade)[max(0, min(4, round(drawn)))]


def _result(
    prints: Prints, dice: random.Random, taxon: str, treatment: Treatment, fibre: Fibre, grade: Grade
) -> dict[str, Any]:
    result: dict[str, Any] = {
        "strength": grade.value,
        "clarity": "unknown" if grade is Grade.NONE else dice.choice(["crisp", "soft", "soft", "blurred"]),
        "colour_basis": "none",
    }
    estimate = prints.of_plant(taxon, fibre, Part.LEAF, (treatment,))[0]
    if grade is Grade.NONE or estimate.lab is None or dice.random() < 0.25:
        return result
    lab = estimate.lab
    drawn = Lab(*(round(dice.gauss(x, 5), 1) for x in (lab.lightness, lab.a, lab.b)))
    if in_gamut(drawn):
        result |= {"lab": drawn.as_list(), "lab_spread": round(dice.uniform(2, 7), 1), "colour_basis": "scan"}
        result["transferred"] = round(dice.uniform(0.3, 1.0), 2)
    return result
