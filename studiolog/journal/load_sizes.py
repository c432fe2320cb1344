"""How large ware is by now: measured, or scaled to its stage by what its clay shrinks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.clay.shrinkage import drying_part, fired_size, know, make_size
from studiolog.craft.limits import Limits
from studiolog.craft.units import show_quantity
from studiolog.craft.words import STAGES
from studiolog.journal.sizes import read_shrinkage
from studiolog.problems import UserProblem
from studiolog.records.pieces import Measurement

_ORDER: Final = ("wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired", "finished")

_BASES: Final = {
    "measured": "as measured",
    "few measured": "as few measured",
    "stated": "as stated",
    "common practice": "usual, nobody measured it",
}
_CORNERS: Final = 2.0 / 3.0**0.5
_ALIKE: Final = 0.02


class SizedRow(Protocol):
    """What is read of a piece, its form and its clay to tell its size."""

    @property
    def stage(self) -> str: ...
    @property
    def clay_id(self) -> int | None: ...
    @property
    def fired_across_mm(self) -> float | None: ...
    @property
    def fired_deep_mm(self) -> float | None: ...
    @property
    def fired_height_mm(self) -> float | None: ...


@dataclass(frozen=True)
class ClayScale:
    """What a clay shrinks in all and in drying, as fractions; ``basis`` tells how it is known."""

    total: float
    drying: float
    basis: str


def read_scales(
    session: Session, clay_ids: Iterable[int | None], limits: Limits
) -> dict[int | None, ClayScale]:
    """How each clay shrinks: measured in this studio, as stated, else by common practice."""
    usual = know([], None, limits)
    common = ClayScale(usual.mean, drying_part(usual.mean, limits), _BASES[usual.basis])
    scales: dict[int | None, ClayScale] = {None: common}
    for clay_id in {ident for ident in clay_ids if ident is not None}:
        try:
            clay = read_shrinkage(session, clay_id)
            known = clay.known()
            scales[clay_id] = ClayScale(known.mean, clay.known_drying().mean, _BASES[known.basis])
        except UserProblem:
            scales[clay_id] = common  # its own page says what is wrong with it
    return scales


def footprint_of(shape: str | None, across_mm: float | None, deep_mm: float | None) -> str:
    """What a form takes of a shelf: "circle", "rectangle" or "hexagon".

    A flat tile is six-sided unless its other way across was given, and tells otherwise: across
    flats and across corners are as 1 to 2/√3.
    """
    if shape != "tile":
        return "rectangle" if shape == "box" else "circle"
    if deep_mm is None or across_mm is None:
        return "hexagon"
    ratio = max(deep_mm, across_mm) / min(deep_mm, across_mm)
    return "hexagon" if abs(ratio - _CORNERS) < _ALIKE else "rectangle"


def read_sizes(
    session: Session, piece_ids: Sequence[int]
) -> dict[int, dict[str, tuple[float | None, float | None]]]:
    found: dict[int, dict[str, tuple[float | None, float | None]]] = defaultdict(dict)
    for piece_id, stage, across, height in session.execute(
        select(
            Measurement.piece_id, Measurement.stage, Measurement.across_mm, Measurement.height_mm
        ).where(Measurement.piece_id.in_(piece_ids))
    ):
        found[piece_id][stage] = (across, height)
    return found


def size_of(
    row: SizedRow,
    measured: Mapping[str, tuple[float | None, float | None]],
    shape: str,
    scale_of: ClayScale,
    limits: Limits,
) -> tuple[float, float, float, str]:
    """Across, deep and high at the piece's stage, and whence they are known.

    What was measured at the stage goes before a measurement at another, and that before the
    form's fired size: each is scaled by what the clay shrinks between the two.
    """
    stage = row.stage
    own = measured.get(stage)
    fired = (row.fired_across_mm, row.fired_height_mm)
    form_deep = row.fired_deep_mm
    usual = limits["ware_usual_mm"]
    ratio = form_deep / fired[0] if form_deep and fired[0] else 1.0
    flats = min(1.0, ratio)  # a six-sided tile is told across its flats
    if own is not None and own[0] is not None:
        across, basis = own[0], f"measured {STAGES[stage]}"
        height = own[1]
    else:
        other = next(
            (
                (name, size)
                for name, size in sorted(measured.items(), key=lambda one: _away(one[0], stage))
                if size[0] is not None and name in _ORDER
            ),
            None,
        )
        if other is not None:
            name, size = other
            scale = _scale(name, stage, scale_of)
            across = (size[0] or 0.0) * scale
            height = None if size[1] is None else size[1] * scale
            basis = f"measured {STAGES[name]}, scaled by the clay's shrinkage"
        elif fired[0] is not None:
            scale = _scale("fired", stage, scale_of)
            across, height = fired[0] * scale, None
            told = show_quantity(100 * scale_of.total, "%", 1)
            basis = f"fired size of the form, shrinkage {told} ({scale_of.basis}) partly undone"
            if scale == 1.0:
                basis = "fired size of the form"
        else:
            across, height, basis = usual, None, "no size is known: a usual one taken"
    if height is None:
        scale = _scale("fired", stage, scale_of)
        height = fired[1] * scale if fired[1] is not None else across
        if fired[1] is None:
            basis += "; as high as wide"
    if shape == "hexagon":
        across *= flats
    deep = across * ratio if shape == "rectangle" else across
    return round(across, 1), round(deep, 1), round(height, 1), basis


def _away(name: str, stage: str) -> int:
    if name not in _ORDER:
        return len(_ORDER)
    return abs(_ORDER.index(name) - _ORDER.index(stage)) if stage in _ORDER else 0


def _scale(known_at: str, stage: str, clay: ClayScale) -> float:
    """How much larger ware is at ``stage`` than at ``known_at``."""
    return _of_fired(stage, clay) / _of_fired(known_at, clay)


def _of_fired(stage: str, clay: ClayScale) -> float:
    """Size at a stage over the fired size. Bisque shrinks little after drying: taken as dry."""
    if stage in ("fired", "finished", "lost") or clay.total <= 0.0:
        return 1.0
    wet = make_size(1.0, clay.total)
    if stage in ("wet", "leather_hard"):
        return wet
    return fired_size(wet, min(clay.drying, clay.total))
