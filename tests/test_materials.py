"""What several sources say of one material: do they agree?"""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from folioproof.materials import Figure, GhsClassification, agree
from folioproof.vocabulary import Basis


def said(word: str | None, *codes: str, form: str | None = None) -> GhsClassification:
    return GhsClassification.model_validate(
        {"scheme": "a sheet", "signal_word": word, "statements": codes, "form": form, "basis": Basis.MEMORY}
    )


def test_sources_agree_when_word_and_statements_are_the_same() -> None:
    assert agree((said("Warning", "H319"), said("Warning", "H319"))) is True
    assert agree((said("Warning", "H319"), said("Danger", "H319"))) is False
    assert agree((said("Warning", "H319"), said("Warning", "H302", "H319"))) is False
    assert agree((said("none"), said(None))) is False


def test_one_source_agrees_with_nobody() -> None:
    assert agree(()) is None
    assert agree((said("Danger", "H314"),)) is None


def test_two_forms_of_a_material_are_not_held_against_each_other() -> None:
    strong, weak = said("Danger", "H314", form="glacial"), said("none", form="vinegar")
    assert agree((strong, weak)) is None
    assert agree((strong, weak, said("Warning", "H319", form="vinegar"))) is False


@pytest.mark.parametrize("keys", [{"signal_word": "WARNING"}, {"statements": ["319"]}, {"pictograms": ["GHS10"]}])
def test_only_the_words_of_the_ghs_are_taken(keys: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        GhsClassification.model_validate({"scheme": "a sheet", "basis": "memory"} | keys)


def test_a_figure_says_what_it_is_for() -> None:
    figure = Figure.model_validate({"high": 40, "unit": "degC", "for": "the bath", "basis": "common practice"})
    assert (figure.low, figure.high, figure.purpose) == (None, 40, "the bath")
    with pytest.raises(ValidationError):
        Figure.model_validate({"high": 40, "unit": "degC", "basis": "common practice"})
