"""What a source says of a mordant, dip, sheet, felt, paper or cloth, as frozen values, each with where it comes from.

Unlike `claims`, these are pydantic models: only `records` needs them, never a question at the command line.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from .vocabulary import Basis

Words = Annotated[str, StringConstraints(min_length=1, max_length=600)]
CasNumber = Annotated[str, StringConstraints(pattern=r"^[1-9][0-9]{1,6}-[0-9]{2}-[0-9]$")]
HazardCode = Annotated[str, StringConstraints(pattern=r"^H[234][0-9]{2}$")]
Pictogram = Annotated[str, StringConstraints(pattern=r"^GHS0[1-9]$")]


class Said(BaseModel):
    """What all of them share: where it comes from, and no other keys than its own."""

    model_config = ConfigDict(extra="forbid", frozen=True, hide_input_in_errors=True)

    basis: Basis = Field(description="Where it comes from.")
    source: str | None = Field(default=None, description="Id of a record in sources/.")
    locator: Words | None = Field(default=None, description="Where in the source.")


class Cas(Said):
    """A CAS Registry Number and the form of the material that it stands for."""

    number: CasNumber
    form: Words


class GhsClassification(Said):
    """What one source says of a material in the words of the GHS, or that it says nothing."""

    scheme: Words = Field(description="Whose classification it is: harmonised, a safety card, a supplier's sheet.")
    form: Words | None = Field(default=None, description="The form it speaks of, where a material has several.")
    signal_word: Literal["Danger", "Warning", "none"] | None = Field(
        default=None, description="`none` when the source says that there is none; left out when it does not say."
    )
    classes: tuple[Words, ...] = Field(default=(), description="Hazard classes and categories, as the source has them.")
    statements: tuple[HazardCode, ...] = Field(default=(), description="H-codes, sorted; see vocabularies/ghs.yml.")
    pictograms: tuple[Pictogram, ...] = Field(default=(), description="GHS01 to GHS09, sorted.")
    note: Words | None = None


class Figure(Said):
    """A strength, dose or limit with its unit; one end is enough."""

    low: float | None = None
    high: float | None = None
    unit: Words | None = Field(default=None, description="Heat in degC.")
    purpose: Words = Field(alias="for", description="What the figure is for: on which fibre, or what happens there.")
    note: Words | None = None


class Advice(Said):
    """One thing to do or not to do."""

    text: Words


class HazardStatement(Said):
    """A hazard statement of the GHS, as the GHS words it."""

    code: HazardCode
    text: Words


def agree(said: tuple[GhsClassification, ...]) -> bool | None:
    """Return whether the sources say the same of each form; None while no form has two of them."""
    by_form: dict[str | None, list[object]] = {}
    for each in said:
        by_form.setdefault(each.form, []).append((each.signal_word, each.statements))
    several = [words for words in by_form.values() if len(words) > 1]
    return all(len(set(words)) == 1 for words in several) if several else None
