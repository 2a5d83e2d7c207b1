"""Draws, variance shares and the value of knowing against published examples and closed forms.

Seeds are stated. A tolerance of several standard errors is that of the draws, not of the source; where the source prints
fewer digits its last digit decides.
"""

import importlib.util
import math
from statistics import NormalDist

import numpy as np
import pytest

from roi.answers.draws import Draws
from roi.answers.knowing import Knowing, knowing_all
from roi.answers.points import LatinHypercube
from roi.answers.shares import variance_shares
from roi.answers.spread import Even, Graded, Pert, Triangular

SEEDS = (1, 2, 3, 4, 5)


def drawn(spreads, count, seed, **more):
    return np.hstack([values.copy() for _, values in Draws(spreads, count, seed, **more).blocks(1000)])


class Normal:
    """The standard normal distribution, by Python's own library."""

    low, high = -math.inf, math.inf

    def at(self, share):
        return np.array([NormalDist().inv_cdf(float(x)) for x in share])


# Distributions


@pytest.mark.parametrize(
    ("spread", "mean", "variance"),
    [
        # Triangular: mean (a + m + b) / 3, variance (a2 + b2 + m2 - ab - am - bm) / 18.
        # (10 + 15 + 25) / 3 = 16.667; (100 + 625 + 225 - 250 - 150 - 375) / 18 = 175 / 18 = 9.7222
        (Triangular(10, 15, 25), 50 / 3, 175 / 18),
        # PERT: mean (a + 4m + b) / 6, variance (mean - a)(b - mean) / 7: 1 x 1 / 7
        (Pert(-1, 0, 1), 0.0, 1 / 7),
        # (10 + 60 + 25) / 6 = 15.8333; 5.8333 x 9.1667 / 7 = 7.63889
        (Pert(10, 15, 25), 95 / 6, (95 / 6 - 10) * (25 - 95 / 6) / 7),
        # Best at an end: (0 + 0 + 6) / 6 = 1; 1 x 5 / 7
        (Pert(0, 0, 6), 1.0, 5 / 7),
        # One sixth at each end: mean as the PERT's, (133 + 4 x 150 + 150) / 6; 1/6 x 5/6 x 17^2
        (Graded(133, 150, 150, 1 / 6), 883 / 6, 5 / 36 * 17**2),
        (Even(2, 8), 5.0, 3.0),
    ],
)
def test_mean_and_variance_are_those_of_the_closed_form(spread, mean, variance):
    assert (spread.mean, spread.variance) == pytest.approx((mean, variance), rel=1e-12)
    values = spread.at((np.arange(200_000) + 0.5) / 200_000)
    span = spread.high - spread.low
    assert values.mean() == pytest.approx(mean, abs=1e-5 * span)
    assert values.var() == pytest.approx(variance, rel=1e-4)
    assert values.min() >= spread.low and values.max() <= spread.high


@pytest.mark.parametrize(
    ("best", "below"),
    [
        # Regularised incomplete beta functions of whole numbers, by the binomial sum (Abramowitz and Stegun, 26.5.24):
        (0.0, lambda x: 1 - (1 - x) ** 5),  # I(1, 5)
        (0.25, lambda x: 10 * x**2 - 20 * x**3 + 15 * x**4 - 4 * x**5),  # I(2, 4)
        (0.5, lambda x: 10 * x**3 - 15 * x**4 + 6 * x**5),  # I(3, 3)
        (1.0, lambda x: x**5),  # I(5, 1)
    ],
)
def test_the_inverse_of_pert_undoes_its_distribution_function(best, below):
    shares = np.concatenate((np.linspace(0.001, 0.999, 1999), [1e-5, 1 - 1e-5]))
    np.testing.assert_allclose(below(Pert(0, best, 1).at(shares)), shares, rtol=0, atol=2e-6)


# Sums with known answers


