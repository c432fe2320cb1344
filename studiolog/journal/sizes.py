"""How much a clay shrinks, from the sizes this studio has measured wet, dry, bisque and fired."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from studiolog.craft.clay.shrinkage import (
    KnownShrinkage,
    Spread,
    drying_part,
    far_out,
    know,
    read_error_of,
    spread,
)
from studiolog.craft.firing.cones import band_of
from studiolog.craft.limits import Limits
from studiolog.journal.limits import read_limits
from studiolog.journal.writing import get
from studiolog.records.clays import Clay
from studiolog.records.facts import piece_fact
from studiolog.records.forms import Form
from studiolog.records.pieces import Measurement, Piece

MEASURES: Final[Mapping[str, str]] = {
    "mark_mm": "marks",
    "across_mm": "across",
    "height_mm": "height",
}
"""What a length may be taken by, best first: marks do not move as a rim does when it is trimmed
or warps."""

MOST_PIECES: Final = 500
"""The newest measured pieces of a clay are looked at, bars and others each; more tell no more."""

_STAGES: Final = ("wet", "bone_dry", "bisque", "fired", "finished")
_SPANS: Final = (
    ("drying", "wet", "bone_dry"),
    ("bisque", "wet", "bisque"),
    ("firing", "bone_dry", "fired"),
    ("total", "wet", "fired"),
)


@dataclass(frozen=True)
class MeasuredShrinkage:
    """One piece from one stage to another. ``by`` is what was measured both times.

    ``cone10`` is the cone at the piece (tenths), ``cone_basis`` how it is known. ``far`` says that
    it lies far from the others; it counts all the same.
    """

    piece_id: int
    number: int | None
    name: str
    by: str
    before_mm: float
    after_mm: float
    shrinkage: float
    cone10: int | None
    cone_basis: str | None
    far: bool = False


@dataclass(frozen=True)
class LeftOutSize:
    """A pair of sizes that can't be a shrinkage, and why."""

    piece_id: int
    number: int | None
    name: str
    by: str
    before_mm: float
    after_mm: float
    why: str


@dataclass(frozen=True)
class StageShrinkage:
    """What was measured between two stages. ``key`` is drying, bisque, firing or total."""

    key: str
    before: str
    after: str
    pieces: tuple[MeasuredShrinkage, ...]
    left_out: tuple[LeftOutSize, ...]

    @property
    def spread(self) -> Spread | None:
        """Mean, standard deviation and number; None where nothing was measured."""
        return spread([one.shrinkage for one in self.pieces])

    def without_far(self, by: str) -> Spread | None:
        """Of those taken by one measure, without those that lie far from the others; None where
        none does."""
        some = [one for one in self.pieces if one.by == by]
        if not any(one.far for one in some):
            return None
        return spread([one.shrinkage for one in some if not one.far])

    @property
    def by(self) -> Mapping[str, Spread]:
        """The same by what it was taken by, best first."""
        told = {
            key: spread([one.shrinkage for one in self.pieces if one.by == key]) for key in MEASURES
        }
        return {key: one for key, one in told.items() if one is not None}


@dataclass(frozen=True)
class BandShrinkage:
    """Total shrinkage of the pieces that tell it (`ClayShrinkage.telling`) and got the cones of a
    band; None: of which none is known."""

    band: int | None
    spread: Spread
    bases: Mapping[str, int]
    """How many of them have their cone by what."""


