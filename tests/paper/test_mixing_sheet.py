"""The sheet a potter weighs by: one page, a box for each line, and nothing on anything else."""

from datetime import date
from decimal import Decimal
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.glaze.cautions import find_cautions
from studiolog.journal.mixing import Mix, MixAsk, MixBench, RecipeWeighing, lay_out_mix
from studiolog.journal.stock import StockLine
from studiolog.paper.mixing_sheet import SAFETY, STEPS, lay_out_mixing_sheet
from studiolog.paper.page import A4, LETTER, Box, Page, PageSize
from studiolog.paper.svg import write_svg
from tests.paper.test_firing_sheet import misplaced
from tests.wandering import WANDERING

KELP = (
    RecipeWeighing("Potash feldspar", 40, False, 1, "spring bag, 2026-04-12"),
    RecipeWeighing("Silica", 22, False),
    RecipeWeighing("Whiting", 20, False),
    RecipeWeighing("Kaolin", 18, False),
    RecipeWeighing("Cobalt carbonate", 0.25, True),
)
LONG = tuple(
    RecipeWeighing(
        f"Barium carbonate of the old shed, sack {number}", 3.25, number > 12, 1, "x" * 60
    )
    for number in range(44)
)


def mixed(recipe: tuple[RecipeWeighing, ...] = KELP, title: str = "Kelp", **ask: float) -> Mix:
    bench = MixBench(
        glaze_id=1,
        title=title,
        studio="Tern Yard",
        recipe=recipe,
        stock={"Silica": StockLine(1, "Silica", 900.0, None, Decimal("0.85"))},
        cautions=find_cautions(line.material for line in recipe),
    )
    return lay_out_mix(bench, MixAsk(**{"amount": 5000.0, "of": "base", **ask}))  # type: ignore[arg-type]


def words_on(page: Page) -> str:
    return " ".join(page.words).replace("\u202f", " ")


@pytest.mark.parametrize("size", [A4, LETTER], ids=["A4", "Letter"])
@pytest.mark.parametrize("lines", [1, 5, 12, 13, 20, 31, 44])
def test_however_long_the_recipe_nothing_overlaps_or_leaves_the_page(
    lines: int, size: PageSize
) -> None:
    page = lay_out_mixing_sheet(mixed(LONG[:lines], "Grey of the old shed " * 6), size)
    assert misplaced(page) == []
    assert words_on(page).endswith("local rules go first.")


def test_it_tells_what_is_weighed_and_has_a_box_for_each() -> None:
    page = lay_out_mixing_sheet(mixed(), A4, date(2026, 3, 2))
    said = words_on(page)
    for words in (
        "Tern Yard", "Mixing sheet", "Kelp", "Date: 2026-03-02", "Mixed by",
        "Potash feldspar 40 2000.0 g 2000.0 g – not known", "spring bag, 2026-04-12",
        # 900 g on the shelf, 1100 g wanted.
        "Silica 22 1100.0 g 3100.0 g – −200 g", "More than there is on the shelf: Silica.",
        "+ Cobalt carbonate 0.25 12.5 g 5012.5 g", "All dry 5012.5 g",
        "g of water", "100 ml of the slurry then weigh 145.0 g", "the usual figure",
        "Take care", "fitted respirator", "mesh",
    ):  # fmt: skip
        assert words in said, words
    boxes = [mark for mark in page.marks if isinstance(mark, Box)]
    assert len(boxes) == len(KELP) + 1 + len(STEPS)
    assert "5012.5 g dry" in page.description.replace("\u202f", " ")


def test_what_the_scale_is_too_coarse_for_is_said_with_the_way_out() -> None:
    said = words_on(lay_out_mixing_sheet(mixed(amount=100.0), A4))
    assert "+0.05 g, 20 %" in said
    assert "within 5 %: Cobalt carbonate. Use a finer scale, or mix 401 g dry" in said


def test_a_recipe_with_more_lines_than_a_page_says_how_many_are_left_out() -> None:
    said = words_on(lay_out_mixing_sheet(mixed(LONG), A4))
    assert "and 14 more lines with no room here" in said


def test_the_usual_caution_defers() -> None:
    for words in ("respirator", "safety data sheet", "local rules"):
        assert words in SAFETY


@settings(max_examples=100 if WANDERING else 4)
@given(
    st.lists(
        st.builds(
            RecipeWeighing,
            st.text(min_size=1, max_size=60),
            st.floats(0.001, 9e4),
            st.just(False),
            st.none(),
            st.text(max_size=40),
        ),
        min_size=1,
        max_size=34,
    ),
    st.text(max_size=90),
)
def test_whatever_is_typed_it_stays_one_page(lines: list[RecipeWeighing], title: str) -> None:
    page = lay_out_mixing_sheet(mixed(tuple(lines), title, amount=987_654.0), LETTER)
    assert misplaced(page) == []
    ElementTree.fromstring(write_svg(page))
