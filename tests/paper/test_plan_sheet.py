"""The mixing sheet of a test plan, and its results: every tile is on them, and nothing overlaps."""

from base64 import b64decode
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.glaze.blend import BlendPart
from studiolog.craft.glaze.cautions import find_cautions
from studiolog.craft.glaze.plans import Ladder, PlanOptions, lay_out_plan, tile_spot
from studiolog.craft.glaze.weighings import MixCorner, mix_plan
from studiolog.paper.page import A4, LETTER, Page, PageSize, Photo, Words
from studiolog.paper.plan_results import PlanResults, ResultTile, lay_out_plan_results
from studiolog.paper.plan_sheet import PlanSheet, SheetTile, lay_out_plan_sheet
from studiolog.paper.svg import write_svg
from studiolog.problems import UserProblem
from tests.paper.test_firing_sheet import misplaced
from tests.wandering import WANDERING

KELP = MixCorner(
    "Kelp",
    (BlendPart("Potash feldspar", 40), BlendPart("Silica", 22), BlendPart("Whiting", 20),
     BlendPart("Kaolin", 18), BlendPart("Copper carbonate", 4, addition=True)),
    1.45,
)  # fmt: skip
CHALK = MixCorner("Chalk", (BlendPart("Nepheline syenite", 60), BlendPart("Silica", 40)), 1.45)
OAT = replace(CHALK, label="Oat", specific_gravity=1.5)
RUST = replace(KELP, label="Rust Shore")


def plan(kind: str, *corners: MixCorner, options: PlanOptions, tile_g: float = 20) -> PlanSheet:
    """The sheet of a plan as the journal would fill it."""
    layout = lay_out_plan(kind, [one.label for one in corners], options)
    mixing = mix_plan(layout, corners, code="B", tile_dry_g=tile_g, blend_by=options.blend_by)
    return PlanSheet(
        studio="Tern Yard",
        code="B",
        name=" to ".join(one.label for one in corners),
        kind=kind,
        clay="Buff stoneware",
        cone="6",
        question="Where does it turn matt?",
        tiles=tuple(
            SheetTile(
                f"B{tile.position}",
                tile.words,
                tile_spot(kind, tile.row, tile.column, layout.rows),
                ("Kelp, dip, 3 s", "Chalk, dip, 3 s"),
            )
            for tile in layout.tiles
        ),
        mixing=mixing,
        cautions=find_cautions(part.material for one in corners for part in one.recipe),
    )


LINE = plan("line", KELP, CHALK, options=PlanOptions(along=5))
TRIANGLE = plan("triaxial", KELP, CHALK, OAT, options=PlanOptions(along=6))
PYRAMID = plan("pyramid", KELP, CHALK, OAT, RUST, options=PlanOptions(along=4))
GRID = plan("grid", KELP, CHALK, OAT, RUST, options=PlanOptions(rows=7, columns=7))
DRY = plan("line", KELP, CHALK, options=PlanOptions(along=21, blend_by="weight"))
ADDED = plan(
    "additions", KELP,
    options=PlanOptions(ladders=(Ladder("Copper carbonate", (0, 1, 2, 4)),
                                 Ladder("Tin oxide", (0, 5)))),
)  # fmt: skip
OVER = plan("over_under", KELP, CHALK, OAT, options=PlanOptions())
ALL = {
    "line": LINE, "triangle": TRIANGLE, "grid": GRID, "pyramid": PYRAMID, "dry": DRY,
    "added": ADDED, "over": OVER,
    "wet grams": replace(TRIANGLE, wet_grams=True),
}  # fmt: skip


def said(pages: tuple[Page, ...]) -> str:
    return " ".join(word for page in pages for word in page.words).replace("\u202f", " ")


@pytest.mark.parametrize("size", [A4, LETTER], ids=lambda size: size.name)
@pytest.mark.parametrize("which", ALL)
def test_nothing_overlaps_and_every_tile_has_its_row(which: str, size: PageSize) -> None:
    sheet = ALL[which]
    pages = lay_out_plan_sheet(sheet, size)
    for page in pages:
        assert misplaced(page) == []
    words = [word for page in pages for word in page.words]
    for tile in sheet.tiles:
        # In the table and, where the squares have room for it, in the drawing.
        assert words.count(tile.code) in (1, 2)


def test_a_line_says_what_to_weigh_pour_and_mind() -> None:
    pages = lay_out_plan_sheet(LINE, A4)
    assert len(pages) == 1
    words = said(pages)
    for told in (
        "Mixing sheet", "B Kelp to Chalk", "Line blend · 5 tiles · 20 g dry each",
        "Water, to specific gravity 1.45", "Stands at, once stirred and weighed",
        "Kelp, ml Chalk, ml", "millilitres of slurry",
        "Volumes are right because the slurries stand even, at 1.45",
        "fitted respirator", "local rules go first.",
    ):  # fmt: skip
        assert told in words.replace("  ", " ")
    mixing = LINE.mixing
    assert mixing is not None
    assert mixing.words in words
    # Half of the 20 g of each: what the table says is what the sums said.
    middle = mixing.tiles[2]
    assert f"B3 {middle.words} {middle.amounts[0]:.1f} {middle.amounts[1]:.1f}" in words


