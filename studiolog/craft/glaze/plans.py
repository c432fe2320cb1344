"""Test plans laid out: which tiles a plan has, where each lies, and what each is to get.

Rows and columns count from 1. Corners are the glazes a plan starts from, in order; a grid's stand
top left, top right, bottom left, bottom right, a triangle's first on top. A pyramid lies in its
slices from the top: its first glaze alone, then a triangle with ever less of it and larger by one.
"""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from types import MappingProxyType
from typing import Any, Final

from studiolog.craft.glaze.blend import (
    Shares,
    grid_shares,
    share_words,
    simplex_shares,
    weight_shares,
)
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number, show_quantity
from studiolog.craft.words import PLAN_KINDS
from studiolog.problems import UserProblem

BLENDS: Final = ("line", "triaxial", "grid", "pyramid", "silica_alumina")
"""Kinds whose tiles are blends of corners."""

CORNERS: Final[Mapping[str, tuple[int, int]]] = MappingProxyType(
    {
        "line": (2, 2),
        "triaxial": (3, 3),
        "grid": (4, 4),
        "pyramid": (4, 4),
        "silica_alumina": (1, 1),
        "additions": (1, 1),
        "over_under": (2, 12),
        "thickness": (1, 12),
    }
)
"""Fewest and most glazes of a kind; a silica by alumina grid has one, from which four are made."""

MEASURES: Final[Mapping[str, str]] = {"coats": "coats", "seconds": "seconds in the bucket"}
_MOST_MOLES: Final = 100.0
_MOST_CODES: Final = 4
_SLICES_APART: Final = 0.15  # of a tile, between the slices of a pyramid
_MOST_STEP: Final = {"coats": 50, "seconds": 3600}
BLEND_WAYS: Final[Mapping[str, str]] = {
    "volume": "corner slurries poured together by volume",
    "weight": "dry corners weighed together for each tile",
}


@dataclass(frozen=True, slots=True)
class Ladder:
    """An addition in steps: parts on the hundred of the base; 0 is the base as it is."""

    material: str
    amounts: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class PlanOptions:
    """What a kind of plan needs besides its glazes; each kind reads its own.

    ``along`` is tiles along a line or along the edge of a triangle or a pyramid. ``silica`` and
    ``alumina`` are the ends of a grid in moles per mole of flux, ``shelf`` the materials it may use
    besides the base's own, ``equal_weight`` blends its corners by equal dry weight, which is not
    exact. Of two ``ladders`` the first runs along the columns, the second down the rows. ``zone``,
    ``method``, ``coats`` and ``seconds`` say how every tile is glazed, where the kind leaves it
    open; what goes over another goes on ``over_zone``, so that the one under it is seen alone as
    well.
    """

    along: int = 6
    rows: int = 3
    columns: int = 3
    silica: tuple[float, float] | None = None
    alumina: tuple[float, float] | None = None
    equal_weight: bool = False
    shelf: tuple[str, ...] = ()
    ladders: tuple[Ladder, ...] = ()
    measure: str = "coats"
    amounts: tuple[float, ...] = ()
    blend_by: str = "volume"
    zone: str = "outside"
    over_zone: str = "outside, upper"
    method: str | None = None
    coats: int | None = None
    seconds: float | None = None


@dataclass(frozen=True, slots=True)
class TileLayer:
    """A layer a tile is to get. ``corner`` counts from 0; None is the tile's own blend."""

    corner: int | None
    method: str | None = None
    coats: int | None = None
    seconds: float | None = None


@dataclass(frozen=True, slots=True)
class LayoutTile:
    """One tile: its place, its share of each corner's dry weight, and its layers outward.

    ``shares`` is empty where the tile is no blend, ``additions`` (material, parts on the hundred)
    where nothing is added. ``aim`` is the silica and alumina a grid asks of it.
    """

    position: int
    row: int
    column: int
    words: str
    shares: Shares = ()
    additions: tuple[tuple[str, float], ...] = ()
    layers: tuple[TileLayer, ...] = ()
    aim: tuple[float, float] | None = None

    @property
    def only_corner(self) -> int | None:
        """The corner this tile is all of, counted from 0; None for a blend and for no blend."""
        for place, share in enumerate(self.shares):
            if share >= 1.0 - 1e-12:
                return place
        return None


@dataclass(frozen=True, slots=True)
class Layout:
    """All tiles of a plan, by rows from the top."""

    kind: str
    rows: int
    columns: int
    tiles: tuple[LayoutTile, ...]


def write_options(options: PlanOptions) -> str:
    """Options as they are kept with a plan: JSON of what differs from the usual."""
    usual = asdict(PlanOptions())
    kept = {name: value for name, value in asdict(options).items() if value != usual[name]}
    return json.dumps(kept, ensure_ascii=False) if kept else ""


