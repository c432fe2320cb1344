"""Which moment of a piece's life a photo shows, proposed from the stages the piece went through."""

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

LATER_AFTER = timedelta(days=14)

_MOMENT_OF_STAGE = {
    "wet": "making",
    "leather_hard": "making",
    "bone_dry": "bone_dry",
    "bisque": "bisque",
    "glazed": "glazed",
    "fired": "fired",
    "finished": "fired",
}


def propose_moment(
    taken_at: datetime | None, stage_dates: Sequence[tuple[datetime | date, str]]
) -> str:
    """Propose making, bone_dry, bisque, glazed, fired or later.

    ``stage_dates`` are (when, stage) in any order; a bare day counts from its first minute. What
    was lost shows what it was before. A fired piece is shown *later* when the photo was taken
    more than 14 days after it last came from the glaze kiln. Without ``taken_at`` the stage the
    piece is in now decides.
    """
    history = sorted(
        ((_as_written(when), stage) for when, stage in stage_dates if stage in _MOMENT_OF_STAGE),
        key=lambda entry: entry[0],
    )
    if taken_at is not None:
        moment_taken = _as_written(taken_at)
        history = [entry for entry in history if entry[0] <= moment_taken]
    if not history:
        return "making"
    moment = _MOMENT_OF_STAGE[history[-1][1]]
    if moment == "fired" and taken_at is not None:
        firings = [when for when, stage in history if stage == "fired"] or [history[-1][0]]
        if moment_taken - firings[-1] > LATER_AFTER:
            return "later"
    return moment


def _as_written(when: datetime | date) -> datetime:
    """Local time without a zone, as a camera writes it."""
    if not isinstance(when, datetime):
        return datetime.combine(when, time.min)
    return when if when.tzinfo is None else when.astimezone().replace(tzinfo=None)
