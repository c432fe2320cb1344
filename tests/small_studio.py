"""Tern Yard for the pages of glazes, clays, forms, kilns and programs: a kiln's worth of each."""

import sqlite3
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal

from sqlalchemy.orm import Session

from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.firings import (
    ConeDraft,
    CurveDraft,
    FiringDraft,
    LogDraft,
    PackDraft,
    log_firing,
)
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_bucket, add_glaze
from studiolog.journal.inspections import FaultDraft, InspectionDraft
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    PlacementDraft,
    RunDraft,
    log_piece,
    log_run,
)
from studiolog.journal.profiles import Profile
from studiolog.journal.programs import ProgramDraft, SegmentDraft, add_program

KELP_RECIPE = (
    RecipePart("Potash feldspar", 40),
    RecipePart("Silica", 22),
    RecipePart("Whiting", 20),
    RecipePart("Kaolin", 18),
    RecipePart("Copper carbonate", 4, addition=True),
    RecipePart("Bentonite", 2, addition=True),
)
CUP = Profile(
    outside=((27, 0), (29, 5), (33, 30), (36, 60), (40, 95)),
    inside=((0, 6), (25, 7), (29.5, 30), (32.5, 60), (36.5, 95)),
)


@dataclass(frozen=True)
class SmallStudio:
    """Ids of what stands ready."""

    journal: Journal
    buff: int
    red: int
    kelp: int
    chalk: int
    oat: int
    tumbler: int
    bowl: int
    kiln: int
    levels: tuple[int, ...]
    bisque: int
    glaze_six: int
    firings: tuple[int, ...]
    pieces: tuple[int, ...]


CUPS = 24
_filled: list[tuple[sqlite3.Connection, SmallStudio]] = []


def fill_studio(journal: Journal) -> SmallStudio:
    """Four logged glaze firings and 24 tumblers, the last two never inspected.

    Every third inspected cup of the red clay crazed. It is entered once; later tests get a copy
    of that database, so that each starts from the same journal without the wait.
    """
    with closing(journal.engine.raw_connection()) as pooled:
        stored = pooled.driver_connection
        assert isinstance(stored, sqlite3.Connection)
        if _filled:
            kept, studio = _filled[0]
            kept.backup(stored)
            return replace(studio, journal=journal)
        studio = enter_small_studio(journal)
        kept = sqlite3.connect(":memory:", check_same_thread=False)
        stored.backup(kept)
    _filled.append((kept, studio))
    return studio


def enter_small_studio(journal: Journal, cups: int = CUPS) -> SmallStudio:
    """The same into any journal, a shared one too; returns its ids."""

    def enter(session: Session) -> SmallStudio:
        kiln = add_kiln(
            session,
            KilnDraft(
                name="Big kiln",
                power_kw=8,
                volume_l=190,
                thermocouple_type="K",
                tariff_per_kwh=Decimal("0.31"),
            ),
        )
        levels = tuple(level.level_id for level in list_kilns(session)[0].levels)
        buff = add_clay(
            session,
            ClayDraft(
                name="Buff stoneware",
                colour="#C6A67C",
                specks="coarse",
                shrinkage_percent=12.5,
                absorption_percent=1.8,
                cone_range="5 to 7",
            ),
        )
        red = add_clay(
            session, ClayDraft(name="Iron-red stoneware", colour="#7A3F2E", specks="fine")
        )
        kelp = add_glaze(
            session,
            GlazeDraft(
                name="Kelp",
                colour="#48654C",
                cone_range="5 to 7",
                specific_gravity=1.45,
                recipe=KELP_RECIPE,
            ),
        )
        chalk = add_glaze(session, GlazeDraft(name="Chalk", colour="#F2EEE2", cone_range="6"))
        oat = add_glaze(session, GlazeDraft(name="Oat", colour="#DDC491", bought=True))
        bucket = add_bucket(
            session, kelp, date(2026, 8, 30), dry_g=5000, water_g=4600, specific_gravity=1.45
        )
        tumbler = add_form(
            session,
            FormDraft(
                name="Ripple tumbler",
                clay_g=420,
                fired_height_mm=95,
                fired_across_mm=80,
                profile=CUP,
                price=Decimal(28),
                steps=(("thrown", 6), ("trimmed", 4), ("glazed", 5), ("packed", None)),
            ),
        )
        bowl = add_form(session, FormDraft(name="Soup bowl", clay_g=700))
        bisque = add_program(
            session,
            ProgramDraft(
                name="Bisque 04",
                kind="bisque",
                cone="04",
                segments=(SegmentDraft(60, 120), SegmentDraft(110, 600), SegmentDraft(150, 1060)),
            ),
        )
        glaze_six = add_program(
            session,
            ProgramDraft(
                name="Cone 6 slow cool",
                cone="6",
                segments=(
                    SegmentDraft(150, 600),
                    SegmentDraft(180, 1100),
                    SegmentDraft(60, 1204, 15),
                    SegmentDraft(None, 1000),
                    SegmentDraft(60, 780),
                    SegmentDraft(None, 100),
                ),
            ),
        )
        firings = tuple(
            log_firing(session, _firing(kiln, glaze_six, levels, number)) for number in range(4)
        )
        run = log_run(
            session,
            RunDraft(made_on=date(2026, 9, 1), form_id=bowl, clay_id=buff, how_many=12),
        )
        del run
        pieces = tuple(
            log_piece(
                session,
                _cup(
                    number, cups, (buff, red), (kelp, chalk, oat), bucket, tumbler, firings, levels
                ),
            )
            for number in range(cups)
        )
        return SmallStudio(
            journal,
            buff,
            red,
            kelp,
            chalk,
            oat,
            tumbler,
            bowl,
            kiln,
            levels,
            bisque,
            glaze_six,
            firings,
            pieces,
        )

    return journal.edit("Set up the studio", enter).value


