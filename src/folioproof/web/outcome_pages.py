"""The pages about contributed prints: what others got, what waits for review, and how to take part."""

from __future__ import annotations

from typing import Any

from ..answers import Plant
from ..outcome_text import template_text
from ..outcomes import Others, others_got, tallies, to_review
from ..places import Place
from ..vocabulary import Part
from .asked import Answer, Asked
from .handling import with_json


def plant_others(asked: Asked, found: Plant, part: Part, place: Place | None) -> Others | None:
    """Return what a plant's page shows of contributed prints."""
    return others_got(asked.desk.reference.prints, found.id, part, place)


def others_json(others: Others | None) -> dict[str, Any] | None:
    """Return what others got as plain JSON values."""
    if others is None:
        return None
    return {
        "prints": others.prints,
        "people": others.people,
        "by_treatment": [
            {
                "treatment": each.treatment,
                "fibre": each.fibre,
                "country": each.evidence.country,
                "region": each.evidence.region,
                "prints": each.evidence.prints,
                "people": each.evidence.people,
                "clear": _rate(each.evidence.clear),
                "at_all": _rate(each.evidence.at_all),
                "agreement": each.evidence.agreement,
                "disagrees_with_record": each.evidence.disagrees,
                "lab": each.swatch.lab.as_list() if each.swatch else None,
                "spread": round(each.swatch.spread, 1) if each.swatch else None,
            }
            for each in others.got
        ],
        "latest": list(others.latest),
    }


def _rate(rate: Any) -> dict[str, float]:
    return {"mean": round(rate.mean, 3), "low": round(rate.low, 3), "high": round(rate.high, 3)}


def contribute(asked: Asked) -> Answer:
    """Show how to contribute a print, with the template that is the manual."""
    counts, regions = tallies(asked.desk.reference.prints)
    values = {"counts": counts, "regions": regions, "template": template_text()}
    return Answer("contribute", values, values)


def review(asked: Asked) -> Answer:
    """Show the prints that a curator is to look at, and those that were cleared."""
    waiting, cleared = to_review(asked.desk.reference.prints)
    return Answer("review", {"waiting": waiting, "cleared": cleared}, {"waiting": waiting, "cleared": cleared})


OUTCOME_PAGES = ((with_json("contribute"), contribute), (with_json("review"), review))
