"""Versions of a glaze side by side: lines, formula, and what fired pieces of each showed."""

from collections.abc import Sequence
from datetime import date

import pytest
from sqlalchemy.orm import Session

from studiolog.craft.glaze.unity import unity_formula
from studiolog.craft.glaze.version_changes import VersionState, say_change
from studiolog.craft.units import THIN
from studiolog.journal.glaze_versions import (
    VersionCompare,
    list_versions,
    read_version_compare,
    usual_choice,
)
from studiolog.journal.glazes import RecipePart, add_version, set_recipe
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.pieces import LayerDraft, PieceDraft, PlacementDraft, log_piece
from tests.journal.conftest import Studio

FIRST = (
    RecipePart("Potash feldspar (orthoclase/microcline)", 44),
    RecipePart("Silica", 26),
    RecipePart("Whiting", 20),
    RecipePart("Kaolin (kaolinite)", 10),
    RecipePart("Tin oxide", 4, addition=True),
)
SECOND = (
    RecipePart("Potash feldspar (orthoclase/microcline)", 40),
    RecipePart("silica", 30),
    RecipePart("Whiting", 20),
    RecipePart("Kaolin (kaolinite)", 10),
    RecipePart("Red iron oxide", 2, addition=True),
)


@pytest.fixture
def versions(studio: Studio) -> tuple[int, int]:
    """Chalk crazes on the buff clay; its second version, with more silica, does not."""

    def enter(session: Session) -> tuple[int, int]:
        set_recipe(session, studio.chalk, FIRST)
        second = add_version(session, studio.chalk, SECOND)
        for glaze, seen in ((studio.chalk, (2, 2, 2, 2, 2, 0)), (second, (0, 0, 0, 0, 0, 0))):
            for severity in seen:
                log_piece(session, cup(studio, glaze, severity))
        # Where another glaze lies on it, what is seen is not its own.
        log_piece(session, cup(studio, second, 3, over=studio.kelp))
        return studio.chalk, second

    return studio.journal.edit("Two versions", enter).value


def cup(studio: Studio, glaze: int, severity: int, over: int | None = None) -> PieceDraft:
    layers = [glaze] if over is None else [glaze, over]
    return PieceDraft(
        clay_id=studio.buff,
        form_id=studio.tumbler,
        made_on=date(2026, 9, 11),
        stage="fired",
        layers=tuple(LayerDraft(zone="outside", glaze_id=one, method="dip") for one in layers),
        placements=(PlacementDraft(firing_id=studio.firing, level_id=studio.bottom),),
        inspections=(
            InspectionDraft(
                looked_on=date(2026, 10, 4),
                faults=(FaultDraft(fault="crazing", severity=severity),),
            ),
        ),
    )


def compare(studio: Studio, ids: Sequence[int]) -> VersionCompare:
    return studio.journal.read(lambda session: read_version_compare(session, ids))


def cells(compared: VersionCompare, label: str) -> list[tuple[str, str]]:
    (row,) = [row for row in compared.rows if row.label == label]
    return [(cell.words, cell.change) for cell in row.cells]


def test_what_changed_stands_beside_what_it_came_from(
    studio: Studio, versions: tuple[int, int]
) -> None:
    compared = compare(studio, versions)
    assert cells(compared, "Silica") == [("26", ""), ("30", "+4")]
    assert cells(compared, "Whiting") == [("20", ""), ("20", "")]
    assert cells(compared, "Tin oxide, on top") == [("4", ""), ("–", "was 4")]
    assert cells(compared, "Red iron oxide, on top") == [("–", ""), ("2", "new")]
    first, second = (column.formula.formula for column in compared.columns)
    assert first is not None
    assert second is not None
    step = f"+{second.oxides['SiO2'] - first.oxides['SiO2']:.2f}"
    assert cells(compared, "SiO₂")[1] == (f"{second.oxides['SiO2']:.2f}", step)
    assert cells(compared, "Expansion, calculated (Appen, ±1)")[1][1].startswith("−")
    heads = list(dict.fromkeys(row.head for row in compared.rows))
    assert heads[0] == "Recipe"
    assert heads[-1] == "Fired, alone on the clay"


