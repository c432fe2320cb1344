"""Words of fit never claim more than is known."""

import pytest

from studiolog.craft.glaze.fit import Chance, GlazeResult, learn_threshold
from studiolog.craft.glaze.fit_next_tests import Candidate, choose_tests
from studiolog.craft.glaze.fit_words import (
    say_chance,
    say_evidence,
    say_tests,
    say_threshold,
    show_chance,
    show_chance_interval,
    word_of_chance,
)


@pytest.mark.parametrize(
    ("chance", "word"),
    [
        (Chance(0.96, 0.85, 0.99), "very likely"),
        (Chance(0.75, 0.5, 0.9), "likely"),
        (Chance(0.5, 0.4, 0.6), "unclear"),
        (Chance(0.2, 0.1, 0.4), "unlikely"),
        (Chance(0.03, 0.0, 0.1), "very unlikely"),
        # Whatever its mean, what may be either is unclear.
        (Chance(0.28, 0.01, 0.8), "unclear"),
        (Chance(0.7, 0.2, 0.95), "unclear"),
    ],
)
def test_a_chance_in_a_word(chance, word):
    assert word_of_chance(chance) == word


def test_a_chance_is_never_quite_none_or_all():
    assert show_chance(0.0004) == "under 1\u202f%"
    assert show_chance(0.9991) == "over 99\u202f%"
    assert show_chance_interval(Chance(0.2, 0.04, 0.26)) == "4 to 26\u202f%"
    assert show_chance_interval(Chance(0.01, 0.001, 0.05)) == "under 1\u202f% to 5\u202f%"
    assert show_chance_interval(Chance(0.001, 0.0, 0.002)) == "under 1\u202f%"
    assert say_chance(Chance(0.2, 0.04, 0.26), "crazing") == (
        "Crazing is unlikely: 20\u202f% (90\u202f% interval 4 to 26\u202f%)."
    )


def test_nothing_looked_at_is_not_known():
    known = learn_threshold([])
    assert say_evidence(known) == "no glaze looked at for crazing"
    first, prior = say_threshold(known)
    assert first.startswith("Not known yet.")
    assert "expects half the glazes of 7.0 (5.4 to 8.6) ppm/K to craze" in prior
    assert "judgement" in prior


def test_thin_and_one_sided_evidence_says_so():
    sound = learn_threshold([GlazeResult(6.0, stressed=2), GlazeResult(6.4, unstressed=3)])
    assert say_evidence(sound) == "2 glazes on 5 pieces; crazing seen on none"
    first, second = say_threshold(sound)
    assert first.startswith("Thin evidence. From ")
    assert second == (
        "None of the glazes crazed; what happens over 6.4 ppm/K is expectation, not evidence."
    )
    seldom = learn_threshold([GlazeResult(7.0, seen=1, stressed=9)])
    assert "No glaze crazed on half its pieces; what happens over 7.0" in say_threshold(seldom)[1]
    crazed = learn_threshold([GlazeResult(7.0, seen=2)])
    assert say_evidence(crazed) == "1 glaze on 2 pieces; crazing seen on it (2 pieces)"
    assert "The only glaze crazed on half its pieces or more" in say_threshold(crazed)[1]
    assert "under 7.0 ppm/K is expectation" in say_threshold(crazed)[1]
    shivered = learn_threshold([GlazeResult(4.0, stressed=2)], "shivering")
    assert "and less, half the glazes or more shiver" in say_threshold(shivered)[0]
    assert "under 4.0 ppm/K is expectation" in say_threshold(shivered)[1]


def test_enough_evidence_on_both_sides_needs_no_excuse():
    known = learn_threshold(
        [GlazeResult(6.0 + n / 4, seen=int(n > 3), stressed=2 * (n < 4)) for n in range(8)]
    )
    (only,) = say_threshold(known)
    assert only.startswith("From ")
    assert "half the glazes or more craze on this clay (90\u202f% interval" in only


def test_the_next_tests_are_named():
    known = learn_threshold([])
    found = choose_tests(known, [Candidate(1, 6.6), Candidate(2, 7.4)])
    told = say_tests(found, ["Kelp (6.6)", "Chalk (7.4)"], "crazing")
    assert told.startswith("Test these two: Kelp (6.6) and Chalk (7.4), alone on this clay")
    assert "of the variance of the threshold, on average" in told
    one = choose_tests(known, [Candidate(1, 6.6)])
    assert say_tests(one, ["Kelp (6.6)"], "crazing").startswith("Test this one: Kelp")
    far = choose_tests(known, [Candidate(1, 1.0), Candidate(2, 15.0)])
    assert "None of your glazes would tell much more" in say_tests(far, ["A", "B"], "crazing")
    assert "no other glaze" in say_tests(None, [], "crazing")
