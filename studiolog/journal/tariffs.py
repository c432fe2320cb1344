"""What a kWh costs at a kiln: prices by hours and days, from a day on.

Old prices stay where they are, so that old firings keep the price of their day.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.firing.tariff import DAY_MIN, WEEK_MIN, TariffBand
from studiolog.craft.words import TARIFF_DAYS
from studiolog.journal.writing import add, change, get, remove, remove_all
from studiolog.problems import UserProblem
from studiolog.records.kilns import Kiln, Tariff

_MOST = 1_000_000
_SAME = (
    "these hours have a price from that day on already: change that one, or begin new prices on "
    "another day."
)


@dataclass(frozen=True, kw_only=True)
class TariffDraft:
    """A price as it is entered: in some hours of some days, from a day on (None: since ever)."""

    per_kwh: Decimal
    days: str = "every"
    starts_min: int = 0
    ends_min: int = DAY_MIN
    valid_from: date | None = None


@dataclass(frozen=True)
class TariffLine:
    """A price that stands in the journal."""

    tariff_id: int
    version: int
    band: TariffBand


def add_tariff(session: Session, kiln_id: int, draft: TariffDraft) -> int:
    """Enter a price; returns its id. Raises `UserProblem` for one that can't be, or is there."""
    get(session, Kiln, kiln_id)
    _check(draft)
    _refuse_same(session, kiln_id, draft)
    return add(session, Tariff(kiln_id=kiln_id, **vars(draft)))


def set_tariffs(session: Session, kiln_id: int, drafts: Sequence[TariffDraft]) -> None:
    """Write the prices of a kiln in place of those it had; one that stays the same is left alone.

    Raises `UserProblem` naming the row that can't be.
    """
    get(session, Kiln, kiln_id)
    hours: set[tuple[object, ...]] = set()
    for place, draft in enumerate(drafts, start=1):
        try:
            _check(draft)
        except UserProblem as problem:
            raise UserProblem(f"Row {place}: {problem.sentence}") from problem
        key = (draft.valid_from, draft.days, draft.starts_min, draft.ends_min)
        if key in hours:
            raise UserProblem(f"Row {place}: {_SAME}")
        hours.add(key)
    stored = list(
        session.scalars(select(Tariff).where(Tariff.kiln_id == kiln_id).order_by(Tariff.id))
    )
    wanted = [vars(draft) for draft in drafts]
    left = []
    for row in stored:
        fields = _draft_of(row)
        if fields in wanted:
            wanted.remove(fields)
        else:
            left.append(row)
    # What stands in a changed place is the same price, changed.
    for row, fields in zip(left, wanted, strict=False):
        change(session, Tariff, row.id, None, **fields)
    for row in left[len(wanted) :]:
        remove(session, row)
    for fields in wanted[len(left) :]:
        add(session, Tariff(kiln_id=kiln_id, **fields))


def remove_tariffs(session: Session, kiln_id: int) -> None:
    """Take out all prices of a kiln."""
    remove_all(session, Tariff, Tariff.kiln_id == kiln_id)


def begin_tariff(session: Session, kiln_id: int, valid_from: date) -> tuple[int, ...]:
    """Begin new prices on a day: those that hold by then, to be changed one by one.

    Earlier firings keep the earlier prices. Raises `UserProblem` if prices begin on that day
    already, or if there is none to go on from.
    """
    kiln = get(session, Kiln, kiln_id)
    bands = [line.band for line in list_tariffs(session, kiln_id)]
    if any(band.valid_from == valid_from for band in bands):
        sentence = "Prices begin on that day already: change those."
        raise UserProblem(sentence, {"valid_from": sentence})
    before = [b for b in bands if b.valid_from is None or b.valid_from < valid_from]
    newest = max((b.valid_from or date.min for b in before), default=None)
    held = [b for b in before if (b.valid_from or date.min) == newest]
    # The price of all other hours has no day of its own: it goes on as one of these, so that
    # changing it from now on leaves the old firings theirs.
    if kiln.tariff_per_kwh is not None and all(b.week_min < WEEK_MIN for b in held):
        held.append(TariffBand(kiln.tariff_per_kwh))
    if not held:
        sentence = "There is no price before that day to go on from: add one."
        raise UserProblem(sentence, {"valid_from": sentence})
    return tuple(
        add(session, Tariff(kiln_id=kiln_id, **{**_draft_of(band), "valid_from": valid_from}))
        for band in held
    )


def list_tariffs(session: Session, kiln_id: int) -> tuple[TariffLine, ...]:
    """The prices of a kiln, the newest day first, as they were entered within a day."""
    rows = session.scalars(select(Tariff).where(Tariff.kiln_id == kiln_id).order_by(Tariff.id))
    lines = [TariffLine(row.id, row.version, _band(row)) for row in rows]
    lines.sort(key=lambda line: line.band.valid_from or date.min, reverse=True)
    return tuple(lines)


def read_bands(session: Session, kiln_ids: Iterable[int]) -> dict[int, Sequence[TariffBand]]:
    """The prices of some kilns, by kiln; no entry for one without any."""
    found: dict[int, list[TariffBand]] = {}
    rows = session.scalars(
        select(Tariff).where(Tariff.kiln_id.in_(sorted(set(kiln_ids)))).order_by(Tariff.id)
    )
    for row in rows:
        found.setdefault(row.kiln_id, []).append(_band(row))
    return dict(found)


def _draft_of(row: Tariff | TariffBand) -> dict[str, Any]:
    return {
        "per_kwh": row.per_kwh,
        "days": row.days,
        "starts_min": row.starts_min,
        "ends_min": row.ends_min,
        "valid_from": row.valid_from,
    }


def _band(row: Tariff) -> TariffBand:
    return TariffBand(**_draft_of(row))


def _check(draft: TariffDraft) -> None:
    if not (draft.per_kwh.is_finite() and 0 <= draft.per_kwh <= _MOST):
        sentence = "A price of a kWh is a number from 0 up, in your own money."
        raise UserProblem(sentence, {"per_kwh": sentence})
    if draft.days not in TARIFF_DAYS:
        raise ValueError(f"Days are one of {', '.join(TARIFF_DAYS)}, not {draft.days!r}.")
    if not 0 <= draft.starts_min < DAY_MIN:
        sentence = "Hours begin between 0:00 and 23:59."
        raise UserProblem(sentence, {"starts_min": sentence})
    if not 0 < draft.ends_min <= DAY_MIN:
        sentence = "Hours end between 0:01 and 24:00."
        raise UserProblem(sentence, {"ends_min": sentence})


def _refuse_same(session: Session, kiln_id: int, draft: TariffDraft) -> None:
    query = select(Tariff.id).where(
        Tariff.kiln_id == kiln_id,
        Tariff.days == draft.days,
        Tariff.starts_min == draft.starts_min,
        Tariff.ends_min == draft.ends_min,
        Tariff.valid_from.is_not_distinct_from(draft.valid_from),
    )
    if session.scalar(query) is not None:
        sentence = _SAME[0].upper() + _SAME[1:]
        raise UserProblem(sentence, {"valid_from": sentence})
