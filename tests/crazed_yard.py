"""A studio whose white crazes on the red clay and nowhere else, for the pages that tell of fit."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TypeVar

from sqlalchemy.orm import Session

from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.firings import ConeDraft, FiringDraft, PackDraft, log_firing
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import LayerDraft, PieceDraft, PlacementDraft, log_piece

CHALK = (
    RecipePart("Nepheline syenite", 56),
    RecipePart("Silica", 14),
    RecipePart("Whiting", 18),
    RecipePart("Kaolin", 6),
    RecipePart("Talc", 6),
    RecipePart("Zirconium silicate", 6, addition=True),
)
OAT = (
    RecipePart("Potash feldspar", 40),
    RecipePart("Whiting", 17),
    RecipePart("Kaolin", 27),
    RecipePart("Silica", 16),
)
TIDE = (
    RecipePart("Soda feldspar", 38),
    RecipePart("Silica", 25),
    RecipePart("Whiting", 15),
    RecipePart("Kaolin", 12),
    RecipePart("Dolomite", 10),
)


@dataclass(frozen=True)
class CrazedYard:
    """Ids of what stands ready."""

    journal: Journal
    red: int
    buff: int
    chalk: int
    oat: int
    tide: int
    shop: int
    crazed: tuple[int, ...]


_Y = TypeVar("_Y")
Enter = Callable[[Session], _Y]


def enter_once(journal: Journal, kept: list[tuple[sqlite3.Connection, _Y]], enter: Enter[_Y]) -> _Y:
    """What ``enter`` enters; once entered, a copy of that database is put into the journal."""
    with closing(journal.engine.raw_connection()) as pooled:
        stored = pooled.driver_connection
        assert isinstance(stored, sqlite3.Connection)
        if kept:
            kept[0][0].backup(stored)
            return kept[0][1]
        entered = journal.edit("Set up", enter).value
        copied = sqlite3.connect(":memory:", check_same_thread=False)
        stored.backup(copied)
    kept.append((copied, entered))
    return entered


_kept: list[tuple[sqlite3.Connection, CrazedYard]] = []


def enter_crazed_yard(journal: Journal) -> CrazedYard:
    """On red, Chalk crazed on 4 of 6 cups and Oat on none of 3; on buff nobody looked yet."""

    def enter(session: Session) -> CrazedYard:
        kiln = add_kiln(session, KilnDraft(name="Big kiln", power_kw=8))
        level = list_kilns(session)[0].levels[0].level_id
        firings = [
            log_firing(
                session,
                FiringDraft(
                    kiln_id=kiln,
                    started_at=datetime(2026, 9, day, 7),
                    cone=cone,
                    packs=(
                        PackDraft(
                            level_id=level,
                            cones=(ConeDraft(cone=cone, bend_low_deg=90, bend_high_deg=90),),
                        ),
                    ),
                ),
            )
            for day, cone in ((1, "5"), (2, "7"))
        ]
        red = add_clay(session, ClayDraft(name="Iron-red stoneware", colour="#7A3F2E"))
        buff = add_clay(session, ClayDraft(name="Buff stoneware"))
        chalk, oat, tide = (
            add_glaze(session, GlazeDraft(name=name, recipe=recipe))
            for name, recipe in (("Chalk", CHALK), ("Oat", OAT), ("Deep Tide", TIDE))
        )
        shop = add_glaze(session, GlazeDraft(name="Shop white", bought=True))

        def cup(number: int, glaze: int, severity: int, firing: int) -> int:
            return log_piece(
                session,
                PieceDraft(
                    number=number,
                    clay_id=red,
                    made_on=date(2026, 8, 20),
                    stage="fired",
                    layers=(LayerDraft(zone="outside", glaze_id=glaze, method="dip"),),
                    placements=(PlacementDraft(firing_id=firings[firing], level_id=level),),
                    inspections=(
                        InspectionDraft(
                            looked_on=date(2026, 10, 4),
                            stress_tested=number % 2 == 0,
                            faults=(FaultDraft("crazing", severity),),
                        ),
                    ),
                ),
            )

        crazed = tuple(cup(number, chalk, 2, 0) for number in range(1, 5))
        for number in (5, 6):
            cup(number, chalk, 0, 1)
        for number in (7, 8, 9):
            cup(number, oat, 0, number % 2)
        return CrazedYard(journal, red, buff, chalk, oat, tide, shop, crazed)

    return replace(enter_once(journal, _kept, enter), journal=journal)
