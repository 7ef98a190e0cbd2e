"""Single facts that a paper, a handbook or common practice states, each beside its source."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path

import pytest

from folioproof import Reference
from folioproof.answers import Check
from folioproof.claims import HazardClaim
from folioproof.vocabulary import Company, Level, Part, Route, Severity, State, Status, Step


def harms(found: Check, route: Route) -> list[HazardClaim]:
    """Return the claims of one route that the reasons rest on."""
    claims = [held.claim for reason in found.reasons for held in reason.claims]
    return [claim for claim in claims if isinstance(claim, HazardClaim) and claim.route is route]


def added(reference: Reference, found: Check, step: Step) -> set[str]:
    """Return the precautions of a step beyond those that go with every plant."""
    return set(found.precautions[step]) - set(reference.check("xqzwklerty").precautions[step])


@pytest.fixture(scope="module")
def agents(database: Path) -> dict[str, sqlite3.Row]:
    with sqlite3.connect(database) as connection:
        connection.row_factory = sqlite3.Row
        return {row["id"]: row for row in connection.execute("SELECT * FROM agents")}


def test_soaked_fig_leaf_burns_in_sunlight(reference: Reference) -> None:
    """Son et al. (2017), Ann. Dermatol. 29(1):86-90: five cases after feet soaked in fig-leaf decoction."""
    found = reference.check("Ficus carica", state=State.SOAKED)
    assert found.level in (Level.EXTRA, Level.LEAVE_OUT)
    assert "SON2017" in {claim.source for claim in harms(found, Route.SKIN_SUNLIGHT)}
    assert added(reference, found, Step.HEAT)
    assert added(reference, found, Step.LIFT)


def test_furanocoumarins_survive_boiling(agents: dict[str, sqlite3.Row]) -> None:
    """Son et al. (2017), Ann. Dermatol. 29(1):86-90: the water had been boiled."""
    assert agents["furanocoumarins"]["heat"] == "survives"


@pytest.mark.parametrize(
    ("name", "source"),
    [
        # Cherry-laurel entries of the materia medica, B.P.C. 1949 among them: cyanide distils over.
        pytest.param("Prunus laurocerasus", "LAUREL_BP", id="cherry laurel"),
        # United States Dispensatory, Aqua Laurocerasi: black cherry leaves could give the same water.
        pytest.param("Prunus serotina", "LAUREL_USD", id="wild black cherry"),
    ],
)
def test_steam_lifts_cyanide_from_a_laurel_leaf(reference: Reference, name: str, source: str) -> None:
    found = reference.check(name)
    assert found.level.rank >= Level.EXTRA.rank
    assert source in {claim.source for claim in harms(found, Route.BREATHED)}
    assert any("outdoors or under extraction" in line.casefold() for line in found.precautions[Step.HEAT])
    assert reference.check(name, company=Company.CLASS).level is Level.LEAVE_OUT


def test_cyanide_leaves_in_steam(agents: dict[str, sqlite3.Row]) -> None:
    """Cherry-laurel entries of the materia medica, B.P.C. 1949: water distilled from the leaf holds 0.1 %."""
    assert agents["cyanogenic-glycosides"]["air"] == "released"


@pytest.mark.parametrize("name", ["Nerium oleander", "oleander"])
def test_oleander_smoke_poisons(reference: Reference, name: str) -> None:
    """Cornell University, Plants Poisonous to Livestock, FAQ 311: people poisoned by smoke of oleander."""
    found = reference.check(name)
    assert found.level is Level.LEAVE_OUT
    assert "CORNELL_FAQ311" in {claim.source for claim in harms(found, Route.BREATHED)}


def test_urushiol_survives_boiling(reference: Reference, agents: dict[str, sqlite3.Row]) -> None:
    """Kim et al. (2012), Ann. Dermatol. 24(3):319-323: half of 33 cases followed a boiled dish."""
    assert agents["urushiol"]["heat"] == "survives"
    assert agents["urushiol"]["hard_stop"] == 1
    claims = reference.plant("toxicodendron-vernicifluum").hazards
    assert "KIM2012" in {held.claim.source for held in claims if held.claim.agent == "urushiol"}


def test_every_toxicodendron_is_left_out_in_every_part_and_state(reference: Reference, database: Path) -> None:
    """McGovern and Barkley (1998), Botanical Dermatology, table 9; NIOSH (2016): 80-90 % of adults react."""
    with sqlite3.connect(database) as connection:
        query = "SELECT scientific_name FROM taxa WHERE id = 'toxicodendron' OR genus_id = 'toxicodendron'"
        names = [name for (name,) in connection.execute(query)]
    assert len(names) > 6
    asked = [(name, part, state) for name in names for part in Part for state in State]
    levels = {each: reference.check(each[0], part=each[1], state=each[2]).level for each in asked}
    assert not {each: level for each, level in levels.items() if level is not Level.LEAVE_OUT}


@pytest.mark.parametrize("name", ["Aconitum", "Aconitum napellus", "monkshood"])
def test_aconite_goes_through_the_skin(reference: Reference, name: str) -> None:
    """Chan, T.Y. (2012), Forensic Sci. Int. 223:25-27: raw root taken up through skin, with deaths."""
    found = reference.check(name, part=Part.ROOT)
    assert found.level is Level.LEAVE_OUT
    assert "CHAN2012" in {claim.source for claim in harms(found, Route.THROUGH_SKIN)}
    assert reference.check(name).level is Level.LEAVE_OUT


def test_heat_is_not_said_to_end_protoanemonin(agents: dict[str, sqlite3.Row]) -> None:
    """Botanical Dermatology Database, Ranunculaceae: boiled leaf does not irritate; source KOCAK2016: burns from the
    boiled plant. Published sources disagree, so the cautious reading stands and both are named.
    """
    assert agents["protoanemonin"]["heat"] == "unknown"
    assert {"BODD_RANU", "KOCAK2016"} <= set(re.findall(r"[A-Z_0-9]{6,}", agents["protoanemonin"]["heat_note"]))


def test_a_fresh_buttercup_says_what_it_holds(reference: Reference) -> None:
    """McGovern and Barkley (1998), Botanical Dermatology, table 4: protoanemonin of freshly damaged parts."""
    found = reference.check("Ranunculus", state=State.FRESH)
    assert found.level.rank >= Level.EXTRA.rank
    assert "protoanemonin" in {claim.agent for claim in harms(found, Route.SKIN_IRRITANT)}


@pytest.mark.parametrize("name", ["Heracleum mantegazzianum", "giant hogweed"])
def test_giant_hogweed_burns(reference: Reference, name: str) -> None:
    """Burns induced by plants (1995), Burns 21(7):542-543: partial-thickness burns after contact and sun."""
    found = reference.check(name)
    assert found.level is Level.LEAVE_OUT
    severe = [c for c in harms(found, Route.SKIN_SUNLIGHT) if c.severity.rank >= Severity.SEVERE.rank]
    assert "BURNS1995" in {claim.source for claim in severe}


def test_castor_leaf_may_be_handled_with_care_though_its_seed_is_deadly(reference: Reference) -> None:
    """Common practice, no source: grown-ups print the leaf and leave the seeds outside."""
    leaf = reference.check("castor bean", part=Part.LEAF)
    assert (leaf.status, leaf.level) == (Status.EXACT, Level.EXTRA)
    seed = reference.check("castor bean", part=Part.SEED)
    assert max(claim.severity.rank for claim in harms(seed, Route.SWALLOWED)) >= Severity.SEVERE.rank
    assert reference.check("castor bean", company=Company.CLASS).level is Level.LEAVE_OUT


def test_an_unknown_plant_is_left_until_someone_has_named_it(reference: Reference) -> None:
    """Common practice, no source."""
    for company in Company:
        found = reference.check("xqzwklerty vbnmasdfgh", company=company)
        assert (found.status, found.level) == (Status.UNKNOWN, Level.NOT_ASSESSED)
        assert not found.candidates
