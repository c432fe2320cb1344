"""The buckets of Tern Yard: what was weighed into each, what was done since, and weighed ware.

All of it is invented. Stock is taken in ``materials``: the lines here are the same grams.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.journal.buckets import ChangeDraft, add_change
from studiolog.journal.glazes import change_bucket, change_glaze
from studiolog.journal.pieces import SizeDraft, set_size
from studiolog.journal.writing import add
from studiolog.records.glazes import Bucket, BucketLine, RecipeLine
from studiolog.records.pieces import Layer, Measurement, Piece

FIRST_EMPTY, SECOND_EMPTY = date(2026, 4, 20), date(2026, 8, 30)
_STATED = {"Oat": 14.0}
_POURED = "The last of it was sieved into the new bucket."

# Of the newest bucket: day, kind, and what was read or added.
_SINCE: dict[str, tuple[ChangeDraft, ...]] = {
    "Kelp": (
        ChangeDraft(on=date(2026, 8, 31), kind="sieved", mesh=80),
        ChangeDraft(on=date(2026, 9, 7), kind="measured", specific_gravity=1.49, volume_ml=9600),
        ChangeDraft(on=date(2026, 9, 7), kind="water", grams=600),
        ChangeDraft(on=date(2026, 10, 12), kind="measured", specific_gravity=1.47, volume_ml=6900),
        ChangeDraft(on=date(2026, 11, 9), kind="measured", specific_gravity=1.49, volume_ml=4100),
    ),
    "Chalk": (
        ChangeDraft(on=date(2026, 8, 31), kind="sieved", mesh=80),
        ChangeDraft(on=date(2026, 9, 7), kind="water", grams=300),
        ChangeDraft(
            on=date(2026, 9, 21), kind="deflocculated", grams=4, material="Sodium silicate",
            note="stood like pudding",
        ),
        ChangeDraft(on=date(2026, 10, 26), kind="measured", specific_gravity=1.50, volume_ml=5200),
    ),
    "Rust Shore": (
        ChangeDraft(on=date(2026, 9, 1), kind="sieved", mesh=60, note="bone ash was lumpy"),
        ChangeDraft(on=date(2026, 10, 12), kind="measured", specific_gravity=1.52, volume_ml=6800),
        ChangeDraft(on=date(2026, 10, 12), kind="sieved", mesh=60),
    ),
    "Deep Tide": (
        ChangeDraft(on=date(2026, 9, 7), kind="water", grams=300),
        ChangeDraft(on=date(2026, 11, 2), kind="measured", specific_gravity=1.45, volume_ml=6300),
    ),
    "Oat": (
        ChangeDraft(on=date(2026, 9, 14), kind="measured", specific_gravity=1.55, volume_ml=8800),
        ChangeDraft(
            on=date(2026, 9, 14), kind="water", grams=500, note="thinner, against the crawling"
        ),
        ChangeDraft(on=date(2026, 9, 14), kind="sieved", mesh=100),
        ChangeDraft(on=date(2026, 11, 9), kind="measured", specific_gravity=1.51, volume_ml=4700),
    ),
    "Clear 4": (
        ChangeDraft(
            on=date(2026, 10, 5), kind="flocculated", grams=6, material="Epsom salts",
            note="it had settled hard",
        ),
    ),
}  # fmt: skip


def write_bucket_history(session: Session, buckets: Mapping[str, Sequence[int]]) -> None:
    """What was weighed into every bucket, and what became of it.

    The two older ones of each glaze are used up; of the little-used clear the second stands yet.
    """
    for name, ids in buckets.items():
        for bucket_id in ids:
            _write_lines(session, bucket_id)
        for bucket_id, day in zip(ids, (FIRST_EMPTY, SECOND_EMPTY), strict=False):
            if name == "Clear 4" and day == SECOND_EMPTY:
                continue
            add_change(session, bucket_id, ChangeDraft(on=day, kind="other", note=_POURED))
            change_bucket(session, bucket_id, used_up=True)
        for draft in _SINCE.get(name, ()) if ids else ():
            add_change(session, ids[-1], draft)


def _write_lines(session: Session, bucket_id: int) -> None:
    bucket = session.get(Bucket, bucket_id)
    assert bucket is not None
    assert bucket.dry_g is not None
    lines = session.scalars(
        select(RecipeLine)
        .where(RecipeLine.glaze_id == bucket.glaze_id)
        .order_by(RecipeLine.addition, RecipeLine.position)
    ).all()
    whole = sum(line.parts for line in lines)
    for position, line in enumerate(lines, start=1):
        wanted = bucket.dry_g * line.parts / whole
        add(
            session,
            BucketLine(
                bucket_id=bucket_id, position=position, material=line.material,
                lot_id=line.lot_id, wanted_g=wanted, weighed_g=round(wanted, 1),
            ),
        )  # fmt: skip


def weigh_ware(session: Session, glazes: Mapping[str, int]) -> None:
    """Numbered pieces of one glaze that were weighed at bisque were weighed with it raw, too.

    What they took up is what the fired piece was heavier by. Of Oat, which only tests carry alone,
    the potter states a figure.
    """
    for piece_id, bisque_g, fired_g in _weighed(session):
        took = (fired_g - bisque_g * 0.985) / 0.92
        set_size(session, piece_id, SizeDraft(stage="glazed", mass_g=round(bisque_g + took, 1)))
    for name, grams in _STATED.items():
        change_glaze(session, glazes[name], dry_g_per_piece=grams)


def _weighed(session: Session) -> list[tuple[int, float, float]]:
    alone = (
        select(Layer.piece_id)
        .group_by(Layer.piece_id)
        .having(func.count(Layer.glaze_id.distinct()) == 1)
    )
    masses: dict[int, dict[str, float]] = {}
    for row in session.scalars(
        select(Measurement)
        .join(Piece, Piece.id == Measurement.piece_id)
        .where(Measurement.piece_id.in_(alone), Measurement.mass_g.is_not(None))
        .order_by(Piece.number)
    ):
        masses.setdefault(row.piece_id, {})[row.stage] = row.mass_g or 0.0
    return [
        (piece_id, mass["bisque"], mass["fired"])
        for piece_id, mass in masses.items()
        if "bisque" in mass and "fired" in mass and "glazed" not in mass
    ]
