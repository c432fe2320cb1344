"""Where glazes sit: the figures of handbook glazes, and what the rings count."""

from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy.orm import Session

from studiolog.journal.glaze_map import (
    GlazeMap,
    MapAsk,
    read_glaze_map,
    say_map_glaze,
)
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze, add_version
from studiolog.journal.inspections import (
    FaultDraft,
    InspectionDraft,
    SurfaceDraft,
    log_inspection,
)
from studiolog.journal.pieces import LayerDraft, PieceDraft, PlacementDraft, log_piece
from tests.journal.conftest import Studio

FOUR_THREE_TWO_ONE = (("Orthoclase", 40), ("Silica", 30), ("Whiting", 20), ("Kaolinite", 10))


def recipe(*parts: tuple[str, float]) -> tuple[RecipePart, ...]:
    return tuple(RecipePart(name, grams, False) for name, grams in parts)


def read_map(studio: Studio, ask: MapAsk | None = None) -> GlazeMap:
    return studio.journal.read(lambda session: read_glaze_map(session, ask))


@pytest.fixture
def mapped(studio: Studio) -> dict[str, int]:
    """The 4:3:2:1 glaze with a stiffer version, a slip and a glaze of an unknown material."""

    def enter(session: Session) -> dict[str, int]:
        first = add_glaze(
            session, GlazeDraft(name="Four three two one", recipe=recipe(*FOUR_THREE_TWO_ONE))
        )
        stiffer = recipe(("Orthoclase", 40), ("Silica", 20), ("Whiting", 20), ("Kaolinite", 20))
        return {
            "first": first,
            "second": add_version(session, first, stiffer),
            "slip": add_glaze(
                session, GlazeDraft(name="Slip", recipe=recipe(("Kaolinite", 60), ("Silica", 40)))
            ),
            "moon": add_glaze(
                session, GlazeDraft(name="Moon", recipe=recipe(("Moondust", 1), ("Silica", 1)))
            ),
        }

    return studio.journal.edit("Enter", enter).value


def log_cup(
    studio: Studio,
    layers: list[int],
    *looks: FaultDraft | SurfaceDraft,
    clay: int | None = None,
    level: int | None = None,
) -> None:
    faults = tuple(one for one in looks if isinstance(one, FaultDraft))
    said = tuple(one for one in looks if isinstance(one, SurfaceDraft))
    look = InspectionDraft(looked_on=date(2026, 10, 4), faults=faults, surfaces=said)
    draft = PieceDraft(
        clay_id=clay or studio.buff,
        layers=tuple(LayerDraft(zone="outside", glaze_id=one) for one in layers),
        placements=(PlacementDraft(firing_id=studio.firing, level_id=level or studio.bottom),),
        inspections=(look,) if looks else (),
    )
    studio.journal.edit("Log a cup", lambda session: log_piece(session, draft))


def test_the_stoneware_glaze_of_every_book_sits_where_its_formula_says(
    studio: Studio, mapped: dict[str, int]
):
    """4:3:2:1, common practice: SiO₂ 3.7098, Al₂O₃ 0.4071 to one mole of 0.2645 K₂O, 0.7355 CaO."""
    found = read_map(studio)
    first, second = found.glaze(mapped["first"]), found.glaze(mapped["second"])
    assert first is not None
    assert second is not None
    assert (first.silica, first.alumina) == pytest.approx((3.7098, 0.4071), abs=0.002)
    assert first.ratio == pytest.approx(3.7098 / 0.4071, abs=0.02)
    assert second.parent_id == first.glaze_id
    assert second.alumina > first.alumina
    assert "K₂O 0.26, CaO 0.74" in first.formula


def test_what_has_no_place_says_why(studio: Studio, mapped: dict[str, int]):
    why = {one.title: one.why for one in read_map(studio).without}
    assert why["Slip"].startswith("It holds no flux")
    assert "Moondust" in why["Moon"]
    assert "no recipe" in why["Kelp"]
    assert len(read_map(studio).glazes) == 2


def test_rings_count_pieces_on_which_the_glaze_lies_alone_unless_asked_otherwise(
    studio: Studio, mapped: dict[str, int]
):
    first, ask = mapped["first"], MapAsk()
    log_cup(studio, [first], FaultDraft("crazing", 2), SurfaceDraft("matt"))
    log_cup(studio, [first], FaultDraft("crazing", 0), clay=studio.red)
    log_cup(studio, [first, studio.chalk], FaultDraft("crazing", 1), SurfaceDraft("glossy"))
    log_cup(studio, [first], level=studio.top)

    def told(ask: MapAsk) -> tuple[int, int, int]:
        glaze = read_map(studio, ask).glaze(first)
        assert glaze is not None
        return glaze.pieces, glaze.rate.trials, glaze.rate.events

    assert told(ask) == (3, 2, 1)
    assert told(replace(ask, lying="anywhere")) == (4, 3, 2)
    assert told(replace(ask, clay_id=studio.red)) == (1, 1, 0)
    assert told(replace(ask, fault="running")) == (3, 0, 0)
    matt = MapAsk(fault=None, surface="matt")
    assert told(matt) == (3, 1, 1)
    assert told(replace(matt, lying="anywhere")) == (4, 2, 1)
    # The witness cone at the bottom read about 5½; nothing was read at the top.
    glaze = read_map(studio).glaze(first)
    assert glaze is not None
    assert say_map_glaze(glaze, ask) == (
        "Four three two one: SiO₂ 3.71, Al₂O₃ 0.41, ratio 9.1. "
        "Crazing seen on 1 of 2 looked at: too few to tell."
    )


def test_a_span_of_cones_leaves_the_others_out(studio: Studio, mapped: dict[str, int]):
    first = mapped["first"]
    log_cup(studio, [first], FaultDraft("crazing", 1))
    bands = read_map(studio).bands
    (band,) = bands

    def looked(low10: int | None, high10: int | None) -> int:
        glaze = read_map(studio, MapAsk(low10=low10, high10=high10)).glaze(first)
        assert glaze is not None
        return glaze.rate.trials

    assert looked(band * 5, band * 5 + 5) == 1
    assert looked(band * 5 + 5, None) == 0
    assert looked(None, band * 5) == 0


def test_an_untested_glaze_and_one_nobody_looked_at_are_told_apart(
    studio: Studio, mapped: dict[str, int]
):
    log_cup(studio, [mapped["first"]])
    found = read_map(studio)
    said = [say_map_glaze(glaze, found.ask).split(". ", 1)[1] for glaze in found.glazes]
    assert said == [
        "On 1 piece, but nobody looked for crazing yet.",
        "No such piece yet: untested.",
    ]
    log_look = InspectionDraft(looked_on=date(2026, 10, 9), faults=(FaultDraft("crazing", 0),))
    studio.journal.edit("Look", lambda s: log_inspection(s, 1, log_look))
    assert read_map(studio).glazes[0].rate.trials == 1
