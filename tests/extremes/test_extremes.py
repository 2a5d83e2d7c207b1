"""What an extreme shop comes to: numbers only, in order, and what can be worked out by hand.

Each shop of `shops.extremes` is built and worked; some have their workbook recalculated by two programs that know nothing of
the engine, all in one run of LibreOffice. `python -m tests.extremes` does more.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from roi.answers.checks import results
from roi.answers.compare import as_json
from roi.answers.mistakes import beside_the_verdict
from roi.answers.risk import usual_risk
from roi.answers.verdict import sentences
from roi.batch import RECKONED, REFUSED, batch
from roi.engine.evaluate import Program, Values
from roi.engine.words import fixed
from roi.model.study import Study, build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from roi.workbook.cells import Results
from roi.workbook.write import write_workbook
from tests.extremes.limits import at_limits, faults_at_limits
from tests.extremes.shops import PLATES, extremes, money, small
from tests.parity.recalculate import differences, ironcalc_values, libreoffice_missing, libreoffice_values
from tests.small_shop import LEAN

RECALCULATED = (
    "forty years, one plate a year", "ten million plates a year", "twelve presses", "forty sizes", "all free",
)  # fmt: skip
SAID = ("all free", "forty years, one plate a year", "ten million plates a year", "no decimals")
NO_NUMBER = re.compile(
    r"\bnan\b|\binf\b|(?<![\w-])-0(?:\.0+)?(?![\d.,])|\de[+-]?\d\d|\d{1,3}(?:,\d{3}){4,}", re.I
)

Worked = Callable[[str], tuple[Study, Values]]


@pytest.fixture(scope="module")
def worked(tmp_path_factory) -> Worked:
    """Builds and works an extreme shop once."""
    folder = tmp_path_factory.mktemp("extremes")
    shops, kept = extremes(folder), {}

    def one(name: str) -> tuple[Study, Values]:
        if name not in kept:
            study = build(read(shops[name].write(folder / name)))
            kept[name] = study, study.evaluate()
        return kept[name]

    one.names = [*shops]
    return one


def test_every_figure_of_every_extreme_is_a_number_and_every_check_passes(worked) -> None:
    for name in worked.names:
        study, values = worked(name)
        unsound = [line.key for line, held in values.items() if not np.isfinite(held).all()]
        assert unsound == [], name
        assert [check for check, passes in results(study, values) if not passes] == [], name
        stated = study.scenario.inputs.values()
        assert all(i.low <= i.best <= i.high for i in stated), name


@pytest.fixture(scope="module")
def books(worked, tmp_path_factory) -> tuple[list[Path], list[Results]]:
    """The workbook of each shop to be recalculated, and the results stored in it."""
    folder = tmp_path_factory.mktemp("books")
    paths = [folder / f"{i}.xlsx" for i in range(len(RECALCULATED))]
    return paths, [write_workbook(*worked(n), p, LEAN) for n, p in zip(RECALCULATED, paths, strict=True)]


def test_ironcalc_recalculates_what_is_stored(books) -> None:
    for name, path, stored in zip(RECALCULATED, *books, strict=True):
        assert differences(stored, ironcalc_values(path)) == [], name


def test_libreoffice_recalculates_what_is_stored(books) -> None:
    if (why := libreoffice_missing()) is not None:
        pytest.skip(why)
    paths, all_stored = books
    for name, stored, found in zip(RECALCULATED, all_stored, libreoffice_values(paths), strict=True):
        assert differences(stored, found) == [], name


def test_what_is_said_of_extremes_is_made_of_numbers_people_read(worked) -> None:
    for name in SAID:
        study, values = worked(name)
        said = [*sentences(study, values), *(p.what for p in beside_the_verdict(study, values))]
        assert [text for text in said if NO_NUMBER.search(text)] == [], name


def test_tenths_of_the_draws_are_in_order(worked) -> None:
    for name in SAID:
        for method in usual_risk(worked(name)[0]).methods.values():
            if (saving := method.saving) is not None:
                assert saving.p10 <= saving.p50 <= saving.p90, name


def test_more_work_never_takes_fewer_plates_or_less_money(worked) -> None:
    """From a ten-thousandth of the log's work to a thousand times: the limits of `work.volume`."""
    study, _ = worked("usual")
    shares = np.array([0.0001, 0.01, 0.2, 0.999, 1, 1.001, 10, 1000])
    values = Program(study.book).run({"work.volume": shares})
    for key in ("imaged", "bought", "area", "all_stops", "press_hours", "running_1"):
        for row in values[study.comparison.rows[key]]:
            assert np.all(np.diff(row) >= 0), key


