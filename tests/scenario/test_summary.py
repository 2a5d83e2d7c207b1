"""A summary as weighted rows: sums worked out by hand, and every fault of the table told."""

import numpy as np
import pytest

from roi.scenario.problems import BadInput
from roi.scenario.summary import read_summary

UNITS = {"two_colour": 2, "one_colour": 1}
SIZES = ("large", "letter")
STATED = {
    "plates_per_month": {"large": 200, "letter": "1,400 plates/month"},
    "colours": {"1": 0.45, "2": 0.33, "4": "20 %", "3": 0.02},
    "runs": {"under_1000": 0.45, "to_5000": 0.42, "to_15000": 0.09, "to_50000": 0.03, "more": 0.01},
    "uncoated": "65 %",
    "tight": 0.05,
    "above_150_lpi": 0.04,
    "uv": 0.1,
    "confined": 0.02,
    "press": {"letter": "one_colour"},
}


def read(**more):
    return read_summary({**STATED, **more}, UNITS, SIZES)


def faults(**more):
    with pytest.raises(BadInput) as fault:
        read(**more)
    return [str(p) for p in fault.value.problems]


def share(log, where):
    return log.weight[where].sum() / log.weight.sum()


def test_weights_give_the_stated_plates():
    """By hand: 200 x 12 = 2,400 and 1,400 x 12 = 16,800 plates a year; mean plates a form
    0.45 + 0.66 + 0.06 + 0.80 = 1.97, so 19,200 / 1.97 = 9,746.19 forms.
    """
    log = read()
    plates = np.bincount(log.size, log.weight * log.plates)
    np.testing.assert_allclose(plates, [2400, 16800], rtol=1e-12)
    assert log.weight.sum() == pytest.approx(9746.1929, abs=1e-4)
    assert log.per_year == 1


def test_shares_come_back_as_stated():
    log = read()
    assert share(log, log.plates == 4) == pytest.approx(0.20)
    assert share(log, log.plates == 3) == pytest.approx(0.02)
    assert share(log, log.uncoated) == pytest.approx(0.65)
    assert share(log, log.tight) == pytest.approx(0.05)
    assert share(log, log.ruling == 175) == pytest.approx(0.04)
    assert share(log, log.ruling == 0) == pytest.approx(0.96)  # not stated
    assert log.ruling_unknown == pytest.approx(0.96 * log.weight.sum())
    stated = read(usual_ruling="133 lpi")
    assert share(stated, stated.ruling == 133) == pytest.approx(0.96) and stated.ruling_unknown == 0
    assert faults(usual_ruling="175 lpi")[0].startswith(
        '[summary] usual_ruling: "175 lpi" is no usual ruling'
    )
    assert share(log, log.uv) == pytest.approx(0.1)
    assert share(log, log.confined) == pytest.approx(0.02)
    assert set(log.plates[log.tight]) == {4}
    for good, stated in ((500, 0.45), (2200, 0.42), (8700, 0.09), (27000, 0.03), (80000, 0.01)):
        assert share(log, log.good == good) == pytest.approx(stated)


def test_shares_are_independent():
    """By hand: 65 % uncoated x 10 % UV x 42 % of runs to 5,000 = 2.73 %."""
    log = read()
    assert share(log, log.uncoated & log.uv & (log.good == 2200)) == pytest.approx(0.0273)


def test_representative_runs_lie_within_their_class():
    bounds = {
        500: (0, 1000),
        2200: (1000, 5000),
        8700: (5000, 15000),
        27000: (15000, 50000),
        80000: (50000, np.inf),
    }
    assert all(low < good < high for good, (low, high) in bounds.items())
    assert set(read().good) == set(bounds)


def test_presses_go_by_size_and_default_to_the_first():
    log = read()
    assert set(log.press[log.size == 1]) == {1}
    assert set(log.press[log.size == 0]) == {0}
    assert (log.presses, log.sizes) == (("two_colour", "one_colour"), SIZES)


def test_what_is_not_stated_is_a_default_and_said():
    """By hand: the default colours 0.5 x 1 + 0.3 x 2 + 0.2 x 4 = 1.9 plates a form."""
    log = read_summary({"plates_per_month": {"large": 190}, "runs": {"to_5000": 1}}, UNITS, SIZES)
    assert log.weight.sum() == pytest.approx(12 * 190 / 1.9)
    told = " ".join(log.notes)
    for words in (
        "default shares",
        "uncoated stock, tight register, rulings above 150 lpi, UV ink, work that must not leave the building",
        "two colour",
        "The share of each month is not stated",
    ):
        assert words in told
    np.testing.assert_allclose(log.month_share, 1 / 12)
    assert np.isnat(log.day).all() and set(log.job) == {""}