def test_slurry_may_be_weighed_in_place_of_measured() -> None:
    wet = said(lay_out_plan_sheet(ALL["wet grams"], A4))
    assert "Kelp, g" in wet
    assert "grams of slurry" in wet
    assert TRIANGLE.mixing is not None
    assert f"{TRIANGLE.mixing.tiles[0].slurry_g[0]:.1f}" in wet


def test_a_plan_glazed_from_buckets_gets_its_layers() -> None:
    words = said(lay_out_plan_sheet(OVER, A4))
    assert "Glazing sheet" in words
    assert "First Then" in words
    assert "Kelp, dip, 3 s Chalk, dip, 3 s" in words


def test_what_has_no_room_goes_on_with_its_heads() -> None:
    pages = lay_out_plan_sheet(GRID, LETTER)
    assert len(pages) > 1
    assert f"page 2 of {len(pages)}" in said(pages[1:2])
    assert "Chalk, ml" in said(pages[1:2])
    with pytest.raises(UserProblem, match="no tiles yet"):
        lay_out_plan_sheet(replace(LINE, tiles=()), A4)


RESULTS = PlanResults(
    studio="Tern Yard", code="B", name="Kelp to Chalk", kind="line", clay="Buff stoneware",
    cone="aimed at cone 6", question="Where does it turn matt?",
    lesson="Matt from 60 Chalk on.", next_time="Steps of 5 between 50 and 70.",
    tiles=(
        ResultTile("B1", "Kelp alone", (0.5, 0.5), "6", 0, "none seen", "glossy"),
        ResultTile("B2", "50 Kelp, 50 Chalk", (1.5, 0.5), "6", 2, "crazing marked", "satin",
                   "thin"),
        ResultTile("B3", "Chalk alone", (2.5, 0.5), stage="glazed"),
    ),
)  # fmt: skip


def test_results_tell_of_every_tile_and_never_by_a_sign_alone() -> None:
    pages = lay_out_plan_results(RESULTS, A4)
    assert [misplaced(page) for page in pages] == [[]]
    words = said(pages)
    for told in (
        "ring: looked for, none seen · bars: slight, marked, severe · dash: not looked",
        "B2 50 Kelp, 50 Chalk 6 crazing marked satin thin", "B3 Chalk alone glazed",
        "Matt from 60 Chalk on.", "Steps of 5 between 50 and 70.",
    ):  # fmt: skip
        assert told in words
    with pytest.raises(UserProblem, match="no tiles yet"):
        lay_out_plan_results(replace(RESULTS, tiles=()), A4)


words = st.text(st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp")), max_size=50)


@settings(max_examples=100 if WANDERING else 4)
@given(st.lists(st.tuples(words, words, words), min_size=1, max_size=40), st.integers(1, 12))
def test_whatever_came_of_them_the_results_stay_on_their_pages(
    told: list[tuple[str, str, str]], across: int
) -> None:
    tiles = tuple(
        ResultTile(f"T{n}", glaze, (n % across + 0.5, n // across + 0.5), "6", n % 4,
                   faults, surface)
        for n, (glaze, faults, surface) in enumerate(told)
    )  # fmt: skip
    pages = lay_out_plan_results(replace(RESULTS, tiles=tiles, lesson=told[0][0] * 9), LETTER)
    for page in pages:
        assert misplaced(page) == []


def test_photos_stand_over_their_tiles_and_go_into_the_html() -> None:
    photo = b"\xff\xd8\xff\xe0 no picture, but a JPEG's first bytes"
    tiles = tuple(replace(tile, photo=photo) for tile in RESULTS.tiles)
    (page,) = lay_out_plan_results(replace(RESULTS, tiles=tiles), A4)
    assert misplaced(page) == []
    photos = [mark for mark in page.marks if isinstance(mark, Photo)]
    assert [mark.says for mark in photos] == ["Photo of B1", "Photo of B2", "Photo of B3"]
    written = [mark for mark in page.marks if isinstance(mark, Words)]
    assert not [w for w in written for p in photos if w.extent.meets(p.extent, slack_mm=0.05)]
    drawn = ElementTree.fromstring(write_svg(page))
    images = [one for one in drawn if one.tag.endswith("image")]
    assert len(images) == 3
    assert b64decode(images[0].attrib["href"].partition(",")[2]) == photo
