"""What a potter says of a fired surface, kept by zone and counted by glaze."""

from collections.abc import Callable
from datetime import date

import pytest
from sqlalchemy import select

from studiolog.craft.words import group_mask, surface_bit, surfaces_in
from studiolog.journal.inspections import (
    InspectionDraft,
    SurfaceDraft,
    delete_inspection,
    log_inspection,
)
from studiolog.journal.piece_changes import rewrite_inspection
from studiolog.journal.piece_page import read_piece_page
from studiolog.journal.surfaces import by_zone, read_glaze_surfaces, say_surfaces
from studiolog.problems import EditConflict, UserProblem
from studiolog.records.facts import pair_fact, path_fact, piece_fact
from tests.journal.conftest import Studio

GLOSSY_OUT = (
    SurfaceDraft("clear"),
    SurfaceDraft("glossy", "outside"),
    SurfaceDraft("matt", "inside"),
)
LogTumbler = Callable[..., int]


def look(studio: Studio, piece: int, *surfaces: SurfaceDraft, day: int = 12) -> int:
    draft = InspectionDraft(looked_on=date(2026, 11, day), surfaces=surfaces)
    return studio.journal.edit("Look", lambda s: log_inspection(s, piece, draft)).value


def said_of_zones(studio: Studio, piece: int) -> dict[str, tuple[str, ...]]:
    rows = studio.journal.read(
        lambda s: s.execute(select(path_fact).where(path_fact.c.piece_id == piece)).all()
    )
    return {row.zone: surfaces_in(row.surfaces) for row in rows}


def test_words_are_said_by_zone_with_the_whole_piece_first():
    assert by_zone(GLOSSY_OUT) == {"": ("clear",), "outside": ("glossy",), "inside": ("matt",)}
    assert say_surfaces(GLOSSY_OUT) == "clear; outside: glossy; inside: matt"
    mottled = [SurfaceDraft("crystals", "Rim"), SurfaceDraft("satin", "rim")]
    assert say_surfaces(mottled) == "Rim: satin, crystals"


def test_a_word_of_the_whole_piece_speaks_of_every_zone_and_others_of_theirs(
    studio: Studio, log_tumbler: LogTumbler
):
    piece = log_tumbler()
    look(studio, piece, *GLOSSY_OUT)
    zones = said_of_zones(studio, piece)
    assert zones["outside"] == ("glossy", "clear")
    assert all("clear" in words for words in zones.values())
    assert all("glossy" not in words for zone, words in zones.items() if zone == "inside")
    whole, pairs = studio.journal.read(
        lambda s: (
            s.scalar(select(piece_fact.c.surfaces).where(piece_fact.c.piece_id == piece)),
            s.execute(select(pair_fact).where(pair_fact.c.piece_id == piece)).all(),
        )
    )
    assert surfaces_in(whole) == ("glossy", "matt", "clear")
    assert {(row.zone, surfaces_in(row.surfaces)) for row in pairs} == set(zones.items())
    assert studio.journal.undo() is not None
    assert not any(said_of_zones(studio, piece).values()), "undo takes the words back"


def test_the_page_of_a_piece_tells_them_and_a_rewritten_look_replaces_them(
    studio: Studio, log_tumbler: LogTumbler
):
    piece = log_tumbler()
    look(studio, piece, *GLOSSY_OUT)

    def line_of():
        return studio.journal.read(lambda s: read_piece_page(s, piece)).inspections[-1]

    line = line_of()
    assert say_surfaces(line.surfaces) == "clear; outside: glossy; inside: matt"
    draft = InspectionDraft(looked_on=line.looked_on, surfaces=(SurfaceDraft("satin"),))

    def rewrite(session):
        seen = (line.inspection_id, line.version, line.reading_versions)
        rewrite_inspection(session, *seen, draft)

    studio.journal.edit("Change", rewrite)
    assert say_surfaces(line_of().surfaces) == "satin"
    with pytest.raises(EditConflict):
        studio.journal.edit("Change what was read before", rewrite)
    ident = line.inspection_id
    studio.journal.edit("Delete", lambda s: delete_inspection(s, ident))
    assert not any(said_of_zones(studio, piece).values())


def test_a_word_that_is_none_is_refused_and_one_said_twice_is_kept_once(
    studio: Studio, log_tumbler: LogTumbler
):
    piece = log_tumbler()
    with pytest.raises(UserProblem, match="“shiny” is not a word for a surface: glossy"):
        look(studio, piece, SurfaceDraft("shiny"))
    look(studio, piece, SurfaceDraft("matt", "Inside"), SurfaceDraft("matt", "inside "))
    page = studio.journal.read(lambda s: read_piece_page(s, piece))
    assert [(one.word, one.zone) for one in page.inspections[-1].surfaces] == [("matt", "Inside")]


def test_a_glaze_tells_how_often_it_came_out_how_by_clay_and_cone(
    studio: Studio, log_tumbler: LogTumbler
):
    """Three tumblers described, a fourth never: it does not count as anything."""
    pieces = [log_tumbler() for _ in range(4)]
    for piece, word in zip(pieces, ("glossy", "glossy", "satin"), strict=False):
        look(studio, piece, SurfaceDraft(word, "outside"))
    look(studio, pieces[2], SurfaceDraft("clear", "outside"), day=20)
    came = studio.journal.read(lambda s: read_glaze_surfaces(s, studio.chalk))
    assert (came.carried, came.described, came.alone) == (4, 3, 0)
    told = {one.word: (one.rate.events, one.rate.trials) for one in came.words}
    assert told == {"glossy": (2, 3), "satin": (1, 3), "clear": (1, 1)}
    assert [one.word for one in came.words] == ["glossy", "satin", "clear"]
    assert [(cut.pieces, cut.words) for cut in came.by_clay] == [(3, came.words)]
    assert sum(cut.pieces for cut in came.by_cone) == 3


def test_every_group_has_bits_of_its_own():
    assert group_mask("shine") & surface_bit("matt")
    assert not group_mask("shine") & group_mask("figure")
    assert surfaces_in(group_mask("depth")) == ("clear", "translucent", "opaque")