def test_month_shares_are_kept():
    shares = [0.07, 0.075, 0.085, 0.09, 0.085, 0.075, 0.065, 0.08, 0.095, 0.105, 0.095, 0.08]
    np.testing.assert_allclose(read(month_share=shares).month_share, shares)


def test_shares_that_miss_one_by_rounding_are_brought_to_one():
    log = read(colours={"1": 0.333, "2": 0.333, "4": 0.333})
    assert share(log, log.plates == 4) == pytest.approx(1 / 3)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"run": {}}, 'did you mean "runs"'),
        ({"runs": {"under_100": 1}}, 'did you mean "under_1000"'),
        ({"runs": {"under_1000": 0.9}}, "add up to 0.9, not 1"),
        ({"runs": {}}, "runs: is empty"),
        ({"runs": {"under_1000": -0.5, "more": 0.5}}, "not a share"),
        ({"runs": 1}, "must be a table"),
        ({"colours": {"five": 1}}, '"five" is not a key'),
        ({"colours": {"1": "many"}}, '"many" is not a share'),
        ({"plates_per_month": {"lare": 5}}, 'did you mean "large"'),
        ({"plates_per_month": {"large": -5}}, "is not plates a month"),
        ({"plates_per_month": {"large": "5 boxes"}}, "is not plates a month"),
        ({"plates_per_month": {"large": 0}}, "no plates are stated"),
        ({"press": {"large": "two_color"}}, 'did you mean "two_colour"'),
        ({"press": {"huge": "two_colour"}}, '"huge" is not a key'),
        ({"uncoated": 65}, "from 0 to 1"),
        ({"uv": True}, "not a share"),
        ({"tight": 0.3}, "exceeds the 0.2"),
        ({"month_share": [0.1] * 11}, "twelve shares"),
        ({"month_share": [0.1] * 12}, "add up to 1.2, not 1"),
    ],
)
def test_faults_are_told(more, words):
    assert any(words in text for text in faults(**more)), faults(**more)


def test_all_faults_come_at_once():
    assert len(faults(runs={"under_1000": 0.5}, uncoated=65, press={"large": "x"}, plates_per_month={})) == 4


def test_runs_must_be_stated():
    with pytest.raises(BadInput, match="runs is missing"):
        read_summary({"plates_per_month": {"large": 5}}, UNITS, SIZES)


def test_a_shop_without_presses_is_told():
    with pytest.raises(BadInput, match="states no press"):
        read_summary(STATED, {}, SIZES)


def test_a_size_may_have_a_mix_of_its_own():
    """By hand: large has four colours only, so 2,400 plates are 600 forms; letter keeps what is stated of all."""
    log = read(by_size={"large": {"colours": {"4": 1.0}, "runs": {"more": 1.0}, "uncoated": 0, "tight": 0.5}})
    large = log.size == 0
    assert log.weight[large].sum() == pytest.approx(600)
    assert set(log.good[large]) == {80_000} and not log.uncoated[large].any()
    assert log.weight[large & log.tight].sum() == pytest.approx(300)
    assert log.weight[~large].sum() == pytest.approx(16_800 / 1.97)
    assert log.weight[~large & log.uncoated].sum() == pytest.approx(0.65 * 16_800 / 1.97)


def test_what_every_size_states_needs_not_be_stated_of_all():
    mine = {"runs": {"to_5000": 1}, "colours": {"1": 1}, "uncoated": 0.5}
    log = read_summary(
        {"plates_per_month": {"large": 10, "letter": 20}, "by_size": {"large": mine, "letter": mine}},
        UNITS,
        SIZES,
    )
    assert log.weight.sum() == pytest.approx(360)
    assert not any("colours of the forms" in note or "uncoated" in note for note in log.notes)


def test_faults_of_a_mix_by_size_name_the_size():
    assert 'by_size: "lettre" is not a key' in faults(by_size={"lettre": {}})[0]
    assert faults(by_size={"letter": {"runs": {"more": 0.9}}})[0].startswith(
        "[summary] by_size.letter runs: the shares add up to 0.9"
    )
    assert (
        "by_size.letter tight: 0.05 of all forms exceeds the 0 "
        in faults(by_size={"letter": {"colours": {"1": 1}}})[0]
    )
    lacking = {k: v for k, v in STATED.items() if k != "runs"} | {"by_size": {"large": {"runs": {"more": 1}}}}
    with pytest.raises(BadInput, match="runs is missing for letter"):
        read_summary(lacking, UNITS, SIZES)
