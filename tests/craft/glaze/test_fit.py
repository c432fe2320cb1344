"""What a potter learns of a clay from glazes that crazed on it and glazes that did not."""

import pytest

from studiolog.craft.glaze.fit import (
    GlazeResult,
    learn_threshold,
    stand,
)
from studiolog.craft.glaze.fit_next_tests import Candidate, choose_tests
from studiolog.craft.limits import Limits


def test_one_crazed_glaze_pulls_the_threshold_below_it_and_a_sound_one_lifts_it():
    nothing = learn_threshold([])
    crazed = learn_threshold([GlazeResult(7.0, seen=1)])
    sound = learn_threshold([GlazeResult(7.0, stressed=1)])
    assert crazed.mean < nothing.mean < sound.mean
    assert crazed.chance(7.0).mean > 0.5 > sound.chance(7.0).mean


def test_shivering_is_the_same_with_the_other_sign():
    low, high = Limits({"shiver_mean_ppm_k": 7.0}), Limits()
    crazed = learn_threshold([GlazeResult(7.5, seen=2), GlazeResult(6.0, stressed=1)], limits=high)
    shivered = learn_threshold(
        [GlazeResult(6.5, seen=2), GlazeResult(8.0, stressed=1)], "shivering", low
    )
    assert shivered.mean - 7.0 == pytest.approx(7.0 - crazed.mean, abs=1e-9)
    assert shivered.chance(6.2).mean == pytest.approx(crazed.chance(7.8).mean, abs=1e-9)


def test_a_stress_test_says_more_than_a_look():
    looked = learn_threshold([GlazeResult(7.5, unstressed=1)])
    tested = learn_threshold([GlazeResult(7.5, stressed=1)])
    assert learn_threshold([]).mean < looked.mean < tested.mean
    # A studio that holds a look for as good as a test may say so, or that it says nothing.
    sure = Limits({"unstressed_weight": 1.0})
    deaf = Limits({"unstressed_weight": 0.0})
    assert learn_threshold([GlazeResult(7.5, unstressed=1)], limits=sure).mean == pytest.approx(
        tested.mean
    )
    assert learn_threshold([GlazeResult(7.5, unstressed=1)], limits=deaf).mean == pytest.approx(7.0)


def test_forty_mugs_of_one_glaze_are_not_forty_results():
    one = learn_threshold([GlazeResult(6.5, seen=1)])
    ten = learn_threshold([GlazeResult(6.5, seen=10)])
    forty = learn_threshold([GlazeResult(6.5, seen=40)])
    four_glazes = learn_threshold([GlazeResult(6.5 + n / 10, seen=1) for n in range(4)])
    assert forty.mean < ten.mean < one.mean
    assert ten.mean - forty.mean < one.mean - ten.mean
    assert four_glazes.deviation < one.deviation
    assert (forty.glazes, forty.pieces) == (1, 40)
    assert forty.is_thin
    # The more its pieces have in common, the less a second one tells of the clay.
    alike, unlike = Limits({"repeat_likeness": 0.9}), Limits({"repeat_likeness": 0.1})
    forties = [
        learn_threshold([GlazeResult(6.5, seen=40)], limits=limits).mean
        for limits in (alike, Limits(), unlike)
    ]
    assert forties[0] > forties[1] > forties[2]
    # One piece says the same, however alike two would be.
    assert learn_threshold([GlazeResult(6.5, seen=1)], limits=alike).mean == one.mean


def test_of_its_own_glaze_every_piece_tells():
    few = [GlazeResult(7.0, seen=1, stressed=1), GlazeResult(6.0, stressed=3)]
    many = [GlazeResult(7.0, seen=30, stressed=30), GlazeResult(6.0, stressed=3)]
    first = stand(learn_threshold(few), 7.0, few[0]).chance()
    last = stand(learn_threshold(many), 7.0, many[0]).chance()
    assert last.low < 0.5 < last.high
    assert last.high - last.low < 0.25 < first.high - first.low
    # A white that never crazed in sixty stress tests won't, whatever others of its kind did.
    sound = [GlazeResult(7.0, stressed=60), GlazeResult(6.6, seen=5), GlazeResult(6.8, seen=5)]
    known = learn_threshold(sound)
    assert known.chance(7.0).mean > 0.4
    assert stand(known, 7.0, sound[0]).chance().mean < 0.05


def test_a_glaze_nobody_looked_at_stands_where_the_curve_says():
    known = learn_threshold([GlazeResult(7.4, seen=2), GlazeResult(6.2, stressed=2)])
    curve, glaze = known.chance(6.9), stand(known, 6.9).chance()
    assert glaze.mean == pytest.approx(curve.mean, abs=1e-3)
    # No two glazes of one expansion are quite alike.
    assert glaze.low < curve.low < curve.high < glaze.high
    shifted = stand(known, 6.9).chance(-0.5)
    assert shifted.mean == pytest.approx(known.chance(6.4).mean, abs=1e-3)
    with pytest.raises(ValueError, match="own results"):
        stand(known, 6.9, GlazeResult(6.9, seen=1))


def test_a_new_version_keeps_what_sets_its_glaze_apart():
    # This glaze crazes far more than its expansion would have it; one a little lower will, too.
    results = [GlazeResult(6.2, seen=20), GlazeResult(6.4, stressed=20), GlazeResult(7, stressed=9)]
    known = learn_threshold(results)
    version = stand(known, 6.2, results[0]).chance(-0.1, 0.03)
    assert version.mean > 0.7 > 0.3 > known.chance(6.1).mean
    far = stand(known, 6.2, results[0]).chance(-3.0, 0.4)
    assert far.mean < 0.2


