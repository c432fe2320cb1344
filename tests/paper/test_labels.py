"""Labels of test tiles: cut apart, and no word of them lost."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.paper.labels import (
    LABEL_SIZES,
    LabelSize,
    TileLabel,
    lay_out_labels,
)
from studiolog.paper.page import A4, LETTER, Page, PageSize, Path, Words
from studiolog.problems import UserProblem
from tests.paper.test_firing_sheet import misplaced
from tests.wandering import WANDERING

SMALL, MIDDLE, LARGE = LABEL_SIZES
LINE = tuple(
    TileLabel(
        f"B{number}", f"Kelp {100 - 25 * (number - 1)} · Chalk {25 * (number - 1)}",
        "Buff stoneware", "6", date(2026, 10, 12), 400 + number,
    )
    for number in range(1, 6)
)  # fmt: skip


def said(page: Page) -> str:
    return " ".join(page.words)


def test_a_line_of_five_is_labelled_with_all_a_potter_needs_at_the_kiln() -> None:
    (page,) = lay_out_labels(LINE, A4, MIDDLE, "Kelp to Chalk")
    assert misplaced(page) == []
    for words in ("Labels, Kelp to Chalk", "5 labels", "B3 Kelp 50 · Chalk 50", "piece 403"):
        assert words in said(page)
    assert "Buff stoneware · cone 6 · 12 Oct 2026" in said(page).replace("\u00a0", " ")
    assert page.description.startswith("Labels, Kelp to Chalk: B1 to B5, 5 of them to cut apart")


@pytest.mark.parametrize("size", [A4, LETTER], ids=lambda size: size.name)
@pytest.mark.parametrize("label", LABEL_SIZES, ids=lambda label: label.name)
def test_many_tiles_go_on_over_pages_and_each_is_labelled_once(
    size: PageSize, label: LabelSize
) -> None:
    many = tuple(
        TileLabel(f"T{number}", "Kelp over Chalk, dip 3 s", "Buff") for number in range(99)
    )
    pages = lay_out_labels(many, size, label)
    assert len(pages) > 1
    codes: list[str] = []
    for page in pages:
        assert misplaced(page) == []
        codes += [word for word in page.words if word[0] == "T" and word[1:].isdigit()]
    assert codes == [one.code for one in many]


def test_cut_marks_stand_at_the_corners_of_every_label() -> None:
    (page,) = lay_out_labels(LINE, A4, LARGE)
    level = [m for m in page.marks if isinstance(m, Path) and m.points[0][1] == m.points[1][1]]
    # Three abreast, two rows, the second with two: 4 + 4 + 3 corners.
    assert len(level) == 11
    code = next(m for m in page.marks if isinstance(m, Words) and m.text == "B1")
    assert code.size_pt == LARGE.code_pt


def test_a_long_recipe_shrinks_then_makes_all_labels_taller_and_loses_no_word() -> None:
    recipe = (
        "Potash feldspar from the sea quarry 41.5, Silica 200 mesh 22, Whiting 20, Kaolin 16.5, "
        "+ Copper carbonate 4, Bentonite 2, Gerstley borate substitute of the new delivery 12"
    )
    labels = (TileLabel("B1", "Kelp"), TileLabel("B2", recipe, "Porcelain P2", "6"))
    (page,) = lay_out_labels(labels, A4, SMALL)
    assert misplaced(page) == []
    for word in recipe.split():
        assert word in said(page)
    assert "…" not in said(page)
    (short,) = lay_out_labels(labels[:1], A4, SMALL)
    assert "31 by 17 mm" in short.description
    assert "31 by 17 mm" not in page.description


def test_nothing_to_label_and_more_words_than_a_page_are_said() -> None:
    with pytest.raises(UserProblem, match="no tiles to label yet"):
        lay_out_labels((), A4, SMALL)
    with pytest.raises(UserProblem, match="more words than a page"):
        lay_out_labels((TileLabel("B1", "Kelp " * 3000),), A4, SMALL)


words = st.text(st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp")), max_size=60)


@settings(max_examples=150 if WANDERING else 5)
@given(
    st.lists(st.builds(TileLabel, words.filter(str.strip), words, words), min_size=1, max_size=9),
    st.sampled_from(LABEL_SIZES),
)
def test_whatever_is_typed_no_letter_is_lost(labels: list[TileLabel], label: LabelSize) -> None:
    written = ""
    for page in lay_out_labels(labels, LETTER, label):
        assert misplaced(page) == []
        written += "".join(page.words)
    for one in labels:
        assert "".join(one.glaze.split()) in "".join(written.split())
