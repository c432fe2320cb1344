"""Kilns and their levels."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.journal.kiln_shelves import check_shelf_fields
from studiolog.journal.letters import reads_as
from studiolog.journal.loads import forget_level
from studiolog.journal.tariffs import remove_tariffs
from studiolog.journal.writing import add, change, clean_name, count, get, remove, remove_all
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.firings import ConePack, Firing
from studiolog.records.kilns import Kiln, KilnLevel, KilnTask
from studiolog.records.loads import KilnLoad
from studiolog.records.pieces import Placement


@dataclass(frozen=True, kw_only=True)
class KilnDraft:
    """A kiln as it is entered; ``levels`` from the top down."""

    name: str
    levels: tuple[str, ...] = ("top", "middle", "bottom")
    power_kw: float | None = None
    volume_l: float | None = None
    shelf_across_mm: float | None = None
    thermocouple_type: str = ""
    thermocouple_offset_c: float = 0.0
    calibrated_from: date | None = None
    tariff_per_kwh: Decimal | None = None
    notes: str = ""


@dataclass(frozen=True)
class LevelLine:
    """A level of a kiln, from the top down."""

    level_id: int
    name: str


@dataclass(frozen=True)
class KilnLine:
    """A kiln in a list or a picker."""

    kiln_id: int
    version: int
    name: str
    levels: tuple[LevelLine, ...]
    archived: bool
    firings: int


def add_kiln(session: Session, draft: KilnDraft) -> int:
    """Enter a kiln with its levels; returns its id."""
    name = clean_name(draft.name, noun="name of the kiln")
    _refuse_taken_name(session, name)
    kiln_id = add(
        session,
        Kiln(
            name=name,
            power_kw=draft.power_kw,
            volume_l=draft.volume_l,
            shelf_across_mm=draft.shelf_across_mm,
            thermocouple_type=draft.thermocouple_type,
            thermocouple_offset_c=draft.thermocouple_offset_c,
            calibrated_from=draft.calibrated_from,
            tariff_per_kwh=None
            if draft.tariff_per_kwh is None
            else Decimal(str(draft.tariff_per_kwh)),
            notes=draft.notes,
        ),
    )
    set_levels(session, kiln_id, draft.levels)
    return kiln_id


def change_kiln(session: Session, kiln_id: int, version: int | None = None, **fields: Any) -> None:
    """Change fields of a kiln (its levels: see `set_levels`)."""
    if "name" in fields:
        fields["name"] = clean_name(fields["name"], noun="name of the kiln")
        _refuse_taken_name(session, fields["name"], but=kiln_id)
    change(session, Kiln, kiln_id, version, **check_shelf_fields(fields))


def set_levels(session: Session, kiln_id: int, names: Sequence[str]) -> None:
    """Name the levels of a kiln from the top down.

    A level keeps its readings when it is renamed or moved. Raises `StillUsed` rather than drop
    a level where ware stood or cones were read.
    """
    wanted = [clean_name(name, noun="name of the level") for name in names]
    if not wanted:
        raise UserProblem("A kiln has at least one level.", {"levels": "Name at least one level."})
    if len({name.lower() for name in wanted}) < len(wanted):
        sentence = "Two levels have the same name."
        raise UserProblem(sentence, {"levels": sentence})
    stored = list(
        session.scalars(
            select(KilnLevel).where(KilnLevel.kiln_id == kiln_id).order_by(KilnLevel.position)
        )
    )
    by_name = {level.name.lower(): level for level in stored}
    spare = [level for level in stored if level.name.lower() not in {w.lower() for w in wanted}]
    for position, name in enumerate(wanted, start=1):
        level = by_name.get(name.lower())
        if level is None and len(wanted) == len(stored) and spare:
            level = spare.pop(0)  # as many levels as before: a new name is a renamed level
        if level is None:
            add(session, KilnLevel(kiln_id=kiln_id, position=position, name=name))
        else:
            level.position, level.name = position, name
    session.flush()
    for level in spare:
        used = count(session, Placement, Placement.level_id == level.id)
        read = count(session, ConePack, ConePack.level_id == level.id)
        if used or read:
            raise StillUsed(
                f"The level “{level.name}” can't be dropped: {used} pieces stood there and "
                f"{read} cone packs were read there. Rename it instead."
            )
        forget_level(session, level.id)
        remove(session, level)


def rename_level(session: Session, level_id: int, name: str) -> None:
    """Call a level by another name; what stood and was read there stays with it.

    Raises `UserProblem` if another level has it.
    """
    level = get(session, KilnLevel, level_id)
    wanted = clean_name(name, noun="name of the level")
    taken = count(
        session,
        KilnLevel,
        KilnLevel.kiln_id == level.kiln_id,
        reads_as(KilnLevel.name, wanted),
        KilnLevel.id != level_id,
    )
    if taken:
        sentence = f"There is a level named {wanted} in this kiln already."
        raise UserProblem(sentence, {"levels": sentence})
    change(session, KilnLevel, level_id, name=wanted)


def _refuse_taken_name(session: Session, name: str, but: int | None = None) -> None:
    taken = session.scalar(select(Kiln.id).where(reads_as(Kiln.name, name), Kiln.id != (but or 0)))
    if taken is not None:
        sentence = f"There is a kiln named {name} already."
        raise UserProblem(sentence, {"name": sentence})


def delete_kiln(session: Session, kiln_id: int) -> None:
    """Delete a kiln that was never fired. Raises `StillUsed` otherwise."""
    kiln = get(session, Kiln, kiln_id)
    fired = count(session, Firing, Firing.kiln_id == kiln_id)
    if fired:
        raise StillUsed(
            f"{kiln.name} can't be deleted: it was fired {fired} times. "
            "Archive it to hide it from the pickers."
        )
    planned = count(session, KilnLoad, KilnLoad.kiln_id == kiln_id)
    if planned:
        loads = "a load is planned" if planned == 1 else f"{planned} loads are planned"
        raise StillUsed(
            f"{kiln.name} can't be deleted: {loads} for it. Delete them first, or plan them for "
            "another kiln."
        )
    remove_all(session, KilnLevel, KilnLevel.kiln_id == kiln_id)
    remove_tariffs(session, kiln_id)
    remove_all(session, KilnTask, KilnTask.kiln_id == kiln_id)
    remove(session, kiln)


def list_kilns(session: Session, *, archived: bool = False) -> list[KilnLine]:
    """Kilns in order of entry, with their levels from the top down."""
    fired = (
        select(Firing.kiln_id, func.count().label("firings")).group_by(Firing.kiln_id).subquery()
    )
    query = (
        select(Kiln, func.coalesce(fired.c.firings, 0))
        .outerjoin(fired, fired.c.kiln_id == Kiln.id)
        .order_by(Kiln.archived, Kiln.id)
    )
    if not archived:
        query = query.where(Kiln.archived.is_(False))
    levels: dict[int, list[LevelLine]] = {}
    for level in session.scalars(select(KilnLevel).order_by(KilnLevel.position)):
        levels.setdefault(level.kiln_id, []).append(LevelLine(level.id, level.name))
    return [
        KilnLine(
            kiln.id,
            kiln.version,
            kiln.name,
            tuple(levels.get(kiln.id, ())),
            kiln.archived,
            firings,
        )
        for kiln, firings in session.execute(query)
    ]