def read_options(text: str) -> PlanOptions:
    """Options as they were kept; names a newer program may have added are passed over."""
    kept: dict[str, Any] = json.loads(text) if text.strip() else {}
    known = {one.name for one in fields(PlanOptions)}
    found: dict[str, Any] = {name: value for name, value in kept.items() if name in known}
    for name in ("silica", "alumina", "shelf", "amounts"):
        if found.get(name) is not None:
            found[name] = tuple(found[name])
    if "ladders" in found:
        found["ladders"] = tuple(
            Ladder(one["material"], tuple(one["amounts"])) for one in found["ladders"]
        )
    return PlanOptions(**found)


def tile_code(code: str, position: int) -> str:
    """What is written on a tile: "B7"."""
    return f"{code}{position}"


def few_codes(codes: Sequence[str]) -> str:
    """``A1, A2, A3, A4 and 3 more``."""
    more = f" and {len(codes) - _MOST_CODES} more" if len(codes) > _MOST_CODES else ""
    return f"{', '.join(codes[:_MOST_CODES])}{more}"


def trial_name(code: str, position: int) -> str:
    """What the glaze of a tile is called while it is only that: "B-7"."""
    return f"{code}-{position}"


def count_tiles(kind: str, corners: int, options: PlanOptions) -> int:
    """How many tiles a plan has; 0 where its options leave it open. Raises KeyError if no kind."""
    along = max(options.along, 0)
    counts = {
        "line": along,
        "triaxial": along * (along + 1) // 2,
        "grid": options.rows * options.columns,
        "pyramid": along * (along + 1) * (along + 2) // 6,
        "silica_alumina": options.rows * options.columns,
        "additions": math.prod(len(one.amounts) for one in options.ladders)
        if options.ladders
        else 0,
        "over_under": corners * corners,
        "thickness": corners * len(options.amounts),
    }
    return counts[kind]


def lay_out_plan(
    kind: str,
    labels: Sequence[str],
    options: PlanOptions,
    *,
    flux_grams: Sequence[float] | None = None,
    limits: Limits = SHIPPED,
) -> Layout:
    """The tiles of a plan of ``kind`` from glazes named by ``labels``.

    ``flux_grams`` is, for a silica by alumina grid, the grams of each computed corner per mole of
    flux (see `blend.weight_shares`); without it the shares stand for shares of the flux. Raises
    `UserProblem`, with the field in question, for a plan that can't be.
    """
    if kind not in PLAN_KINDS:
        raise UserProblem(f"“{kind}” is no kind of plan: {', '.join(PLAN_KINDS.values())}.")
    _check_corners(kind, len(labels))
    _check_shape(kind, options)
    tiles = count_tiles(kind, len(labels), options)
    most = int(limits["plan_most_tiles"])
    if tiles > most:
        sentence = (
            f"That would be {tiles} tiles; a plan has at most {most}. "
            "Take fewer steps, or make two plans of it."
        )
        raise UserProblem(sentence, {"tiles": sentence})
    if kind == "line":
        return _line(labels, options)
    if kind == "triaxial":
        return _triangle(labels, options)
    if kind == "grid":
        return _grid(labels, options)
    if kind == "pyramid":
        return _pyramid(labels, options)
    if kind == "silica_alumina":
        return _silica_alumina(options, flux_grams)
    if kind == "additions":
        return _additions(options)
    if kind == "over_under":
        return _over_under(labels, options)
    return _thickness(labels, options)


def _check_corners(kind: str, corners: int) -> None:
    fewest, most = CORNERS[kind]
    if fewest <= corners <= most:
        return
    needed = f"{fewest}" if fewest == most else f"{fewest} to {most}"
    noun = "glaze" if most == 1 else "glazes"
    name = PLAN_KINDS[kind]
    sentence = f"{name[0].upper()}{name[1:]}: choose {needed} {noun}, not {corners}."
    raise UserProblem(sentence, {"corners": sentence})


def _check_shape(kind: str, options: PlanOptions) -> None:
    if kind == "silica_alumina":
        for name, oxide in (("silica", "SiO₂"), ("alumina", "Al₂O₃")):
            _check_range(name, oxide, getattr(options, name))
    if kind == "additions":
        if not 1 <= len(options.ladders) <= 2:
            sentence = "Name one addition in steps, or two to be crossed."
            raise UserProblem(sentence, {"ladders": sentence})
        for ladder in options.ladders:
            _check_ladder(ladder)
    if kind == "thickness":
        _check_steps(options)