def _firing(kiln: int, program: int, levels: tuple[int, ...], number: int) -> FiringDraft:
    # The cones at the bottom stand nearly at their end point where the sensor says 6 +0.2.
    packs = tuple(
        PackDraft(
            level_id=level,
            cones=(
                ConeDraft(cone="5", bend_low_deg=100, bend_high_deg=110),
                ConeDraft(cone="6", bend_low_deg=bend, bend_high_deg=bend + 8),
                ConeDraft(cone="7", bend_low_deg=0, bend_high_deg=4),
            ),
        )
        for level, bend in zip(levels, (88, 70, 40), strict=True)
    )
    return FiringDraft(
        kiln_id=kiln,
        program_id=program,
        started_at=datetime(2026, 9, 3, 7) + timedelta(days=7 * number),
        kwh=61.5 + number,
        packs=packs,
        log=LogDraft(
            sha256=f"{number:064x}",
            name=f"log-{number}.csv",
            content=b"time,temperature\n",
            curves=(
                CurveDraft(
                    channel="kiln",
                    packed=b"",
                    readings=900,
                    duration_s=50000,
                    peak_c=1205 + number,
                    cone=6.2,
                    cone_low=5.7,
                    cone_high=6.6,
                ),
            ),
        ),
    )


def _cup(
    number: int,
    cups: int,
    clays: tuple[int, int],
    glazes: tuple[int, int, int],
    bucket: int,
    form: int,
    firings: tuple[int, ...],
    levels: tuple[int, ...],
) -> PieceDraft:
    kelp, chalk, oat = glazes
    red = number % 2 == 1
    outside = [LayerDraft(zone="outside", glaze_id=kelp, method="dip", seconds=4, bucket_id=bucket)]
    if number % 4 < 3:
        outside.append(LayerDraft(zone="outside", glaze_id=chalk, method="dip", seconds=3))
    looked: tuple[InspectionDraft, ...] = ()
    if number < cups - 2:
        crazed = red and number % 3 == 0
        faults = [FaultDraft(fault="crazing", severity=2 if crazed else 0)]
        if number % 2 == 0:
            faults.append(FaultDraft(fault="running", severity=1 if number % 8 == 0 else 0))
        looked = (InspectionDraft(looked_on=date(2026, 10, 4), faults=tuple(faults)),)
    return PieceDraft(
        form_id=form,
        clay_id=clays[red],
        made_on=date(2026, 8, 20),
        stage="fired",
        layers=(*outside, LayerDraft(zone="inside", glaze_id=oat, method="pour", seconds=2)),
        placements=(
            PlacementDraft(
                firing_id=firings[number % len(firings)], level_id=levels[number % len(levels)]
            ),
        ),
        inspections=looked,
    )
