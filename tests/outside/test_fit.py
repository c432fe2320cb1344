"""Where crazing begins, against the worked case of the reference and against plain quadrature.

The worked case is our reference's own (glaze.md, "Expansion and fit"): its answer was computed
there apart from this program. The quadrature below is written anew from the formula, with SciPy's
own densities, and integrated over τ and s by Gauss-Legendre nodes: no grid of the program's.
"""

import math

import numpy as np
import pytest
from scipy.integrate import dblquad, fixed_quad, quad
from scipy.special import expit
from scipy.stats import lognorm, norm

from studiolog.craft.glaze.fit import GlazeResult, learn_threshold, stand
from studiolog.craft.glaze.fit_repeats import bridge, bridge_density

WORKED = [(6.2, 0), (6.6, 0), (7.0, 0), (7.3, 1), (7.6, 0), (8.0, 1)]
STRESSED = [GlazeResult(alpha, seen=seen, stressed=1 - seen) for alpha, seen in WORKED]
WIDTH = lognorm(s=0.45, scale=0.45)


def test_the_worked_case_of_the_reference():
    learned = learn_threshold(STRESSED)
    assert learned.mean == pytest.approx(7.48, abs=0.005)
    assert (learned.low, learned.high) == (
        pytest.approx(6.75, abs=0.015),
        pytest.approx(8.25, abs=0.015),
    )
    for alpha, chance in ((6.5, 0.141), (7.0, 0.286), (7.5, 0.513), (8.0, 0.730)):
        assert learned.chance(alpha).mean == pytest.approx(chance, abs=0.0005)


class Quadrature:
    """The posterior by Gauss-Legendre. ``results`` are (α, seen, tested, weight)."""

    def __init__(self, results, mean=7.0, sign=1.0):
        self.results, self.mean, self.sign = results, mean, sign
        self.whole = self._over(lambda tau, s: np.ones_like(tau))

    def density(self, tau, s):
        product = norm.pdf(tau, self.mean, 1.0) * WIDTH.pdf(s)
        for alpha, seen, tested, weight in self.results:
            q = expit(self.sign * (alpha - tau) / s)
            product = product * (q if seen else 1.0 - (1.0 if tested else 0.4) * q) ** weight
        return product

    def _over(self, value):
        def at(u):  # log s, one row a node
            s = np.exp(u)[:, np.newaxis]

            def along(tau):
                return value(tau[np.newaxis, :], s) * self.density(tau[np.newaxis, :], s)

            low, high = self.mean - 6.0, self.mean + 6.0
            return np.exp(u) * fixed_quad(along, low, high, n=500)[0]

        middle = np.log(0.45)
        return fixed_quad(at, middle - 0.45 * 5, middle + 0.45 * 5, n=64)[0]

    def expect(self, value):
        return self._over(value) / self.whole

    def chance(self, alpha):
        return self.expect(lambda tau, s: expit(self.sign * (alpha - tau) / s))


def posterior_of(results, fault="crazing"):
    return learn_threshold(
        [
            GlazeResult(alpha, int(seen), int(not seen and tested), int(not seen and not tested))
            for alpha, seen, tested, _ in results
        ],
        fault,
    )


@pytest.mark.parametrize(
    ("fault", "mean", "results"),
    [
        ("crazing", 7.0, [(6.1, False, False, 1), (6.9, True, False, 1), (7.4, False, True, 1)]),
        ("shivering", 4.5, [(4.1, True, False, 1), (5.2, False, False, 1)]),
    ],
)
def test_plain_quadrature_agrees(fault, mean, results):
    plain = Quadrature(results, mean, 1.0 if fault == "crazing" else -1.0)
    learned = posterior_of(results, fault)
    middle = plain.expect(lambda tau, s: tau)
    spread = np.sqrt(plain.expect(lambda tau, s: (tau - middle) ** 2))
    assert learned.mean == pytest.approx(middle, abs=2e-4)
    assert learned.deviation == pytest.approx(spread, abs=2e-4)
    assert learned.width == pytest.approx(plain.expect(lambda tau, s: s + 0 * tau), abs=2e-4)
    assert learned.chance(mean + 0.3).mean == pytest.approx(plain.chance(mean + 0.3), abs=2e-4)
    # The interval of τ holds 5 % of it on either side.
    for edge, share in ((learned.low, 0.05), (learned.high, 0.95)):
        below = plain.expect(lambda tau, s, edge=edge: (tau < edge) + 0 * s)
        assert below == pytest.approx(share, abs=5e-3)