def _check_range(name: str, oxide: str, ends: tuple[float, float] | None) -> None:
    if ends is None:
        sentence = f"Say from how much {oxide} to how much the grid goes, in moles."
    elif not 0 <= ends[0] < ends[1]:
        sentence = (
            f"{oxide} goes from less to more: {show_number(ends[0], 2)} to "
            f"{show_number(ends[1], 2)} does not."
        )
    elif ends[1] > _MOST_MOLES:
        sentence = f"{oxide} goes up to {_MOST_MOLES:g} moles at most in such a grid."
    else:
        return
    raise UserProblem(sentence, {name: sentence})


def _check_ladder(ladder: Ladder) -> None:
    if not ladder.material.strip():
        sentence = "Name the material that is added."
    elif len(ladder.amounts) < 2:
        sentence = f"{ladder.material}: an addition in steps needs at least two amounts."
    elif not all(0 <= one <= 100 for one in ladder.amounts):
        sentence = f"{ladder.material}: an addition is 0 to 100 parts on the hundred."
    elif len(set(ladder.amounts)) < len(ladder.amounts):
        sentence = f"{ladder.material}: the same amount stands there twice."
    else:
        return
    raise UserProblem(sentence, {"ladders": sentence})


def _check_steps(options: PlanOptions) -> None:
    if options.measure not in MEASURES:
        raise UserProblem(f"“{options.measure}” is no measure: {', '.join(MEASURES.values())}.")
    amounts = options.amounts
    sentence = ""
    if len(amounts) < 2:
        sentence = "A thickness in steps needs at least two of them."
    elif not all(0 < one <= _MOST_STEP[options.measure] for one in amounts):
        most = _MOST_STEP[options.measure]
        sentence = f"Every step is more than 0 and at most {most} {options.measure}."
    elif options.measure == "coats" and any(one != round(one) for one in amounts):
        sentence = "Coats are counted: give whole numbers."
    elif len(set(amounts)) < len(amounts):
        sentence = "The same step stands there twice."
    if sentence:
        raise UserProblem(sentence, {"amounts": sentence})


def _blend_layers(options: PlanOptions) -> tuple[TileLayer, ...]:
    return (TileLayer(None, options.method, options.coats, options.seconds),)


def _line(labels: Sequence[str], options: PlanOptions) -> Layout:
    tiles = tuple(
        LayoutTile(place, 1, place, share_words(shares, labels), shares=shares,
                   layers=_blend_layers(options))
        for place, shares in enumerate(simplex_shares(2, options.along), start=1)
    )  # fmt: skip
    return Layout("line", 1, options.along, tiles)


def _triangle(labels: Sequence[str], options: PlanOptions) -> Layout:
    steps = options.along - 1
    tiles = []
    for place, shares in enumerate(simplex_shares(3, options.along), start=1):
        row = steps - round(shares[0] * steps) + 1
        column = round(shares[2] * steps) + 1
        words = share_words(shares, labels)
        tiles.append(
            LayoutTile(place, row, column, words, shares=shares, layers=_blend_layers(options))
        )
    return Layout("triaxial", options.along, options.along, tuple(tiles))


def _grid(labels: Sequence[str], options: PlanOptions) -> Layout:
    tiles = []
    for row, line in enumerate(grid_shares(options.rows, options.columns), start=1):
        for column, shares in enumerate(line, start=1):
            place = (row - 1) * options.columns + column
            words = share_words(shares, labels)
            tiles.append(
                LayoutTile(place, row, column, words, shares=shares, layers=_blend_layers(options))
            )
    return Layout("grid", options.rows, options.columns, tuple(tiles))


def _pyramid(labels: Sequence[str], options: PlanOptions) -> Layout:
    """Slices of equal share of the first glaze, each a triangle of the other three."""
    steps = options.along - 1
    tiles = []
    for place, shares in enumerate(simplex_shares(4, options.along), start=1):
        slice_at = steps - round(shares[0] * steps)
        row = _rows_above(slice_at) + slice_at - round(shares[1] * steps) + 1
        column = round(shares[3] * steps) + 1
        words = share_words(shares, labels)
        tiles.append(
            LayoutTile(place, row, column, words, shares=shares, layers=_blend_layers(options))
        )
    return Layout("pyramid", _rows_above(options.along), options.along, tuple(tiles))


def _rows_above(slice_at: int) -> int:
    """Rows of the slices of a pyramid over one, counted from 0: that has one row more."""
    return slice_at * (slice_at + 1) // 2


def _slice_of(row: int) -> int:
    """The slice of a pyramid, counted from 0, that a row from 1 lies in."""
    return (math.isqrt(8 * (row - 1) + 1) - 1) // 2


