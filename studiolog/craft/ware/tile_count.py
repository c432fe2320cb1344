"""How many tiles to make for an area: those laid, spares, and what is lost on the way."""

import math
from dataclasses import dataclass

from studiolog.craft.clay.shrinkage import KnownShrinkage, make_size, show_percent
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number, show_quantity
from studiolog.craft.ware.loss import LossRate
from studiolog.craft.ware.offcuts import say_cut
from studiolog.craft.ware.throws import how_many_to_throw
from studiolog.craft.ware.tiles import TILE_KINDS
from studiolog.craft.ware.tiling import Layout
from studiolog.problems import UserProblem

_MINUS = "\N{MINUS SIGN}"
_MOST_CUTS = 12


@dataclass(frozen=True, slots=True)
class TileCount:
    """``lay`` tiles are used up by laying, with ``spares`` ``good`` ones are wanted.

    ``make`` gives them with a chance of ``sure`` (0 to 1); None where no number does.
    """

    lay: int
    spares: int
    good: int
    make: int | None
    sure: float
    loss: LossRate
    offcuts_serve: bool


def count_tiles(
    layout: Layout,
    loss: LossRate,
    offcuts_serve: bool = False,
    spares_share: float | None = None,
    limits: Limits = SHIPPED,
) -> TileCount:
    """From the tiles laid to those to make; what is lost is ``loss``, from wet to finished.

    Raises UserProblem for a share of spares outside 0 to 1.
    """
    share = limits["tile_spares_share"] if spares_share is None else spares_share
    if not math.isfinite(share) or not 0.0 <= share <= 1.0:
        raise UserProblem("Spares are between 0 and 100 % of the tiles laid.", {"spares": "0–100"})
    lay = layout.needed_with_offcuts if offcuts_serve else layout.needed
    spares = math.ceil(share * lay - 1e-9)
    sure = limits["tile_sure_share"]
    make = how_many_to_throw(lay + spares, sure, loss)
    return TileCount(lay, spares, lay + spares, make, sure, loss, offcuts_serve)


def say_count(layout: Layout, count: TileCount) -> tuple[str, ...]:
    """The sum, a sentence a step."""
    kinds = TILE_KINDS[layout.tile.kind]
    told = [f"{layout.whole} whole + {layout.cut} cut = {layout.needed} {kinds} to lay."]
    saved = layout.needed - layout.needed_with_offcuts
    if saved:
        by = f"straight cuts, {show_quantity(layout.saw_mm, 'mm', 1)} of saw, same side up"
        serve = "serve" if count.offcuts_serve else "could serve"
        told.append(f"Offcuts {serve} again for {saved} ({by}): {layout.needed_with_offcuts} then.")
    told.append(f"Spares {count.spares}: {count.lay} + {count.spares} = {count.good} good ones.")
    known = (
        f"{count.loss.lost} of {count.loss.pieces} counted in this studio, over what is stated"
        if count.loss.pieces
        else "stated, none counted yet"
    )
    lost = f"{show_percent(count.loss.mean, 0)} are lost from wet to finished ({known})"
    sure = show_percent(count.sure, 0)
    told.append(
        f"No number is enough: {lost}."
        if count.make is None
        else f"To be {sure} sure of them make {count.make}: {lost}."
    )
    return tuple(told)


def say_make_size(layout: Layout, known: KnownShrinkage, clay: str) -> str:
    """The size to cut in wet clay, with its sum."""
    wide, deep = layout.tile.size
    made = make_size(wide, known.mean)
    what = f"{show_number(made, 1)} mm"
    if layout.tile.kind == "rectangle":
        what = f"{show_number(made, 1)} × {show_quantity(make_size(deep, known.mean), 'mm', 1)}"
    across = " flat to flat" if layout.tile.kind == "hexagon" else ""
    return (
        f"Cut each {what}{across} in wet {clay}: {show_quantity(wide, 'mm', 1)} / (1 {_MINUS} "
        f"{show_percent(known.mean)})."
    )


def say_area(layout: Layout) -> str:
    """The area identity: tiles and joints make up the whole."""
    whole, tiles = layout.area_mm2 / 1e6, layout.tiles_mm2 / 1e6
    rest = "joints" if layout.laying.edges == "cut" else "joints and what is left free"
    return (
        f"Area {show_number(whole, 3)} m² = tiles {show_number(tiles, 3)} + {rest} "
        f"{show_quantity(whole - tiles, 'm²', 3)}."
    )


def say_remarks(layout: Layout) -> tuple[str, ...]:
    """What to look at before the first cut."""
    told = []
    if layout.tile_is_larger:
        told.append("One tile is larger than the whole area.")
    if layout.narrow:
        many = "1 cut piece is" if layout.narrow == 1 else f"{layout.narrow} cut pieces are"
        told.append(f"{many} narrow: they break and look poor. Try another start or joint.")
    if layout.to_the_joint:
        many = "1 gap" if layout.to_the_joint == 1 else f"{layout.to_the_joint} gaps"
        told.append(f"{many} at the edge too narrow for a tile: left to the joint.")
    if not layout.pieces:
        told.append("No whole tile fits.")
    return tuple(told)


def say_cuts(layout: Layout) -> tuple[str, ...]:
    """The ways of cutting by their numbers: "1: 12 pieces, 64 × 100 mm"."""
    told = [
        f"{cut.number}: {_pieces(cut.count)}, {say_cut(cut, layout.tile)}{', narrow' * cut.narrow}"
        for cut in layout.cuts[:_MOST_CUTS]
    ]
    if len(layout.cuts) > _MOST_CUTS:
        more = len(layout.cuts) - _MOST_CUTS
        told.append(f"and {more} more {'way' if more == 1 else 'ways'} of cutting")
    return tuple(told)


def _pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"
