"""A batch weighed out: what the scale's step does to each line, and to their sum."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiolog.craft.glaze.batch import (
    Batch,
    BatchPart,
    batch_of_base,
    batch_of_dry,
    batch_of_slurry,
    decimals_of,
    least_batch_g,
    round_to_step,
    show_weight,
    with_weighed,
)
from studiolog.problems import UserProblem
from tests.wandering import WANDERING

TENMOKU = (
    BatchPart("Potash feldspar", 40),
    BatchPart("Silica", 30),
    BatchPart("Whiting", 20),
    BatchPart("Kaolin", 10),
    BatchPart("Cobalt oxide", 0.25, addition=True),
)


def weighed(batch: Batch) -> list[float]:
    return [line.weighed_g for line in batch.lines]


def test_additions_stand_on_top_of_the_base() -> None:
    batch = batch_of_base(TENMOKU, 2000)
    assert weighed(batch) == [800, 600, 400, 200, 5]
    assert batch.weighed_g == 2005
    assert [line.running_g for line in batch.lines] == [800, 1400, 1800, 2000, 2005]
    inside = batch_of_dry(TENMOKU, 2005)
    assert weighed(inside) == [800, 600, 400, 200, 5]


def test_a_base_that_is_not_a_hundred_makes_the_batch_all_the_same() -> None:
    parts = (BatchPart("Feldspar", 60), BatchPart("Whiting", 15))
    assert weighed(batch_of_base(parts, 1000)) == [800, 200]


def test_litres_at_a_specific_gravity_ask_for_dry_glaze() -> None:
    parts = (BatchPart("Feldspar", 75), BatchPart("Whiting", 25))
    batch = batch_of_slurry(parts, 10_000, 1.45)
    # 731.25 g a litre: three quarters and a quarter of 7312.5 g.
    assert [line.wanted_g for line in batch.lines] == pytest.approx([5484.375, 1828.125])
    assert weighed(batch) == [5484.4, 1828.1]


def test_a_small_line_breaks_what_a_weighing_may_be_off() -> None:
    # 0.25 % of 100 g on a scale of 0.1 g: 0.25 g wanted, 0.3 weighed, a fifth too much.
    batch = batch_of_base(TENMOKU, 100)
    cobalt = batch.lines[-1]
    assert cobalt.weighed_g == 0.3
    assert cobalt.error_g == pytest.approx(0.05)
    assert cobalt.error_share == pytest.approx(0.2)
    assert [line.material for line in batch.lines if line.breaks] == ["Cobalt oxide"]


def test_a_line_that_rounds_well_by_luck_is_still_too_small_for_the_scale() -> None:
    batch = batch_of_base(TENMOKU, 80)
    cobalt = batch.lines[-1]
    assert (cobalt.weighed_g, cobalt.breaks, cobalt.too_coarse) == (0.2, False, True)
    assert cobalt.doubt_share == pytest.approx(0.25)


def test_what_really_lay_on_the_scale_goes_before_what_was_wanted() -> None:
    batch = with_weighed(batch_of_base(TENMOKU, 2000), {1: 612.5})
    assert weighed(batch) == [800, 612.5, 400, 200, 5]
    assert batch.lines[1].error_g == pytest.approx(12.5)
    assert [line.running_g for line in batch.lines] == [800, 1412.5, 1812.5, 2012.5, 2017.5]
    with pytest.raises(UserProblem, match="Silica: what was weighed must be 0 g or more"):
        with_weighed(batch, {1: -1})


def test_the_least_batch_is_that_of_the_rule() -> None:
    # d / (2 t f), the rule of the reference: 0.25 % within 5 % on 0.1 g is 400 g.
    assert least_batch_g(0.0025, 0.1, 0.05) == pytest.approx(400)
    batch = batch_of_base(TENMOKU, 100)
    least = batch.least_g
    assert least == pytest.approx(401)  # the line is 0.25 of 100.25
    assert batch_of_dry(TENMOKU, least).too_coarse == ()
    assert batch_of_dry(TENMOKU, least * 0.99).too_coarse


@pytest.mark.parametrize(
    ("grams", "step", "shown"),
    [
        (0.15, 0.1, "0.2 g"),
        (0.25, 0.1, "0.3 g"),
        (2.675, 0.01, "2.68 g"),
        (12.4, 5, "10 g"),
        (12.5, 5, "15 g"),
        (0.74, 0.5, "0.5 g"),
        (0.76, 0.5, "1.0 g"),
        (0.0004, 0.001, "0.000 g"),
    ],
)
def test_the_nearest_step_is_weighed_and_of_two_the_upper(
    grams: float, step: float, shown: str
) -> None:
    assert show_weight(round_to_step(grams, step), step).replace("\u202f", " ") == shown


def test_a_scale_shows_the_places_of_its_step() -> None:
    assert [decimals_of(step) for step in (50, 1, 0.5, 0.1, 0.05, 0.001, 0.25)] == [
        0, 0, 1, 1, 2, 3, 2,
    ]  # fmt: skip


parts_strategy = st.lists(
    st.builds(BatchPart, st.sampled_from("abcdefgh"), st.floats(0.01, 90), st.just(False)),
    min_size=1,
    max_size=9,
)


@settings(max_examples=300 if WANDERING else 30)
@given(parts_strategy, st.floats(1, 50_000), st.sampled_from([0.01, 0.1, 0.5, 1, 5, 20]))
def test_the_lines_add_up_to_the_last_running_total(
    parts: list[BatchPart], grams: float, step: float
) -> None:
    batch = batch_of_base(parts, grams, step)
    steps = [round(Fraction(line.weighed_g) / Fraction(step)) for line in batch.lines]
    assert sum(steps) * step == pytest.approx(batch.weighed_g, abs=1e-6)
    assert batch.wanted_g == pytest.approx(grams)
    assert all(abs(line.error_g) <= step / 2 * (1 + 1e-9) for line in batch.lines)
    assert abs(batch.weighed_g - batch.wanted_g) <= len(parts) * step / 2 * (1 + 1e-9)
    assert all(line.too_coarse for line in batch.lines if line.breaks)


@pytest.mark.parametrize(
    ("parts", "grams", "words"),
    [
        ((), 1000, "There is no recipe to mix from"),
        ((BatchPart("Rutile", 4, addition=True),), 1000, "additions only"),
        ((BatchPart("Silica", 0),), 1000, "Silica: 0.00 parts can't be weighed"),
        ((BatchPart("Silica", -3),), 1000, "can't be weighed"),
        ((BatchPart("Silica", float("nan")),), 1000, "can't be weighed"),
        (TENMOKU, 0, "more than 0"),
        (TENMOKU, float("inf"), "more than 0"),
        (TENMOKU, 3e6, "more than a studio mixes at once"),
    ],
)
def test_what_cannot_be_mixed_is_said(
    parts: tuple[BatchPart, ...], grams: float, words: str
) -> None:
    with pytest.raises(UserProblem, match=words):
        batch_of_base(parts, grams)


def test_a_scale_needs_a_step_and_a_weighing_an_error() -> None:
    with pytest.raises(UserProblem, match="step of the scale"):
        batch_of_base(TENMOKU, 100, 0)
    with pytest.raises(UserProblem, match="error a weighing may make"):
        batch_of_base(TENMOKU, 100, 0.1, 0)
    with pytest.raises(UserProblem, match="share of a line"):
        least_batch_g(0)