@pytest.mark.parametrize("seed", SEEDS)
def test_four_rectangular_quantities(seed):
    """JCGM 101:2008, clause 9.2.3, table 3: mean 0, u = 2.00, 95 % interval -3.88 to 3.88.

    By hand: of four quantities between 0 and 1 the sum passes s with chance (4 - s)^4 / 24 for s above 3; that is 2.5 % at
    s = 4 - 0.6^(1/4) = 3.1199. Centred and stretched by 2 sqrt 3: 1.1199 x 3.4641 = 3.8794.
    """
    exact = (4 - 0.6**0.25 - 2) * 2 * math.sqrt(3)
    assert exact == pytest.approx(3.88, abs=0.005)
    count = 100_000
    total = drawn([Even(-math.sqrt(3), math.sqrt(3))] * 4, count, seed).sum(axis=0)
    low, high = np.quantile(total, (0.025, 0.975))
    # Density of the sum there: (4 - s)^3 / 6 / (2 sqrt 3) = 0.0328; standard error sqrt(p q / n) / density = 0.015.
    error = math.sqrt(0.025 * 0.975 / count) / (0.6**0.75 / 6 / (2 * math.sqrt(3)))
    assert abs(total.mean()) < 4 * 2 / math.sqrt(count)
    assert total.std() == pytest.approx(2, abs=4 * 2 * math.sqrt(1.7 / (4 * count)))
    assert (low, high) == pytest.approx((-exact, exact), abs=4 * error)


def test_four_normal_quantities():
    """JCGM 101:2008, clause 9.2.2, table 2: mean 0, u = 2.0, 95 % interval -3.92 to 3.92."""
    count = 10_000
    total = drawn([Normal()] * 4, count, 1).sum(axis=0)
    low, high = np.quantile(total, (0.025, 0.975))
    assert abs(total.mean()) < 4 * 2 / math.sqrt(count)
    assert total.std() == pytest.approx(2.0, abs=4 * 2 / math.sqrt(2 * count))
    # Density of N(0, 2) at 3.92 is 0.0292; standard error 0.053.
    assert (low, high) == pytest.approx((-3.92, 3.92), abs=4 * 0.053)


def test_the_logarithm_of_a_rectangular_quantity():
    """NPL Report DEM-ES-011, section 9.2, table 9.2: y = ln x, x rectangular from 0.1 to 1.1.

    Mean -0.665, u 0.606; shortest 95 % interval -1.895 to 0.095, a printed draw of its own: exactly ln 0.15 and ln 1.1.
    """
    found = np.sort(np.log(drawn([Even(0.1, 1.1)], 20_000, 1)[0]))
    assert (found.mean(), found.std()) == pytest.approx((-0.665, 0.606), abs=0.001)
    inside = round(0.95 * found.size)
    at = int((found[inside - 1 :] - found[: found.size - inside + 1]).argmin())
    assert (found[at], found[at + inside - 1]) == pytest.approx((-1.895, 0.095), abs=0.003)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("shape", [Pert, Triangular])
def test_a_linear_model_within_four_standard_errors(seed, shape):
    """Sums of independent quantities: means add, variances add with the squares of the weights."""
    spreads = [shape(0, 1, 4), shape(10, 15, 16), shape(-2, 0, 3), shape(5, 5, 9)]
    weights = np.array([3.0, -2.0, 1.0, 0.5])
    mean = sum(w * s.mean for w, s in zip(weights, spreads, strict=True))
    variance = sum(w * w * s.variance for w, s in zip(weights, spreads, strict=True))
    count = 20_000
    found = weights @ drawn(spreads, count, seed)
    assert abs(found.mean() - mean) < 4 * math.sqrt(variance / count)
    fourth = ((found - found.mean()) ** 4).mean()
    assert abs(found.var() - variance) < 4 * math.sqrt((fourth - variance**2) / count)


# Latin hypercubes


def test_the_variance_of_the_mean_is_what_stratifying_leaves():
    """One column of n points: each lies evenly in its n-th of the span, so that the mean varies by n x (1/n)^2 / 12 / n^2.

    That is 1 / (12 n^3), exactly; a hundredth of plain draws' 1 / (12 n) at n = 10. Over 2,000 seeds the estimate has a
    relative standard error of sqrt(2 / 2000) = 3.2 %.
    """
    n = 10
    means = [LatinHypercube(n, 1, seed).block(0, n).mean() for seed in range(2000)]
    assert np.var(means) * 12 * n**3 == pytest.approx(1, abs=4 * 0.032)
    assert np.mean(means) == pytest.approx(0.5, abs=4 * math.sqrt(1 / (12 * n**3) / 2000))


