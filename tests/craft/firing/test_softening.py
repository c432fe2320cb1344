"""The rate law behind the charts."""

import pytest
from scipy.integrate import quad
from scipy.special import exp1

from studiolog.craft.firing import cones, softening


@pytest.mark.parametrize("x", [10.0, 25.0, 65.0, 120.0])
def test_the_ramps_share_is_that_of_the_exponential_integral(x):
    """∫₀ᵀ exp(−E/RT')dT' = T·(exp(−x) − x·E₁(x)), with scipy's E₁."""
    from math import exp

    exact = 1.0 - x * exp1(x) * exp(x)
    assert softening.ramp_share(x) == pytest.approx(exact, rel=1e-5)


def test_the_share_is_the_integral():
    from math import exp

    kelvin, activation = 1495.0, 84_000.0
    whole, _ = quad(lambda t: exp(-activation * (1 / t - 1 / kelvin)), 600.0, kelvin)
    assert kelvin * softening.ramp_share(activation / kelvin) == pytest.approx(whole, rel=1e-4)


@pytest.mark.parametrize("cone", cones.whole_cones()[3:])
def test_one_rate_per_cone_goes_through_its_three_end_points(cone):
    """To about the charts' own ±2 °C; a few low cones of another clay mix miss by more."""
    from math import log

    activation = cones.activation_k(cone)
    ends = {rate: cones.end_point(cone, rate) for rate in (15.0, 60.0, 150.0)}
    middle = sum(ends.values()) / 3
    width = softening.softening_width_c(activation, middle)
    misses = [end - width * log(rate) for rate, end in ends.items()]
    centre = sum(misses) / 3
    assert max(abs(miss - centre) for miss in misses) < 5.0


def test_two_cool_cones_have_the_width_of_019():
    def width(cone):
        return softening.softening_width_c(
            cones.activation_k(cone), (cones.end_point(cone, 60) + cones.end_point(cone, 150)) / 2
        )

    like = softening.softening_width_c(
        cones.activation_k("019"), sum(cones.end_point("019", r) for r in (15, 60, 150)) / 3
    )
    assert width("022") == pytest.approx(like)
    assert width("020") == pytest.approx(like)


def test_one_rate_alone_tells_nothing():
    with pytest.raises(ValueError, match="two heating rates"):
        softening.fit_activation({60.0: 1222.0})
