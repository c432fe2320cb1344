"""The tiles of a preview or of a page as cells to draw, each with its sentence."""

from collections.abc import Callable, Sequence

from studiolog.craft.glaze.plans import tile_spot
from studiolog.craft.words import FAULTS, METHODS, SEVERITIES, SURFACES
from studiolog.journal.plan_page import PlanLayerLine, PlanPage, PlanTileLine
from studiolog.journal.plans import PlanPreview, PreviewTile
from studiolog.ui.parts.swatch import GlazeLook
from studiolog.ui.plans.marks import stage_words
from studiolog.ui.plans.tile_picture import TileCell, TileMark


def cells_of_preview(preview: PlanPreview) -> tuple[TileCell, ...]:
    """The tiles as they will lie."""
    layout = preview.layout
    looks = [GlazeLook(one.label, one.colour, one.pattern) for one in preview.corners]
    cells = []
    for tile in preview.tiles:
        layers = tuple(GlazeLook(one.title, one.colour, one.pattern) for one in tile.layers)
        cells.append(
            TileCell(
                position=tile.position,
                row=tile.row,
                column=tile.column,
                spot=tile_spot(layout.kind, tile.row, tile.column, layout.rows),
                code=tile.code,
                words=tile.words,
                sentence=_say_planned(tile),
                look=GlazeLook(tile.code, tile.colour, tile.pattern),
                shares=_shares(looks, tile.shares),
                layers=layers if len(layers) > 1 else (),
                mark=TileMark(_share_words(tile.shares)),
            )
        )
    return tuple(cells)


def cells_of_page(page: PlanPage, mark: Callable[[PlanTileLine], TileMark]) -> tuple[TileCell, ...]:
    """The tiles of a stored plan with what the marks say of each."""
    return tuple(cell_of_tile(page, tile, mark(tile)) for tile in page.tiles)


def cell_of_tile(page: PlanPage, tile: PlanTileLine, mark: TileMark | None = None) -> TileCell:
    """One tile of a stored plan."""
    looks = [GlazeLook(one.title, one.colour, one.pattern) for one in page.corners]
    return TileCell(
        position=tile.position,
        row=tile.row,
        column=tile.column,
        spot=tile_spot(page.kind, tile.row, tile.column, page.rows),
        code=tile.code,
        words=tile.words,
        sentence=say_tile(tile),
        look=GlazeLook(tile.code, tile.colour, tile.pattern),
        shares=_shares(looks, tile.shares),
        layers=_layer_looks(tile) if len(tile.layers) > 1 else (),
        picture=_picture_of(tile),
        mark=mark,
        stage=tile.stage or "",
        ident=tile.tile_id,
    )


def _picture_of(tile: PlanTileLine) -> tuple[str, str] | None:
    """Its newest photo after firing, or else before."""
    if tile.picture:
        return tile.picture, tile.picture_suffix
    if tile.raw_picture:
        return tile.raw_picture, tile.raw_picture_suffix
    return None


def _layer_looks(tile: PlanTileLine) -> tuple[GlazeLook, ...]:
    return tuple(GlazeLook(one.title, one.colour, one.pattern) for one in tile.layers)


def _shares(
    looks: Sequence[GlazeLook], shares: Sequence[float]
) -> tuple[tuple[GlazeLook, float], ...]:
    if len(shares) != len(looks) or len(shares) < 2:
        return ()
    return tuple(zip(looks, shares, strict=True))


def _share_words(shares: Sequence[float]) -> str:
    if len(shares) < 2:
        return ""
    return " : ".join(f"{share * 100:.0f}" for share in shares)


def _say_planned(tile: PreviewTile) -> str:
    return f"{tile.code}: {tile.words}, row {tile.row}, column {tile.column}"


def say_layer(layer: PlanLayerLine) -> str:
    """One layer in words: "Kelp, dip, 3 s"."""
    parts = [layer.title]
    if layer.method:
        parts.append(METHODS[layer.method])
    if layer.coats:
        parts.append(f"{layer.coats} coat{'' if layer.coats == 1 else 's'}")
    if layer.seconds:
        parts.append(f"{layer.seconds:g} s")
    return ", ".join(parts)


def say_tile(tile: PlanTileLine) -> str:
    """A tile in a sentence: code, glaze, how far it came, and what was seen."""
    parts = [f"{tile.code}: {tile.words}", stage_words(tile)]
    if tile.looked:
        seen = dict(tile.seen)
        parts += [f"{FAULTS[fault]} {SEVERITIES[seen.get(fault, 0)]}" for fault in tile.looked]
    elif tile.stage in ("fired", "finished") and not tile.looked_at:
        parts.append("not looked at yet")
    parts += [SURFACES[word] for word in tile.surface]
    return ", ".join(parts)