@pytest.mark.parametrize(
    ("name", "function"),
    [
        ("product", lambda p: (p[0] - 0.5) * (p[1] - 0.5)),
        ("sum", lambda p: p[0] + p[1]),
        ("peak", lambda p: 1.0 * ((p[0] > 0.3) & (p[1] < 0.4))),
    ],
)
def test_the_mean_never_varies_more_than_that_of_one_plain_draw_fewer(name, function):
    """A. B. Owen 1997, as told in SciPy 1.17.1, scipy.stats.qmc.LatinHypercube: variance at most sigma^2 / (n - 1)."""
    n, seeds = 16, 1000
    means = [function(LatinHypercube(n, 2, seed).block(0, n)).mean() for seed in range(seeds)]
    sigma2 = function(np.random.default_rng(1).random((2, 200_000))).var()
    assert np.var(means) < sigma2 / (n - 1) * (1 + 4 * math.sqrt(2 / seeds))


# Variance shares

A, B = 7.0, 0.1


def ishigami(points):
    x = (2 * points - 1) * np.pi
    return np.sin(x[0]) + A * np.sin(x[1]) ** 2 + B * x[2] ** 4 * np.sin(x[0])


def closed_form():
    """T. Ishigami, T. Homma 1990; A. Saltelli et al., Global Sensitivity Analysis: The Primer, 2008, section 4.

    V1 = (1 + B pi^4 / 5)^2 / 2, V2 = A^2 / 8, V3 = 0, V13 = 8 B^2 pi^8 / 225, no other.
    """
    one, two = (1 + B * np.pi**4 / 5) ** 2 / 2, A**2 / 8
    both = 8 * B**2 * np.pi**8 / 225
    whole = one + two + both
    return np.array([one, two, 0]) / whole, np.array([one + both, two, both]) / whole, whole


@pytest.mark.parametrize("seed", SEEDS)
def test_ishigami(seed):
    first, total, variance = closed_form()
    assert first == pytest.approx([0.3139, 0.4424, 0], abs=5e-5)
    assert total == pytest.approx([0.5576, 0.4424, 0.2437], abs=5e-5)
    found = variance_shares(ishigami, [[0], [1], [2]], 3, 8192, seed, block=1000)
    assert found.evaluations == 8192 * 5
    assert np.all(np.abs(found.first - first) < 4 * found.first_error + 0.005)
    assert np.all(np.abs(found.total - total) < 4 * found.total_error + 0.005)
    assert found.variance == pytest.approx(variance, rel=0.03)
    assert np.all(found.total_error < 0.02) and np.all(found.first_error < 0.02)


def test_a_pair_taken_as_one_factor():
    """x1 and x3 as one: they act with nothing else, so first order and total are both V1 + V13, the rest is V2."""
    first, total, _ = closed_form()
    found = variance_shares(ishigami, [[0, 2], [1]], 3, 8192, 1)
    assert found.first == pytest.approx([total[0], first[1]], abs=0.04)
    assert found.total == pytest.approx([total[0], first[1]], abs=0.04)


def test_what_does_not_vary_has_no_shares():
    assert variance_shares(lambda p: np.full(p.shape[1], 3.0), [[0]], 1, 100, 1) is None


@pytest.mark.skipif(importlib.util.find_spec("SALib") is None, reason="SALib is not installed")
def test_ishigami_as_salib_has_it():
    from SALib.analyze import sobol as analyze
    from SALib.sample import sobol as sample

    problem = {"num_vars": 3, "names": ["a", "b", "c"], "bounds": [[0.0, 1.0]] * 3}
    points = sample.sample(problem, 8192, calc_second_order=False, seed=1)
    theirs = analyze.analyze(problem, ishigami(points.T), calc_second_order=False, seed=1)
    ours = variance_shares(ishigami, [[0], [1], [2]], 3, 8192, 1)
    np.testing.assert_allclose(ours.first, theirs["S1"], atol=0.05)
    np.testing.assert_allclose(ours.total, theirs["ST"], atol=0.05)