def test_adaptive_quadrature_agrees_on_a_single_result():
    def joint(s, tau):
        prior = math.exp(-((tau - 7) ** 2) / 2 - math.log(s / 0.45) ** 2 / (2 * 0.45**2)) / s
        return prior / (1 + math.exp((tau - 6.5) / s))

    def over_all(value):
        return dblquad(lambda s, tau: value(tau) * joint(s, tau), 2, 12, 0.05, 3.5, epsabs=1e-5)[0]

    learned = learn_threshold([GlazeResult(6.5, seen=1)])
    mean = over_all(lambda tau: tau) / over_all(lambda tau: 1.0)
    assert learned.mean == pytest.approx(mean, abs=5e-4)


def test_nothing_seen_is_the_prior_as_scipy_has_it():
    learned = learn_threshold([])
    assert learned.mean == pytest.approx(7.0, abs=1e-6)
    assert (learned.low, learned.high) == (
        pytest.approx(norm.ppf(0.05, 7.0, 1.0), abs=2e-3),
        pytest.approx(norm.ppf(0.95, 7.0, 1.0), abs=2e-3),
    )
    assert learned.width == pytest.approx(WIDTH.mean(), abs=1e-4)


PHI = math.sqrt(1 - 0.5)  # of the limit "repeat_likeness" as shipped


def offset_density(b):
    """Wang and Louis, Biometrika 90, 2003, p. 768, equation for the logit link (from memory)."""
    return math.sin(PHI * math.pi) / (2 * math.pi * (math.cosh(PHI * b) + math.cos(PHI * math.pi)))


@pytest.mark.parametrize("eta", [-3.0, -0.4, 0.0, 1.7])
def test_a_single_piece_of_a_glaze_with_its_offset_follows_the_plain_curve(eta):
    # The property the bridge distribution is named for, by SciPy's quadrature: the mean of
    # expit(eta / phi + b) over b is expit(eta).
    mean = quad(lambda b: expit(eta / PHI + b) * offset_density(b), -60, 60, limit=200)[0]
    assert mean == pytest.approx(expit(eta), abs=1e-8)
    made = bridge(0.5)
    ours = np.interp(eta, made.eta, made.density @ expit(made.x))
    assert ours == pytest.approx(expit(eta), abs=1e-5)
    assert bridge_density(np.array([eta]), PHI)[0] == pytest.approx(offset_density(eta))


class Repeats(Quadrature):
    """One glaze with several pieces and its offset, all integrals by quadrature."""

    def __init__(self, alpha, seen, sound):
        self.alpha, self.seen, self.sound = alpha, seen, sound
        etas = np.linspace(-60, 60, 1201)
        self.etas, self.told = etas, [self._at(eta, 0) for eta in etas]
        self.next = [self._at(eta, 1) for eta in etas]
        super().__init__([])

    def _at(self, eta, more):
        def joint(b):
            q = expit(eta / PHI + b)
            return q ** (self.seen + more) * (1 - q) ** self.sound * bridge_density(b, PHI)

        return (
            fixed_quad(joint, -eta / PHI - 25, -eta / PHI + 25, n=300)[0]
            + (fixed_quad(joint, -eta / PHI + 25, -eta / PHI + 150, n=300)[0])
        )

    def density(self, tau, s):
        told = np.interp((self.alpha - tau) / s, self.etas, self.told)
        return super().density(tau, s) * told


def test_several_pieces_of_one_glaze_by_plain_quadrature():
    alpha, seen, sound = 7.3, 5, 2
    plain = Repeats(alpha, seen, sound)
    own = GlazeResult(alpha, seen=seen, stressed=sound)
    learned = learn_threshold([own])
    middle = plain.expect(lambda tau, s: tau)
    spread = np.sqrt(plain.expect(lambda tau, s: (tau - middle) ** 2))
    assert learned.mean == pytest.approx(middle, abs=1e-3)
    assert learned.deviation == pytest.approx(spread, abs=1e-3)
    # Another piece of this very glaze: the chance of six of eight over that of five of seven.
    another = plain.expect(
        lambda tau, s: (
            np.interp((alpha - tau) / s, plain.etas, plain.next)
            / np.interp((alpha - tau) / s, plain.etas, plain.told)
        )
    )
    assert stand(learned, alpha, own).chance().mean == pytest.approx(another, abs=1e-3)
