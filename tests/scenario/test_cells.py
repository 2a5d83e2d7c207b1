"""What single cells say, against values written out by hand."""

import math

import numpy as np
import pytest

from roi.scenario.badrows import BadRows
from roi.scenario.cells import number, read_numbers, read_words, read_yes_no, ruling
from roi.scenario.tables import Column
from roi.scenario.words import fold, nearest, word_list


def column(*cells):
    return Column(
        "Head", tuple(dict.fromkeys(cells)), np.array([list(dict.fromkeys(cells)).index(c) for c in cells])
    )


def bad_rows(n):
    return BadRows("log.csv", np.arange(2, n + 2))


@pytest.mark.parametrize(
    ("text", "decimal", "value"),
    [
        ("1250", "point", 1250),
        ("12,500", "point", 12500),
        ("1,234,567.5", "point", 1234567.5),
        ("12 500", "point", 12500),
        ("1.5", "point", 1.5),
        ("-3", "point", -3),
        (7.0, "point", 7),
        ("1.234,5", "comma", 1234.5),
        ("1,5", "comma", 1.5),
        ("12.500", "comma", 12500),
        ("12\u00a0500,25", "comma", 12500.25),
    ],
)
def test_numbers_follow_the_stated_decimal_mark(text, decimal, value):
    assert number(text, decimal) == value


@pytest.mark.parametrize(
    ("text", "decimal"),
    [
        ("1,5", "point"),
        ("1.5", "comma"),
        ("12.5.00", "point"),
        ("25O0", "point"),
        ("1e5", "point"),
        ("=1+1", "point"),
        ("1,23,456", "point"),
        ("5 plates", "point"),
        ("nan", "point"),
        ("inf", "point"),
        ("", "point"),
        ("--1", "point"),
    ],
)
def test_what_is_no_number_is_not_guessed_at(text, decimal):
    assert math.isnan(number(text, decimal))


def test_number_faults_are_told_by_kind_with_rows_and_cells():
    bad = bad_rows(6)

    values = read_numbers(column("4", "x", "", "0", "99", "2.5"), "point", bad, low=1, high=16, whole=True)

    assert values[0] == 4 and values.min() >= 1 and values.max() <= 16
    assert bad.mask.tolist() == [False, True, True, True, True, True]
    told = {str(p).splitlines()[0] for p in bad.problems}
    assert told == {
        'log.csv, row 4: 1 row: column "Head" is empty',
        'log.csv, row 3: 1 row: column "Head" is not a number: "x"',
        'log.csv, row 5: 1 row: column "Head" is below 1: "0"',
        'log.csv, row 6: 1 row: column "Head" is above 16: "99"',
        'log.csv, row 7: 1 row: column "Head" is not a whole number: "2.5"',
    }


def test_only_five_rows_and_a_count_are_told():
    bad = bad_rows(1000)
    read_numbers(column(*["oops"] * 1000), "point", bad, low=0, high=10)
    assert bad.problems[0].where == "log.csv, rows 2, 3, 4, 5, 6 and 995 more"
    assert bad.problems[0].what.startswith("1,000 rows: ")


@pytest.mark.parametrize(
    ("text", "lpi"),
    [
        ("175", 175),
        ("175 lpi", 175),
        ("150LPI", 150),
        (133.0, 133),
        ("", 0),
        ("n/a", 0),
        ("70/cm", 177.8),
        ("60 l/cm", 152.4),
    ],
)
def test_rulings_come_in_lines_per_inch(text, lpi):
    """An inch is 2.54 cm exactly (NIST SP 811, appendix B.8), so 70 lines a cm are 177.8 lines an inch."""
    assert ruling(text, "point") == pytest.approx(lpi, rel=1e-12)


@pytest.mark.parametrize("text", ["fine", "-5", "99999", "175 dpi", "1,75,0"])
def test_what_is_no_ruling_is_none(text):
    assert math.isnan(ruling(text, "point"))


def test_yes_and_no_in_the_usual_words_and_the_logs_own():
    bad = bad_rows(8)
    said = column("Yes", "", "X", "n", "UV ink", "1", "perhaps", "true")
    found = read_yes_no(said, bad, "uv", "[log] words", frozenset({"uv ink"}), frozenset({"1"}))
    assert found.tolist() == [True, False, True, False, True, False, False, True]
    assert bad.mask.tolist() == [False] * 6 + [True, False]
    assert '"perhaps"' in bad.problems[0].what and "[log] words.yes" in bad.problems[0].mend


def test_words_lead_to_ids_and_the_near_one_is_offered():
    problems = []
    meaning = word_list(
        ["two_colour", "one_colour"],
        {"two_colour": ["14x20"]},
        "words.press",
        problems,
        {"one_colour": "Small"},
    )
    assert problems == []
    bad = bad_rows(6)
    index = read_words(
        column("two_colour", "TWO  Colour", "14X20", "small", "14x2O", ""),
        ("two_colour", "one_colour"),
        meaning,
        bad,
        "here",
    )
    assert index.tolist()[:4] == [0, 0, 0, 1]
    assert bad.mask.tolist() == [False] * 4 + [True, True]
    assert '"14x2O" is nearest to two_colour' in "".join(p.mend for p in bad.problems)


def test_a_word_of_two_meanings_and_an_unknown_id_are_problems():
    problems = []
    word_list(
        ["litho", "offset"], {"litho": ["old"], "offset": ["OLD"], "lithoo": []}, "words.press", problems
    )
    assert [str(p) for p in problems] == [
        'words.press: "lithoo" is not a key of this table\n  mend: did you mean "litho"?',
        'words.press.offset: "OLD" already stands for litho\n  mend: list each word once',
    ]


def test_words_must_be_lists():
    problems = []
    word_list(["a"], {"a": "old"}, "words.press", problems)
    assert [p.where for p in problems] == ["words.press.a"]


def test_folding_ignores_case_and_white_space_only():
    assert fold("  Two\tColour ") == "two colour"
    assert nearest("Impresions", ["Job", "Impressions"]) == "Impressions"
    assert nearest("zzz", ["Job"]) is None