def test_the_change_is_told_in_a_sentence_with_what_was_seen(
    studio: Studio, versions: tuple[int, int]
) -> None:
    first, second = compare(studio, versions).columns
    assert (first.against, first.sentence, first.fired) == (None, "", "")
    assert second.against == 0
    assert second.sentence == (
        "−4 Potash feldspar (orthoclase/microcline), +4 silica, Tin oxide on top left out (was 4), "
        "2 Red iron oxide on top (new): SiO₂ 3.53 → 3.71, SnO₂ 0.095 → none, Fe₂O₃ none → 0.046, "
        f"SiO₂ : Al₂O₃ 8.4 → 9.1, expansion 6.6 → 6.4{THIN}ppm/K."
    )
    assert "5 of 6 → 0 of 6" in second.fired, "the cup under another glaze is not counted"
    assert second.fired.startswith("Crazing on Buff stoneware, cone ")
    assert "chance" not in second.fired


def test_few_results_are_called_thin(studio: Studio, versions: tuple[int, int]) -> None:
    third = studio.journal.edit("Third", lambda s: add_version(s, versions[1], FIRST)).value
    studio.journal.edit("Cup", lambda session: log_piece(session, cup(studio, third, 2)))
    column = compare(studio, (versions[1], third)).columns[1]
    assert "0 of 6 → 1 of 1 (thin evidence)" in column.fired


def test_a_version_with_an_unknown_material_says_what_is_not_known(
    studio: Studio, versions: tuple[int, int]
) -> None:
    stained = (*SECOND, RecipePart("Black stain", 6, addition=True))
    third = studio.journal.edit("Stain", lambda s: add_version(s, versions[1], stained)).value
    compared = compare(studio, (*versions, third))
    assert cells(compared, "SiO₂ : Al₂O₃")[2] == ("not known", "")
    assert "6 Black stain on top (new). What that does" in compared.columns[2].sentence


def test_a_version_is_compared_with_its_ancestors_first(
    studio: Studio, versions: tuple[int, int]
) -> None:
    side = studio.journal.edit("Side", lambda s: add_version(s, versions[0], SECOND)).value
    listed = studio.journal.read(lambda session: list_versions(session, side))
    assert [one.version_number for one in listed] == [1, 2, 3]
    assert usual_choice(listed, side) == (versions[0], versions[1], side)
    compared = compare(studio, (versions[0], versions[1], side))
    assert [column.against for column in compared.columns] == [None, 0, 0], "it came from the first"
    assert compare(studio, (versions[1], side)).columns[1].against == 0, "else the one before"
    assert compared.columns[2].sentence == compared.columns[1].sentence


def test_the_same_recipe_with_another_lot_is_told_apart() -> None:
    recipe = {("Feldspar", False): 60.0, ("Whiting", False): 40.0}
    whiting = {"CaO": 56.0, "LOI": 44.0}
    potash = {"SiO2": 65.0, "Al2O3": 18.0, "K2O": 17.0, "LOI": 0.0}
    soda = {"SiO2": 69.0, "Al2O3": 19.0, "Na2O": 12.0, "LOI": 0.0}
    states = [
        VersionState(
            recipe, unity_formula({"F": 60, "W": 40}, {"F": feldspar, "W": whiting}), expansion
        )
        for feldspar, expansion in ((potash, 8.1), (soda, 8.3))
    ]
    told = say_change(*states)
    assert told.startswith("The same recipe with other analyses: ")
    assert "Na₂O none → 0." in told
    assert f"expansion 8.1 → 8.3{THIN}ppm/K" in told
    assert say_change(states[0], states[0]) == "The same recipe."
