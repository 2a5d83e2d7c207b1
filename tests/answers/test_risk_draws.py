"""Points, spreads and draws by what must hold of them whatever they are drawn for; seeds are stated."""

import numpy as np
import pytest

from roi.answers.draws import Draws, Group
from roi.answers.points import MOST, LatinHypercube
from roi.answers.spread import Even, Pert, Triangular


@pytest.mark.parametrize("count", [1, 2, 3, 7, 16, 100, 1023, 4096, 100_003])
def test_every_stratum_once(count):
    """Each column puts one point into each n-th of the span, none at its very ends."""
    points = LatinHypercube(count, 3, 5).block(0, count)
    assert points.min() > 0 and points.max() < 1
    for row in points:
        assert sorted(np.floor(row * count).astype(int)) == list(range(count))


@pytest.mark.parametrize("size", [1, 37, 100, 8192])
def test_a_block_is_the_same_whatever_its_size(size):
    count = 200 if size == 1 else 5000
    points = LatinHypercube(count, 4, 9)
    parts = [points.block(start, min(start + size, count)) for start in range(0, count, size)]
    assert np.array_equal(np.hstack(parts), points.block(0, count))


def test_seeds_streams_and_columns_differ():
    every = [LatinHypercube(64, 2, seed, stream).block(0, 64) for seed in (1, 2) for stream in (0, 1)]
    rows = {tuple(row) for block in every for row in block}
    assert len(rows) == 8
    assert np.array_equal(every[0], LatinHypercube(64, 2, 1).block(0, 64))


def test_columns_are_independent():
    """Of 60 columns of 4,096 points: correlations vary by 1 / sqrt n, and pairs fill 16 x 16 cells evenly.

    Chi-squared of a pair has 15 x 15 = 225 degrees of freedom (both margins are fixed): mean 225, deviation sqrt 450; the mean
    of 59 pairs lies within four standard errors of that.
    """
    points = LatinHypercube(4096, 60, 1).block(0, 4096)
    apart = np.corrcoef(points)[np.triu_indices(60, 1)] * np.sqrt(4096)
    assert abs(apart.mean()) < 4 / np.sqrt(apart.size)
    assert apart.std() == pytest.approx(1, abs=4 / np.sqrt(2 * apart.size))
    cells = [np.histogram2d(points[i], points[i + 1], 16, [[0, 1], [0, 1]])[0] for i in range(59)]
    chi = [((cell - 16) ** 2 / 16).sum() for cell in cells]
    assert np.mean(chi) == pytest.approx(225, abs=4 * np.sqrt(450 / 59))


def test_points_follow_one_another_without_order():
    """A point tells nothing of the next: lag-one correlation within four standard errors in the mean of 60 columns."""
    points = LatinHypercube(4096, 60, 2).block(0, 4096)
    lag = [np.corrcoef(row[:-1], row[1:])[0, 1] * 64 for row in points]
    assert abs(np.mean(lag)) < 4 / np.sqrt(60)


@pytest.mark.parametrize("count", [0, -1, MOST + 1])
def test_no_points_and_too_many_are_refused(count):
    with pytest.raises(ValueError, match="a Latin hypercube has 1 to"):
        LatinHypercube(count, 1, 1)


# Moving together


def together(share, count=8192, seed=3):
    spreads = [Even(0, 1), Even(10, 20), Even(0, 1), Even(-1, 0)]
    draws = Draws(spreads, count, seed, [Group("g", "G", (0, 1, 3))], share)
    return np.hstack([values.copy() for _, values in draws.blocks(1000)])


@pytest.mark.parametrize("share", [0.0, 0.3, 0.5, 1.0])
def test_members_correlate_by_the_stated_share_and_others_do_not(share):
    """By hand: in a share w of the draws both places are the same, else independent, so the covariance is w times the variance.

    The standard error of a correlation of 8,192 draws is at most 1 / sqrt 8192 = 0.011.
    """
    found = np.corrcoef(together(share))
    for one, other in ((0, 1), (0, 3), (1, 3)):
        assert found[one, other] == pytest.approx(share, abs=4 * 0.011)
    assert np.abs(found[2, [0, 1, 3]]).max() < 4 * 0.011


def test_members_that_move_as_one_stand_equally_high():
    first, second, _, fourth = together(1.0)
    np.testing.assert_allclose((second - 10) / 10, first, rtol=0, atol=1e-12)
    np.testing.assert_allclose(fourth + 1, first, rtol=0, atol=1e-12)


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_moving_together_leaves_each_spread_as_it_is(share):
    """Means 0.5, 15, 0.5, -0.5 and variances of a twelfth of the squared width, within four standard errors."""
    found = together(share)
    span = np.array([1, 10, 1, 1])
    error = span * np.sqrt(1 / 12 / 8192)
    assert np.all(np.abs(found.mean(axis=1) - [0.5, 15, 0.5, -0.5]) < 4 * error)
    np.testing.assert_allclose(found.var(axis=1), span**2 / 12, rtol=4 * np.sqrt(0.8 / 8192))


def test_a_group_is_one_factor_with_the_columns_that_join_it():
    draws = Draws([Even(0, 1)] * 4, 100, 1, [Group("g", "G", (1, 3))], 0.5)
    found = [(f.label, f.members, f.columns) for f in draws.factors(["a", "b", "c", "d"])]
    assert found == [("a", (0,), (0,)), ("G", (1, 3), (1, 3, 4, 5)), ("c", (2,), (2,))]
    assert draws.columns == 6
    apart = Draws([Even(0, 1)] * 4, 100, 1, [Group("g", "G", (1, 3))], 0.0)
    assert len(apart.factors(["a", "b", "c", "d"])) == 4


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_no_share_beyond_its_ends(share):
    with pytest.raises(ValueError, match="a share from 0 to 1"):
        Draws([Even(0, 1)], 100, 1, (), share)


def test_a_triangle_varies_more_than_pert():
    """Same ends and best: 1/24 x width^2 against 1/28 for the symmetric case (0.25 / 6 and 0.25 / 7)."""
    assert Triangular(0, 0.5, 1).variance == pytest.approx(1 / 24)
    assert Pert(0, 0.5, 1).variance == pytest.approx(1 / 28)