def grid_aims(options: PlanOptions) -> tuple[tuple[float, float], ...]:
    """Silica and alumina asked of the four corners of a grid, in the order corners stand.

    Silica grows to the right and alumina upward, as on a map of the two.
    """
    assert options.silica is not None
    assert options.alumina is not None
    (less_si, more_si), (less_al, more_al) = options.silica, options.alumina
    return ((less_si, more_al), (more_si, more_al), (less_si, less_al), (more_si, less_al))


def _silica_alumina(options: PlanOptions, flux_grams: Sequence[float] | None) -> Layout:
    aims = grid_aims(options)
    tiles = []
    for row, line in enumerate(grid_shares(options.rows, options.columns), start=1):
        for column, even in enumerate(line, start=1):
            place = (row - 1) * options.columns + column
            aim = (
                sum(share * aim[0] for share, aim in zip(even, aims, strict=True)),
                sum(share * aim[1] for share, aim in zip(even, aims, strict=True)),
            )
            exact = flux_grams is not None and not options.equal_weight
            shares = weight_shares(even, flux_grams) if exact and flux_grams else even
            words = f"SiO₂ {write_aim(aim[0])}, Al₂O₃ {write_aim(aim[1])}"
            tiles.append(
                LayoutTile(place, row, column, words, shares=shares,
                           layers=_blend_layers(options), aim=aim)
            )  # fmt: skip
    return Layout("silica_alumina", options.rows, options.columns, tuple(tiles))


def write_aim(moles: float) -> str:
    """Moles per mole of flux that a grid asks for: "3", "0.45"."""
    return f"{moles:.3f}".rstrip("0").rstrip(".")


def _additions(options: PlanOptions) -> Layout:
    across = options.ladders[0]
    down = options.ladders[1] if len(options.ladders) == 2 else None
    tiles = []
    for row, second in enumerate(down.amounts if down else (0.0,), start=1):
        for column, first in enumerate(across.amounts, start=1):
            given = [(across.material, first)] + ([(down.material, second)] if down else [])
            added = tuple((material, amount) for material, amount in given if amount > 0)
            words = ", ".join(f"{amount:g} {material}" for material, amount in added)
            tiles.append(
                LayoutTile(
                    (row - 1) * len(across.amounts) + column, row, column,
                    f"+ {words}" if words else "nothing added",
                    additions=added, layers=_blend_layers(options),
                )
            )  # fmt: skip
    return Layout("additions", len(down.amounts) if down else 1, len(across.amounts), tuple(tiles))


def _over_under(labels: Sequence[str], options: PlanOptions) -> Layout:
    """Each glaze over each other; down the rows what lies under, along the columns what is over."""
    tiles = []
    for under, under_label in enumerate(labels):
        for over, over_label in enumerate(labels):
            place = under * len(labels) + over + 1
            stack = (under,) if under == over else (under, over)
            layers = tuple(
                TileLayer(corner, options.method, options.coats, options.seconds)
                for corner in stack
            )
            words = f"{over_label} alone" if under == over else f"{over_label} over {under_label}"
            tiles.append(LayoutTile(place, under + 1, over + 1, words, layers=layers))
    return Layout("over_under", len(labels), len(labels), tuple(tiles))


def _thickness(labels: Sequence[str], options: PlanOptions) -> Layout:
    tiles = []
    brushed = options.measure == "coats"
    for row, label in enumerate(labels):
        for column, amount in enumerate(options.amounts, start=1):
            layer = TileLayer(
                row,
                options.method or ("brush" if brushed else "dip"),
                int(amount) if brushed else options.coats,
                options.seconds if brushed else amount,
            )
            step = _steps_words(amount, brushed)
            words = step if len(labels) == 1 else f"{label}, {step}"
            place = row * len(options.amounts) + column
            tiles.append(LayoutTile(place, row + 1, column, words, layers=(layer,)))
    return Layout("thickness", len(labels), len(options.amounts), tuple(tiles))


def _steps_words(amount: float, brushed: bool) -> str:
    if brushed:
        return "1 coat" if amount == 1 else f"{amount:g} coats"
    return show_quantity(amount, "s", 0 if amount == round(amount) else 1)


def tile_spot(kind: str, row: int, column: int, rows: int) -> tuple[float, float]:
    """Where the middle of a tile lies, in tiles, from the top left corner of the whole.

    The rows of a triangle stand centred under each other; so do the slices of a pyramid, a little
    apart.
    """
    across = column - 0.5
    if kind == "pyramid":
        slice_at = _slice_of(row)
        long = row - _rows_above(slice_at)
        return across + (_slice_of(rows) + 1 - long) / 2, row - 0.5 + slice_at * _SLICES_APART
    if kind == "triaxial":
        across += (rows - row) / 2
    return across, row - 0.5