def test_a_glaze_that_crazed_on_some_pieces_lies_near_the_threshold():
    half = learn_threshold([GlazeResult(6.4, seen=8, stressed=8)])
    assert abs(half.mean - 6.4) < abs(learn_threshold([]).mean - 6.4)
    assert half.chance(6.4).low < 0.5 < half.chance(6.4).high


def test_under_five_glazes_are_thin_evidence():
    four = [GlazeResult(6.0 + n / 4, stressed=3) for n in range(4)]
    assert learn_threshold(four).is_thin
    assert not learn_threshold([*four, GlazeResult(8.0, seen=1)]).is_thin


def test_the_interval_narrows_and_always_holds_the_chance():
    few = learn_threshold([GlazeResult(7.4, seen=1)])
    many = learn_threshold(
        [GlazeResult(6.0 + n / 10, stressed=2) for n in range(10)]
        + [GlazeResult(7.5 + n / 10, seen=2) for n in range(10)]
    )
    for alpha in (3.0, 6.0, 7.2, 9.0, 14.0):
        for known in (few, many):
            chance = known.chance(alpha)
            assert 0.0 <= chance.low <= chance.mean <= chance.high <= 1.0
    assert many.high - many.low < few.high - few.low
    assert [c.mean for c in many.chances((5.0, 7.2, 9.5))][::2] == [
        pytest.approx(0.0, abs=0.002),
        pytest.approx(1.0, abs=0.002),
    ]


def test_an_unsure_expansion_widens_what_it_predicts():
    known = learn_threshold(
        [GlazeResult(6.0 + n / 5, stressed=1) for n in range(5)]
        + [GlazeResult(7.2 + n / 5, seen=1) for n in range(5)]
    )
    sure, unsure = known.chance(6.2), known.chance(6.2, 0.5)
    assert unsure.mean > sure.mean
    assert unsure.high > sure.high
    # No error at all is the limit of a very small one.
    assert known.chance(6.2, 1e-6).mean == pytest.approx(sure.mean, abs=1e-6)


def test_the_next_two_tests_bracket_what_is_not_known():
    nothing = learn_threshold([])
    shelf = [Candidate(n, 4.0 + n / 2) for n in range(1, 13)]  # 4.5 to 10
    found = choose_tests(nothing, shelf)
    assert found is not None
    first, second = found.glazes
    assert 6.0 <= shelf[first - 1].expansion_ppm_k < 7.0 < shelf[second - 1].expansion_ppm_k <= 8.0
    assert 0.2 < found.narrows_by < 1.0
    # Two tests say more than one; a pair at the ends of the shelf would say next to nothing.
    one = choose_tests(nothing, shelf, tests=1)
    ends = choose_tests(nothing, [shelf[0], shelf[-1]])
    assert one is not None
    assert ends is not None
    assert found.expected < one.expected < ends.expected


def test_the_expected_narrowing_is_the_mean_over_what_the_test_may_show():
    known = learn_threshold([GlazeResult(7.6, seen=1)])
    found = choose_tests(known, [Candidate(1, 6.8)])
    chance = known.chance(6.8).mean
    crazed = learn_threshold([GlazeResult(7.6, seen=1), GlazeResult(6.8, seen=1)])
    sound = learn_threshold([GlazeResult(7.6, seen=1), GlazeResult(6.8, stressed=1)])
    left = chance * crazed.deviation**2 + (1 - chance) * sound.deviation**2
    assert found is not None
    assert found.expected == pytest.approx(left, rel=3e-3)


@pytest.mark.parametrize("pieces", [1, 3])
def test_a_piece_on_the_shelf_that_only_wants_a_stress_test_is_a_test_too(pieces):
    looked = learn_threshold([GlazeResult(6.8, unstressed=pieces)])
    found = choose_tests(looked, [Candidate(1, 6.8, unstressed=pieces)])
    tested = learn_threshold([GlazeResult(6.8, stressed=1, unstressed=pieces - 1)])
    crazed = learn_threshold([GlazeResult(6.8, seen=1, unstressed=pieces - 1)])
    # The chance that the test shows it: any p for which the mean of the two outcomes is what is
    # known now.
    chance = (tested.mean - looked.mean) / (tested.mean - crazed.mean)
    left = chance * crazed.deviation**2 + (1 - chance) * tested.deviation**2
    left_mean = chance * crazed.mean + (1 - chance) * tested.mean
    assert left_mean == pytest.approx(looked.mean)
    assert found is not None
    assert found.expected == pytest.approx(left, rel=2e-3)
    assert 0 < found.narrows_by < 1


def test_without_another_glaze_there_is_nothing_to_test():
    assert choose_tests(learn_threshold([]), []) is None


def test_what_can_not_be_a_result_is_refused():
    for wrong in ({"seen": -1, "stressed": 3}, {}):
        with pytest.raises(ValueError, match="one piece or more"):
            GlazeResult(7.0, **wrong)
    with pytest.raises(ValueError, match="must be a number"):
        GlazeResult(float("nan"), seen=1)
    with pytest.raises(ValueError, match="not a fault of fit"):
        learn_threshold([], "crawling")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="One test or two"):
        choose_tests(learn_threshold([]), [Candidate(1, 7.0)], tests=3)