@dataclass(frozen=True)
class ClayShrinkage:
    """All that is known of how a clay shrinks."""

    clay_id: int
    name: str
    colour: str
    specks: str
    stated: float | None
    stages: tuple[StageShrinkage, ...]
    bands: tuple[BandShrinkage, ...]
    limits: Limits

    def stage(self, key: str) -> StageShrinkage:
        """One of drying, bisque, firing, total."""
        return next(one for one in self.stages if one.key == key)

    def known(self, band: int | None = None) -> KnownShrinkage:
        """The total shrinkage of one more piece; of a cone band if that was measured enough.

        See `band_speaks`. What is stated is held for any cone.
        """
        pieces = self.telling("total")
        if band is not None and self.band_speaks(band):
            pieces = tuple(one for one in pieces if _band(one.cone10) == band)
        return know([one.shrinkage for one in pieces], self.stated, self.limits)

    def telling(self, key: str) -> tuple[MeasuredShrinkage, ...]:
        """The pieces that tell a shrinkage: those by the best measure that has enough of them
        (``clay_enough_pieces``), for a height or a rim is trimmed and warps; else all."""
        return telling_of(self.stage(key).pieces, self.limits)

    def band_speaks(self, band: int | None) -> bool:
        """Whether enough pieces of a cone band were measured to tell of it alone."""
        here = next((one for one in self.bands if one.band == band and band is not None), None)
        return here is not None and here.spread.n >= self.limits["clay_enough_pieces"]

    def known_drying(self) -> KnownShrinkage:
        """The shrinkage wet to bone dry of one more piece."""
        measured = [one.shrinkage for one in self.telling("drying")]
        usual = drying_part(self.known().mean, self.limits)
        return know(measured, None, self.limits, usual)


@dataclass(frozen=True)
class _Sized:
    piece_id: int
    number: int | None
    name: str
    cone10: int | None
    cone_basis: str | None
    sizes: Mapping[str, Mapping[str, float]]
    """Stage, then measure: mm."""


def read_shrinkage(session: Session, clay_id: int) -> ClayShrinkage:
    """What is known of a clay's shrinkage. Raises UserProblem if the clay is gone."""
    clay = get(session, Clay, clay_id)
    limits = read_limits(session)
    pieces = list(_sized(session, clay_id))
    stages = tuple(_between(key, before, after, pieces, limits) for key, before, after in _SPANS)
    return ClayShrinkage(
        clay.id,
        clay.name,
        clay.colour,
        clay.specks,
        None if clay.shrinkage_percent is None else clay.shrinkage_percent / 100.0,
        stages,
        _bands(telling_of(stages[-1].pieces, limits)),
        limits,
    )


def telling_of(
    pieces: Sequence[MeasuredShrinkage], limits: Limits
) -> tuple[MeasuredShrinkage, ...]:
    """As `ClayShrinkage.telling`."""
    for key in MEASURES:
        some = tuple(one for one in pieces if one.by == key)
        if len(some) >= limits["clay_enough_pieces"]:
            return some
    return tuple(pieces)


def _sized(session: Session, clay_id: int) -> Iterable[_Sized]:
    marked = select(Measurement.piece_id).where(Measurement.mark_mm.is_not(None))
    # Walked from the newest back, so that an old studio's many pieces cost nothing.
    sized = exists().where(
        Measurement.piece_id == Piece.id,
        Measurement.stage.in_(("wet", "bone_dry")),
        Measurement.across_mm.is_not(None) | Measurement.height_mm.is_not(None),
    )
    newest: dict[int, None] = {}
    for measured in (Piece.id.in_(marked), sized):
        query = select(Piece.id).where(Piece.clay_id == clay_id, measured)
        found = session.scalars(query.order_by(Piece.id.desc()).limit(MOST_PIECES))
        newest |= dict.fromkeys(found)
    ids = sorted(newest, reverse=True)
    sizes: dict[int, dict[str, dict[str, float]]] = defaultdict(dict)
    for start in range(0, len(ids), 500):
        for row in session.execute(
            select(
                Measurement.piece_id,
                Measurement.stage,
                Measurement.mark_mm,
                Measurement.across_mm,
                Measurement.height_mm,
            ).where(
                Measurement.piece_id.in_(ids[start : start + 500]), Measurement.stage.in_(_STAGES)
            )
        ):
            # A finished piece has the size it was fired to, where that was not measured itself.
            stage = "fired" if row.stage == "finished" else row.stage
            told = {key: getattr(row, key) for key in MEASURES if getattr(row, key) is not None}
            there = sizes[row.piece_id].setdefault(stage, {})
            for key, value in told.items():
                if row.stage != "finished" or key not in there:
                    there[key] = value
    for start in range(0, len(ids), 500):
        for row in session.execute(
            select(
                Piece.id,
                Piece.number,
                Piece.title,
                Form.name,
                piece_fact.c.cone10,
                piece_fact.c.cone_basis,
            )
            .outerjoin(Form, Form.id == Piece.form_id)
            .outerjoin(piece_fact, piece_fact.c.piece_id == Piece.id)
            .where(Piece.id.in_(ids[start : start + 500]))
            .order_by(Piece.id.desc())
        ):
            name = row.title or row.name or "Piece"
            yield _Sized(row.id, row.number, name, row.cone10, row.cone_basis, sizes[row.id])


