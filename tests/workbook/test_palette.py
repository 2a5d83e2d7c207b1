"""The palette against published formulas: contrast of WCAG 2.2, colour blindness of Machado and others."""

from itertools import combinations, pairwise

import numpy as np
import pytest

from roi.workbook.palette import GRID, INK, PAPER, SERIES, contrast, linear

# G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based Model for Simulation of Color
# Vision Deficiency", IEEE Transactions on Visualization and Computer Graphics 15 (6), 2009: severity 1.0, on
# linear RGB.
SIGHT = {
    "usual": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
# IEC 61966-2-1: linear sRGB to CIE XYZ, white D65.
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
WHITE = TO_XYZ.sum(axis=1)


def lab(colour, sight):
    """CIE 1976 L*a*b* of a colour as seen with one kind of sight (CIE 15, Colorimetry)."""
    light = np.array([linear(int(colour[place : place + 2], 16) / 255) for place in (0, 2, 4)])
    ratio = TO_XYZ @ np.clip(SIGHT[sight] @ light, 0, 1) / WHITE
    x, y, z = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def nearest(colours, sight):
    """The smallest CIE 1976 colour difference between any two."""
    return min(np.linalg.norm(lab(one, sight) - lab(other, sight)) for one, other in combinations(colours, 2))


def test_contrast_of_the_standards_own_ends():
    """WCAG 2.2: ratios run from 1 to 21; pure red has the luminance 0.2126 of its coefficient."""
    assert contrast("000000", "FFFFFF") == pytest.approx(21)
    assert contrast("336699", "336699") == 1
    assert contrast("FFFFFF", "FF0000") == pytest.approx(1.05 / (0.2126 + 0.05))


def test_series_stand_out_on_white_and_letters_read():
    """WCAG 2.2: 3 : 1 for parts of a graphic (1.4.11), 4.5 : 1 for text (1.4.3)."""
    assert len(set(SERIES)) == 6
    assert min(contrast(colour, PAPER) for colour in SERIES) >= 3
    assert contrast(INK, PAPER) >= 4.5
    assert contrast(GRID, PAPER) < 1.5  # the grid stays behind the data


@pytest.mark.parametrize(
    "sight, apart",
    [
        ("usual", 30),
        ("protanopia", 30),
        ("deuteranopia", 30),
        ("tritanopia", 25),
    ],
)
def test_series_differ_for_every_kind_of_sight(sight, apart):
    """A difference of 2.3 is just noticeable (M. Mahy and others, 1994); ours is ten times as much."""
    assert nearest(SERIES, sight) >= apart


def test_the_measure_sees_a_pair_that_colour_blind_readers_confuse():
    """A red and a green of the same lightness: far apart for most readers, alike in deuteranopia."""
    pair = ("B5453C", "6E7B22")
    assert nearest(pair, "usual") > 60
    assert nearest(pair, "deuteranopia") < 15


def test_neighbours_in_a_stacked_bar_differ_on_a_grey_print():
    lightness = [lab(colour, "usual")[0] for colour in SERIES]
    assert min(abs(one - other) for one, other in pairwise(lightness)) >= 10
