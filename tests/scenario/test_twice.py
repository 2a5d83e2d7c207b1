"""Rows that stand twice, counted by hand: a copy below, forms of one job beside one another, columns of very many kinds."""

import numpy as np

from roi.scenario.tables import Column
from roi.scenario.twice import repeated


def counted(usable=None, **cells):
    made = {}
    for name, values in cells.items():
        kinds = tuple(dict.fromkeys(values))
        made[name] = Column(name, kinds, np.array([kinds.index(v) for v in values], np.int32))
    rows = len(cells["date" if "date" in cells else "job"])
    return repeated(made, np.ones(rows, bool) if usable is None else np.array(usable))


def test_a_copy_below_counts_each_of_its_rows():
    assert counted(job=[*"abcabc"], date=[*"123123"], plates=[*"444444"]) == 3


def test_one_cell_that_differs_makes_a_row_of_its_own():
    assert counted(job=[*"abcabc"], date=[*"123123"], plates=[*"444484"]) == 2


def test_forms_of_a_job_beside_one_another_may_be_alike():
    assert counted(job=[*"aaabbcb"], date=[*"1112232"]) == 1, "the last b, with c between"


def test_where_every_row_has_its_double_the_order_is_nothing():
    assert counted(job=[*"aabbcccc"], date=[*"11223333"]) == 4


def test_without_job_or_date_nothing_can_be_told():
    assert counted(job=[*"abab"]) == 0
    assert counted(date=[*"1212"]) == 0
    assert counted(job=[""] * 4, date=[*"1212"]) == 0


def test_many_kinds_in_many_columns_are_told_apart():
    """Eight columns of 300 kinds are 300^8, more than 2^62, ways to differ; one of them differs in one row."""
    kinds = [str(n) for n in range(300)] * 2
    other = dict.fromkeys("cdefgh", kinds)
    assert counted(job=kinds, date=kinds, **other) == 300
    assert counted(job=kinds, date=[*kinds[:-1], "0"], **other) == 299


def test_rows_left_out_count_no_more():
    assert counted([True] * 3 + [False] * 3, job=[*"abcabc"], date=[*"123123"]) == 0
    assert counted([True] * 5 + [False], job=[*"abcabc"], date=[*"123123"]) == 2
