"""Plates and impressions of a job against hand arithmetic, a sheet at a time. Counts only, no money."""

import numpy as np
import pytest

from roi.scenario.imposition import IMPOSITIONS, colours, forms_of, sides_of_pages


def one(quantity, up, front, back, imposition, sides=0):
    """Forms of a single job as (plates, good impressions)."""
    forms = forms_of(
        np.array([float(quantity)]),
        np.array([float(up)]),
        np.array([front]),
        np.array([back]),
        np.array([IMPOSITIONS.index(imposition)]),
        np.array([sides]),
    )
    assert forms.place.tolist() == list(range(forms.row.size))
    return list(zip(forms.plates.tolist(), forms.good.tolist(), strict=True))


def test_sheetwise_has_a_form_a_side():
    """By hand: 5,000 pieces 4 up are 1,250 sheets; 4 front plates and 1 back plate print each once."""
    assert one(5000, 4, 4, 1, "sheetwise") == [(4, 1250), (1, 1250)]


@pytest.mark.parametrize("turned", ["work-and-turn", "work-and-tumble"])
def test_a_turned_form_prints_the_sheet_twice(turned):
    """By hand: 5,000 pieces; the form holds 2 fronts and 2 backs. Run one way and turned, a sheet yields 4
    pieces: 1,250 sheets, each through the same 4 plates twice: 2,500 impressions. Sheetwise would have taken
    8 plates.
    """
    assert one(5000, 4, 4, 4, turned) == [(4, 2500)]
    assert sum(plates for plates, _ in one(5000, 4, 4, 4, "sheetwise")) == 8


def test_perfecting_prints_both_sides_in_one_pass():
    """By hand: 1,000 sheets 1 up, one colour a side: 2 plates on the press at once, 1,000 impressions."""
    assert one(1000, 1, 1, 1, "perfecting") == [(2, 1000)]
    assert one(1000, 1, 2, 0, "perfecting") == [(2, 1000)]


def test_sheets_are_rounded_up():
    """By hand: 1,001 pieces 4 up need 251 sheets, and 502 impressions when turned."""
    assert one(1001, 4, 1, 0, "one-side") == [(1, 251)]
    assert one(1001, 4, 1, 1, "work-and-turn") == [(1, 502)]


def test_colours_on_the_back_alone_are_one_form():
    assert one(100, 1, 0, 2, "sheetwise") == [(2, 100)]


def test_pages_make_forms():
    """By hand: 20 pages, 4 a side: 5 sides. Sheetwise 4/1: 3 fronts of 4, 2 backs of 1. Perfecting: 2 whole
    sheets of 5 plates and a front of 4. Work-and-turn, 2 copies a sheet: 5 forms, 1,000 copies are 500
    sheets, 1,000 impressions.
    """
    sides = int(sides_of_pages(np.array([20.0]), np.array([4.0]))[0])
    assert sides == 5
    assert sorted(one(1000, 1, 4, 1, "sheetwise", sides)) == [(1, 1000)] * 2 + [(4, 1000)] * 3
    assert one(1000, 1, 4, 1, "perfecting", sides) == [(5, 1000), (5, 1000), (4, 1000)]
    assert one(1000, 2, 4, 4, "work-and-turn", sides) == [(4, 1000)] * 5


def test_seventeen_pages_need_a_side_more_than_sixteen():
    np.testing.assert_array_equal(sides_of_pages(np.array([16.0, 17.0, 0.0]), np.full(3, 4.0)), [4, 5, 0])


def test_forms_keep_to_their_rows():
    """By hand: job 0 sheetwise (2 forms), job 1 one side (1), job 2 sheetwise (2)."""
    sheetwise, single = IMPOSITIONS.index("sheetwise"), IMPOSITIONS.index("one-side")
    forms = forms_of(
        np.array([100.0, 200.0, 300.0]),
        np.ones(3),
        np.array([4, 1, 2]),
        np.array([1, 0, 2]),
        np.array([sheetwise, single, sheetwise]),
        np.zeros(3, int),
    )
    assert forms.row.tolist() == [0, 0, 1, 2, 2]
    assert forms.place.tolist() == [0, 1, 0, 0, 1]
    assert forms.plates.tolist() == [4, 1, 1, 2, 2]
    assert forms.good.tolist() == [100, 100, 200, 300, 300]


@pytest.mark.parametrize(
    ("cell", "meaning"),
    [
        ("4/1", (4, 1)),
        ("4 / 4", (4, 4)),
        ("4+0", (4, 0)),
        ("2", (2, 0)),
        (2.0, (2, 0)),
        ("CMYK", (0, 0)),
        ("4/", (0, 0)),
    ],
)
def test_colours_are_read_as_the_trade_writes_them(cell, meaning):
    assert colours(cell) == meaning
