"""What each piece told of fit: one glaze alone on its clay, looked at then or weeks later."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from studiolog.craft.glaze.fit import FAULTS_OF_FIT, Fault
from studiolog.craft.words import fault_bit, surface_bit
from studiolog.journal.facts import FaultLook, speaks_of
from studiolog.records.facts import NO_CLAY, pair_fact, path_fact
from studiolog.records.glazes import Glaze
from studiolog.records.inspections import FaultReading, Inspection
from studiolog.records.pieces import Piece

Told = Literal["seen", "stressed", "unstressed", "unclear", "no glass"]
NOT_A_GLASS: Final = ("matt", "crystals", "unmelted")
"""Surface words that say a calculated expansion does not hold (see `craft.glaze.expansion`)."""
_FAULTS: Final[Mapping[str, Fault]] = {fault: fault for fault in FAULTS_OF_FIT}


@dataclass(frozen=True)
class LookedPiece:
    """A piece and what was told of the fault on its zones with the glaze alone."""

    piece_id: int
    number: int | None
    cone10: int | None
    told: Told


@dataclass(frozen=True)
class FitLook:
    """What one piece told of one fault, by clay and glaze."""

    clay_id: int
    glaze_id: int
    fault: Fault
    piece: LookedPiece


def read_looks(session: Session, clay_id: int | None = None) -> list[FitLook]:
    """What was told of fit, by clay, glaze alone on it, and piece."""
    bits = sum(fault_bit(fault) for fault in FAULTS_OF_FIT)
    clays = pair_fact.c.clay_id == clay_id if clay_id else pair_fact.c.clay_id != NO_CLAY
    alone = (
        select(pair_fact.c.piece_id)
        .join(Glaze, Glaze.id == pair_fact.c.over_id)
        .where(
            pair_fact.c.under_id == 0,
            pair_fact.c.alone == 1,
            clays,
            Glaze.kind == "glaze",
            pair_fact.c.looked_mask.bitwise_and(bits) != 0,
        )
        .distinct()
    )
    paths: dict[int, dict[str, str]] = defaultdict(dict)
    facts: dict[int, tuple[int, int | None, int | None]] = {}
    surfaces: dict[tuple[int, str], int] = defaultdict(int)
    for row in session.execute(
        select(
            path_fact.c.piece_id,
            path_fact.c.zone,
            path_fact.c.path,
            path_fact.c.clay_id,
            path_fact.c.cone10,
            path_fact.c.surfaces,
            Piece.number,
        )
        .join(Piece, Piece.id == path_fact.c.piece_id)
        .where(path_fact.c.piece_id.in_(alone))
    ):
        paths[row.piece_id][row.zone] = row.path
        surfaces[row.piece_id, row.path] |= row.surfaces
        facts[row.piece_id] = (row.clay_id, row.cone10, row.number)
    readings: dict[tuple[int, str], list[tuple[bool, FaultLook]]] = defaultdict(list)
    for row in session.execute(
        select(
            Inspection.piece_id,
            Inspection.stress_tested,
            FaultReading.fault,
            FaultReading.severity,
            FaultReading.zone,
        )
        .join(FaultReading, FaultReading.inspection_id == Inspection.id)
        .where(
            or_(*(FaultReading.fault == fault for fault in FAULTS_OF_FIT)),
            Inspection.piece_id.in_(alone),
        )
    ):
        look = FaultLook(row.fault, row.severity, row.zone)
        readings[row.piece_id, row.fault].append((row.stress_tested, look))
    no_glass = sum(surface_bit(word) for word in NOT_A_GLASS)
    kinds = session.execute(select(Glaze.id).where(Glaze.kind == "glaze")).scalars()
    alone_paths = {f"|{glaze_id}|": glaze_id for glaze_id in kinds}
    looks = []
    # Most pieces were never looked at for one of the faults: go by what was read.
    for (piece_id, fault), said in sorted(readings.items(), key=lambda one: one[0]):
        zones = paths[piece_id]
        clay, cone10, number = facts[piece_id]
        for path in sorted(set(zones.values()) & alone_paths.keys()):
            told = tell(path, zones, said)
            if told is not None and surfaces[piece_id, path] & no_glass:
                told = "no glass"
            if told is not None:
                piece = LookedPiece(piece_id, number, cone10, told)
                looks.append(FitLook(clay, alone_paths[path], _FAULTS[fault], piece))
    return looks


def tell(
    path: str, zones: Mapping[str, str], readings: Iterable[tuple[bool, FaultLook]]
) -> Told | None:
    """What the readings of one fault on one piece tell of the glaze that is alone in ``path``.

    A fault that is seen where other glazes lie, too, can't be laid at the door of this one; none
    seen there is none seen on it.
    """
    told: set[Told] = set()
    every = set(zones.values())
    for stress_tested, look in readings:
        spoken = every
        if look.zone:
            spoken = {laid for zone, laid in zones.items() if speaks_of(look, zone)}
        if path not in spoken:
            continue
        if look.severity == 0:
            told.add("stressed" if stress_tested else "unstressed")
        else:
            told.add("seen" if spoken == {path} else "unclear")
    order: tuple[Told, ...] = ("seen", "unclear", "stressed", "unstressed")
    return next((one for one in order if one in told), None)