def test_nothing_to_pay_is_nothing_to_save(worked) -> None:
    study, values = worked("all free")
    said = " ".join(sentences(study, values))
    assert (
        "costs no more than the next, and there is nothing to save." in said
        and "ahead of the next" not in said
    )
    for method in as_json(study, values)["methods"].values():
        assert method["present_cost"] == method["present_cost_full"] == method["cost_per_plate"] == 0
        if (against := method["against_current"]) is not None:
            assert against["npv_of_savings"] == 0
            assert against["irr"] is against["mirr"] is against["savings_to_investment"] is None
            assert method["notes"] != []


def test_discount_factors_at_the_ends_of_the_rates(worked) -> None:
    """Sums of a geometric series: (1 - q^N) / (1 - q) q with q = 1/(1 + r); N where r is nought."""
    for name, rate, years in (
        ("no tax, no discounting, no growth", 0.0, 7),
        ("negative discount rate", -0.05, 12),
        ("least discount rate over forty years", -0.2, 40),
        ("highest rates", 1.0, 7),
    ):
        study, values = worked(name)
        q = 1 / (1 + rate)
        by_hand = years if rate == 0 else q * (1 - q**years) / (1 - q)
        assert values[study.shop.annuity].flat[0] == pytest.approx(by_hand, rel=1e-12), name


def test_plates_bought_in_arrive_every_day_and_no_oftener(worked) -> None:
    """Ten million plates a year on 250 work days: 250 deliveries; the power that counts days without falls below 1e-9000."""
    study, values = worked("ten million plates a year")
    deliveries = study.book.line("bought_in.Deliveries of bought-in plates")
    assert values[deliveries][1].flat[0] == 250


@pytest.mark.parametrize(
    ("name", "jobs"),
    [
        # rows of the log, by the days that the first and last date make, both counted, in years of 365.25 days
        ("one job on 29 February", 1 * 365.25 / 1),
        ("two jobs on one day", 2 * 365.25 / 1),
        ("seven weeks", 49 * 365.25 / 49),
        ("400 days", 134 * 365.25 / 400),  # every third day from 0 to 399: the last is day 399
        ("over 29 February", 183 * 365.25 / 365),  # every second day of 366: the last is day 364
        ("leap year", 183 * 365.25 / 366),  # the period stated: 2024-01-01 to 2024-12-31
        ("year begins in February", 100 * 365.25 / 199),
    ],
)
def test_a_part_of_a_year_is_scaled_to_a_year(worked, name: str, jobs: float) -> None:
    study, values = worked(name)
    assert values[study.shop.jobs].flat[0] == pytest.approx(jobs, rel=1e-12)
    assert sum(study.scenario.work.month_share) == pytest.approx(1, rel=1e-12)
    assert np.all(study.scenario.work.month_share >= 0)


def test_money_is_said_with_the_decimals_of_its_currency(worked) -> None:
    """ISO 4217: none for the yen, three for the Kuwaiti dinar."""
    for name, decimals in (("no decimals", ""), ("three decimals", r"\.\d{3}")):
        study, values = worked(name)
        code = study.scenario.currency
        said = " ".join(sentences(study, values))
        assert re.search(rf"a plate costs {code} [\d,]+{decimals} with", said), said
        assert not [i.unusual for i in study.scenario.inputs.values() if i.unusual], name


