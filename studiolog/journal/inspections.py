"""Inspections: somebody looked at a fired piece on a day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from studiolog.craft.words import FAULTS, SURFACES
from studiolog.journal.writing import add, add_all, change, get, remove, remove_all
from studiolog.problems import UserProblem
from studiolog.records.inspections import FaultReading, Inspection, SurfaceReading
from studiolog.records.pieces import Piece


@dataclass(frozen=True)
class FaultDraft:
    """One fault looked for: severity 0 none seen … 3 severe; no zone speaks of the whole piece."""

    fault: str
    severity: int
    zone: str = ""
    note: str = ""


@dataclass(frozen=True)
class SurfaceDraft:
    """One word for the fired surface; no zone speaks of the whole piece."""

    word: str
    zone: str = ""


@dataclass(frozen=True, kw_only=True)
class InspectionDraft:
    """An inspection as it is entered; faults not named were not looked for."""

    looked_on: date
    faults: tuple[FaultDraft, ...] = ()
    surfaces: tuple[SurfaceDraft, ...] = ()
    stress_tested: bool = False
    note: str = ""


def log_inspection(session: Session, piece_id: int, draft: InspectionDraft) -> int:
    """Log an inspection of a piece; returns its id."""
    get(session, Piece, piece_id)
    inspection_id = add(
        session,
        Inspection(
            piece_id=piece_id,
            looked_on=draft.looked_on,
            stress_tested=draft.stress_tested,
            note=draft.note,
        ),
    )
    set_fault_readings(session, inspection_id, draft.faults)
    set_surface_readings(session, inspection_id, draft.surfaces)
    return inspection_id


def set_fault_readings(session: Session, inspection_id: int, faults: Sequence[FaultDraft]) -> None:
    """Write what an inspection looked for, in place of what it said before.

    Raises `UserProblem` for a fault or severity that is none.
    """
    said: set[tuple[str, str]] = set()
    for fault in faults:
        if fault.fault not in FAULTS:
            raise UserProblem(f"“{fault.fault}” is not a fault word: {', '.join(FAULTS.values())}.")
        if fault.severity not in range(4):
            raise UserProblem(f"{FAULTS[fault.fault]}: severity is 0 (none seen) to 3 (severe).")
        where = (fault.fault, fault.zone.strip().lower())
        if where in said:
            raise UserProblem(f"{FAULTS[fault.fault]} is read twice for the same zone.")
        said.add(where)
    remove_all(session, FaultReading, FaultReading.inspection_id == inspection_id)
    add_all(
        session,
        [
            FaultReading(
                inspection_id=inspection_id,
                fault=fault.fault,
                severity=fault.severity,
                zone=fault.zone.strip(),
                note=fault.note,
            )
            for fault in faults
        ],
    )


def set_surface_readings(
    session: Session, inspection_id: int, surfaces: Sequence[SurfaceDraft]
) -> None:
    """Write the words for the surface, in place of what the inspection said before.

    A word said twice of the same zone is kept once. Raises `UserProblem` for one that is none.
    """
    said: dict[tuple[str, str], SurfaceReading] = {}
    for surface in surfaces:
        if surface.word not in SURFACES:
            raise UserProblem(
                f"“{surface.word}” is not a word for a surface: {', '.join(SURFACES.values())}."
            )
        zone = surface.zone.strip()
        said.setdefault(
            (surface.word, zone.lower()),
            SurfaceReading(inspection_id=inspection_id, word=surface.word, zone=zone),
        )
    remove_all(session, SurfaceReading, SurfaceReading.inspection_id == inspection_id)
    add_all(session, list(said.values()))


def change_inspection(
    session: Session, inspection_id: int, version: int | None = None, **fields: object
) -> None:
    """Change the day, the note or the stress test of an inspection."""
    change(session, Inspection, inspection_id, version, **fields)


def delete_inspection(session: Session, inspection_id: int) -> None:
    """Delete an inspection with its readings."""
    inspection = get(session, Inspection, inspection_id)
    remove_all(session, FaultReading, FaultReading.inspection_id == inspection_id)
    remove_all(session, SurfaceReading, SurfaceReading.inspection_id == inspection_id)
    remove(session, inspection)
