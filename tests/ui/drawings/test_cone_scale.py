"""Aimed, read and computed cones on one scale, said in one sentence."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiolog.ui.parts.cone_scale import ConeScale, ScaleMark, cone_words, set_side_by_side


@pytest.mark.parametrize(
    ("number", "words"),
    [(6, "6"), (5.8, "5.8"), (1, "1"), (0, "01"), (-1, "02"), (-3, "04"), (0.3, "01 +0.3"),
     (-1.2, "02 −0.2")],
)  # fmt: skip
def test_the_scale_has_no_cone_nought(number, words) -> None:
    # Common practice: below 1 comes 01, then 02; there is no cone 0.
    assert cone_words(number) == words


def test_the_sentence_names_each_mark_and_how_far_it_is_off(qtbot) -> None:
    scale = ConeScale()
    qtbot.addWidget(scale)
    scale.show_marks(6, ScaleMark(5.8, 5.7, 5.9, "at the lower shelf"), ScaleMark(6.2))
    assert scale.sentence() == (
        "Cone 6 aimed at; 5.8 by the witness cone at the lower shelf, 0.2 cooler; "
        "6.2 computed from heat-work, 0.2 hotter."
    )
    assert scale.span() == (5, 7)
    scale.resize(300, 140)
    assert not scale.grab().isNull()


def test_a_mark_beyond_two_cones_widens_the_scale(qtbot) -> None:
    scale = ConeScale()
    qtbot.addWidget(scale)
    scale.show_marks(6, None, ScaleMark(8.4, 8.1, 8.7))
    assert scale.span() == (5, 9)
    scale.show_marks(None, None, None)
    assert scale.sentence() == "No cone aimed at, read or computed."
    assert not scale.grab().isNull()


@given(st.lists(st.tuples(st.floats(0, 400), st.floats(20, 180)), min_size=1, max_size=3))
def test_labels_do_not_overlap(wanted) -> None:
    spots = set_side_by_side(wanted, 0, 400)
    for (one, first), (other, second) in itertools.combinations(zip(spots, wanted, strict=True), 2):
        apart = (
            one[1] != other[1]
            or one[0] + first[1] <= other[0] + 1e-6
            or other[0] + second[1] <= one[0] + 1e-6
        )
        assert apart