# What knowing is worth

GRID = np.linspace(-1, 1, 401)[:-1] + 1 / 400


def test_two_states_by_hand():
    """A project worth 20 with chance 0.7 and -80 with 0.3, or nothing at all.

    The expected value of the project, 20 x 0.7 - 80 x 0.3 = -10, is that of the OAS primer, Annex 1 (nzdl.org); so nothing
    is done. Who knows the state does it in the good one: 0.7 x 20 = 14 is what knowing is worth.
    """
    spread = Graded(0.0, 1.0, 1.0, 0.3)
    knowing, every = Knowing(1, 2), []
    for start, good in Draws([spread], 1000, 1).blocks(300):
        costs = np.vstack((np.where(good[0] == 1, -20.0, 80.0), np.zeros(good.shape[1])))
        every.append(costs)
        knowing.add(start, 2 * good - 1, costs)
    costs = np.hstack(every)
    assert -costs[0].mean() == pytest.approx(-10, abs=1e-9)
    assert knowing_all(costs)[0] == pytest.approx(14, abs=1e-9)
    places = 2 * spread.at((np.arange(1000) + 0.5) / 1000)[None] - 1
    assert knowing.worth(places, [0, 1]).value[0] == pytest.approx(14, abs=1e-3)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_sum_of_two_even_quantities_and_a_third_that_tells_nothing(seed):
    """Do nothing, or gain x + y, both even from -1 to 1; z is drawn and has no part in it.

    Knowing x: mean of max(0, x) = 1/4, since y is 0 on average. Knowing both: half the mean of |x + y|, whose density falls
    from 1/2 at 0 to 0 at 2: 2/3, so 1/3. Knowing z: 0. Choosing and valuing by the same draws would give z about 0.01.
    """
    knowing, every = Knowing(3, 2), []
    for start, values in Draws([Even(-1, 1)] * 3, 4096, seed).blocks(1000):
        costs = np.vstack((np.zeros(values.shape[1]), -(values[0] + values[1])))
        every.append(costs)
        knowing.add(start, values, costs)
    found = knowing.worth(np.tile(GRID, (3, 1)), [0, 1])
    assert found.value[:2] == pytest.approx([0.25, 0.25], abs=0.015)
    assert abs(found.value[2]) < 0.03
    value, error = knowing_all(np.hstack(every))
    assert value == pytest.approx(1 / 3, abs=4 * error)
    assert np.all(found.value < value)


def test_the_worth_of_what_tells_nothing_is_not_biased_upward():
    """Over 100 seeds: a choice between equals, told by something that has no part in it, is worth nothing on average.

    The plain estimator, which chooses and values by the same draws, is told beside it: it finds worth in every seed.
    """
    ours, plain = [], []
    for seed in range(100):
        knowing = Knowing(1, 2)
        for start, values in Draws([Even(-1, 1)] * 2, 1000, seed).blocks():
            knowing.add(start, values[:1], np.vstack((np.zeros(1000), values[1])))
            powers = np.polynomial.legendre.legvander(values[0], 4)
            fitted = powers @ np.linalg.lstsq(powers, values[1], rcond=None)[0]
            plain.append(-np.minimum(fitted, 0).mean() + min(fitted.mean(), 0))
        ours.append(float(knowing.worth(GRID[None], [0, 1]).value[0]))
    error = np.std(ours) / math.sqrt(len(ours))
    assert min(plain) > 0 and np.mean(plain) > 0.008
    assert abs(np.mean(ours)) < 4 * error < np.mean(plain)


def test_variance_explained_by_each_quantity():
    """2 x + y: variances 4/3 and 1/3."""
    knowing = Knowing(2, 1)
    for start, values in Draws([Even(-1, 1)] * 2, 4096, 1).blocks():
        knowing.add(start, values, (2 * values[0] + values[1])[None])
    assert knowing.explained(np.tile(GRID, (2, 1)), [1.0]) == pytest.approx([4 / 3, 1 / 3], rel=0.02)
