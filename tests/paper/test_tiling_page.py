"""The printed page of tiles: nothing overlaps, all stays on the paper, the plan keeps its scale."""

import pytest

from studiolog.craft.ware.polygons import area_of
from studiolog.craft.ware.tile_count import say_area, say_cuts, say_remarks
from studiolog.craft.ware.tiles import Laying, Tile, corner_area, polygon_area, rectangle
from studiolog.craft.ware.tiling import lay_tiles
from studiolog.paper.page import A4, LETTER, PageSize, Path
from studiolog.paper.tiling_page import TilingWords, hatch, lay_out_tiling
from tests.paper.test_firing_sheet import misplaced

AREAS = {
    "hearth": rectangle(1200, 800),
    "L": corner_area(3000, 2000, 1200, 700),
    "tall": rectangle(300, 2400),
    "slanted": polygon_area([(0, 0), (1000, 100), (900, 900), (500, 500), (0, 700)]),
}


@pytest.mark.parametrize("size", [A4, LETTER], ids=lambda size: size.name)
@pytest.mark.parametrize("which", AREAS)
def test_nothing_overlaps_or_leaves_the_page(which: str, size: PageSize) -> None:
    layout = lay_tiles(Tile("hexagon", 100), Laying("points up", 3, "tile"), AREAS[which])
    words = TilingWords(
        "Tiles for an area: the hexagonal tile of the second kitchen",
        "Make 194 hexagons",
        ("Cut each 99.4 mm flat to flat in wet Buff stoneware. " * 3, *say_remarks(layout),
         say_area(layout)),
        "; ".join(say_cuts(layout)),
    )  # fmt: skip
    page = lay_out_tiling(layout, words, size)
    assert misplaced(page) == []
    assert any(text.startswith("Scale 1 : ") for text in page.words)
    # The thickest outline is the area itself, at the scale that is written.
    (edge,) = [mark for mark in page.marks if isinstance(mark, Path) and mark.thick_mm == 0.5]
    written = next(text for text in page.words if text.startswith("Scale"))
    scale = float(written.split(":")[1].split(". ")[0])
    drawn = area_of(edge.points[:-1]) * scale**2
    assert drawn == pytest.approx(layout.area_mm2, rel=0.02)


def test_hatching_stays_inside_a_shape_that_turns_inwards() -> None:
    horseshoe = ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (6.0, 9.0), (6.0, 3.0), (3.0, 3.0),
                 (3.0, 9.0), (0.0, 9.0))  # fmt: skip
    lines = hatch(horseshoe, 2.0)
    above = [line for line in lines if line[0][1] > 3.0]
    assert above
    assert all(not (line[0][0] < 4.5 < line[1][0]) for line in above)