def _between(
    key: str, before: str, after: str, pieces: Sequence[_Sized], limits: Limits
) -> StageShrinkage:
    found: list[MeasuredShrinkage] = []
    left_out: list[LeftOutSize] = []
    most = limits["clay_most_shrinkage"] / 100.0
    for piece in pieces:
        one, two = piece.sizes.get(before, {}), piece.sizes.get(after, {})
        by = next((name for name in MEASURES if name in one and name in two), None)
        if by is None:
            continue
        shrunk = (one[by] - two[by]) / one[by]
        # A reading may be off both ways: growth within that is a shrinkage of about nothing.
        slack = 3.0 * read_error_of(one[by], 0.0, limits)
        why = ""
        if shrunk < -slack:
            why = "it would have grown"
        elif shrunk > most:
            why = f"more than {limits['clay_most_shrinkage']:g} % is a slip of the pen"
        if why:
            left_out.append(
                LeftOutSize(piece.piece_id, piece.number, piece.name, by, one[by], two[by], why)
            )
            continue
        found.append(
            MeasuredShrinkage(
                piece.piece_id, piece.number, piece.name, by, one[by], two[by], max(shrunk, 0.0),
                piece.cone10, piece.cone_basis,
            )
        )  # fmt: skip
    return StageShrinkage(key, before, after, _mark_far(found, limits), tuple(left_out))


def _mark_far(pieces: Sequence[MeasuredShrinkage], limits: Limits) -> tuple[MeasuredShrinkage, ...]:
    """Each held against those that were taken alike."""
    marked = {
        one.piece_id: one
        for key in MEASURES
        for one in _far_of_one([one for one in pieces if one.by == key], limits)
    }
    return tuple(marked[one.piece_id] for one in pieces)


def _far_of_one(
    pieces: Sequence[MeasuredShrinkage], limits: Limits
) -> tuple[MeasuredShrinkage, ...]:
    errors = [read_error_of(one.before_mm, one.shrinkage, limits) for one in pieces]
    error = sorted(errors)[len(errors) // 2] if errors else 0.0
    far = set(far_out([one.shrinkage for one in pieces], error, limits))
    return tuple(
        replace(one, far=True) if place in far else one for place, one in enumerate(pieces)
    )


def _bands(pieces: Sequence[MeasuredShrinkage]) -> tuple[BandShrinkage, ...]:
    groups: dict[int | None, list[MeasuredShrinkage]] = defaultdict(list)
    for one in pieces:
        groups[_band(one.cone10)].append(one)
    found = []
    for band in sorted(groups, key=lambda key: (key is None, key or 0)):
        told = spread([one.shrinkage for one in groups[band]])
        assert told is not None
        bases: dict[str, int] = defaultdict(int)
        for one in groups[band]:
            if one.cone_basis is not None:
                bases[one.cone_basis] += 1
        found.append(BandShrinkage(band, told, dict(bases)))
    return tuple(found)


def _band(cone10: int | None) -> int | None:
    return None if cone10 is None else band_of(cone10)