@pytest.mark.parametrize("years", [0, 0.5, 40.5, 41, 100])
def test_years_beyond_what_is_reckoned_are_refused_with_the_limit(years: float, tmp_path) -> None:
    with pytest.raises(BadInput) as bad:
        read(small(money(horizon=f"{years} year")).write(tmp_path))
    [problem] = bad.value.problems
    assert problem.where == "shop.toml, money.horizon"
    assert problem.mend == ("state 1 year or more" if years < 1 else "state 40 year or less")


def test_more_plates_than_any_shop_makes_are_refused(tmp_path) -> None:
    with pytest.raises(BadInput, match="more than 100,000,000"):
        read(small("", ("small = 300", "small = 1e300")).write(tmp_path))


def test_inputs_at_their_limits_are_reckoned_or_refused_in_words(tmp_path) -> None:
    """Few of the draws of `python -m tests.extremes`, by one command: some of each kind are among them."""
    refused = 0
    for seed in range(24):
        told, faults = faults_at_limits(at_limits(seed).write(tmp_path / str(seed)), [("check",)])
        assert faults == [], seed
        refused += told
    assert 4 <= refused <= 20


FAST = "".join(f'{name} = "50 %/year"\n' for name in ("volume", "plates", "wages", "chemistry"))


def test_more_than_a_workbook_holds_is_refused_as_such_whatever_reads_it(tmp_path) -> None:
    """1e8 plates a month that grow by half for 39 years: 1.2e9 * 1.5^39, some 9e15 in the last year alone, at every limit."""
    shop = small(
        "\n[growth]\n" + FAST + money(horizon="40 year", inflation="50 %/year"),
        (PLATES, PLATES.replace("300", "1e8")),
    )
    path = shop.write(tmp_path)
    with pytest.raises(BadInput, match="more than a workbook can hold exactly"):
        build(read(path)).evaluate()
    (outcome,) = batch([path])
    assert outcome.state == REFUSED and "check plates a month" in outcome.problems[0].mend
    # The same plates without growth come to a billion a year, and are held.
    still = small("", (PLATES, PLATES.replace("300", "1e8"))).write(tmp_path / "still")
    assert [outcome.state for outcome in batch([still])] == [RECKONED]


@pytest.mark.parametrize(
    ("swap", "said"),
    [
        (("330 mm x 492 mm", "330 m x 492 m"), 'was mm meant? "330 mm x 492 mm"'),
        (("330 mm x 492 mm", "33 x 49 mm"), "was in or cm meant?"),
        (("330 mm x 492 mm", "1e300 mm x 1e300 mm"), "from 50 mm to 3 m"),
        (("330 mm x 492 mm", "1e-200 mm x 1e-200 mm"), "from 50 mm to 3 m"),
        ((PLATES, PLATES.replace("300", "5e-324")), "state 0, or 0.01 or more"),
        (('"USD"', '"EUR"\nper_dollar = 1e-300'), "can't be what a dollar is worth"),
    ],
)
def test_what_no_shop_has_is_refused_where_it_stands(tmp_path, swap, said) -> None:
    with pytest.raises(BadInput) as bad:
        read(small("", swap).write(tmp_path))
    assert said in str(bad.value) and len(bad.value.problems) == 1


def test_numbers_of_any_size_are_said() -> None:
    """As FIXED rounds, by fifteen digits; Python's own arithmetic of whole numbers gives the digits."""
    assert fixed(4_436_653_745_932_403.0, 0) == f"{4_436_653_745_932_400:,}"
    assert fixed(1e300, 2) == f"{10**300:,}.00"
    assert fixed(-1e-300, 2) == "0.00" and fixed(-2.5, 0) == "-3"
