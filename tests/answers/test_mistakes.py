"""Each rule fires on a shop that makes the mistake, and keeps silent on the shop without it.

Here are the rules about plates, presses, the work and the answer, and what is so of all rules. Thresholds are conventions
of the tool; the figures in messages are worked out by hand beside the test.
"""

import datetime as dt

import numpy as np
import pytest

from roi.answers import mistakes as rules
from roi.answers.case import Case
from roi.answers.verdict import sentences
from roi.model.study import build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from roi.scenario.starter import write
from tests.answers import test_mistakes_machines, test_mistakes_money
from tests.answers.mistaken_shop import LINE, POLYESTER, SHOPWIDE, case_of, check_fires, told, unchanged
from tests.small_shop import SHOP

RUNS = "runs = { under_1000 = 0.4, to_5000 = 0.6 }"
LONG = (RUNS, "runs = { under_1000 = 0.4, to_5000 = 0.5, more = 0.1 }")
FREE_STOPS = (
    'stop_per_plate = "0 min/plate"\nstop_back_to_colour = "0 min/stop"\nstop_sheets = "0 sheet/stop"'
)

FIRES = [
    (
        rules.current_not_feasible,
        POLYESTER + 'largest_format = "100 mm x 200 mm"',
        (),
        "its largest format, 100 x 200 mm, is smaller than the plates of 330 x 492 mm",
    ),
    (rules.stops_cost_nothing, SHOPWIDE + FREE_STOPS, (LONG,), "a stop costs nothing"),
    (rules.no_remakes, '\n[methods.direct.remakes]\nown = "0 %"', (), "no plate is remade"),
    (
        rules.sets_differ,
        '\n[methods.polyester.life]\nuncoated = "2000 impression"\ncoated = "2000 impression"',
        (),
        "Polyester hangs",
    ),
    (
        rules.press_overfull,
        "",
        (("printing_units = 2", 'printing_units = 2\nstaffed = "100 h/year"'),),
        "of the hours staffed",
    ),
    # 250 days of 24 hours are 6,000.
    (
        rules.press_overfull,
        "",
        (("printing_units = 2", 'printing_units = 2\nstaffed = "6800 h/year"'),),
        "6,800 hours are staffed, and 250 days of work hold 6,000",
    ),
]


@pytest.mark.parametrize(
    ("rule", "more", "changes", "says"), FIRES, ids=lambda x: getattr(x, "__name__", None)
)
def test_a_rule_fires_on_its_mistake_and_not_without_it(tmp_path, rule, more, changes, says):
    check_fires(tmp_path, rule, more, changes, says)


def test_stops_that_never_happen_may_cost_nothing(tmp_path):
    """No form comes near 10,000 impressions, so nothing stops."""
    assert told(tmp_path, rules.stops_cost_nothing, SHOPWIDE + FREE_STOPS) == []


LOG = SHOP[: SHOP.index("[summary]")] + (
    '[log]\nfile = "log.csv"\ndate_order = "month-first"\n'
    '[log.columns]\njob = "job"\ndate = "date"\nplates = "plates"\nimpressions = "good"\nruling = "ruling"\n'
)


def log_case(folder, dates, ruling="133", bad=0):
    rows = [f"{n},{day:%m/%d/%Y},2,900,{ruling}" for n, day in enumerate(dates)]
    rows += [f"b{n},{dates[0]:%m/%d/%Y},none,900,{ruling}" for n in range(bad)]
    (folder / "log.csv").write_text("\n".join(["job,date,plates,good,ruling", *rows]), encoding="utf-8")
    path = folder / "shop.toml"
    path.write_text(LOG.replace("date_order", 'bad_rows = "skip"\ndate_order', 1), encoding="utf-8")
    study = build(read(path))
    return Case(study, study.evaluate())


YEAR = [dt.date(2025, 1, 1) + dt.timedelta(days=n) for n in range(365)]


def test_a_short_log_is_told(tmp_path):
    (found,) = rules.short_log(log_case(tmp_path, YEAR[:60]))
    assert "covers 60 days" in found.what
    assert list(rules.short_log(log_case(tmp_path, YEAR))) == []


def test_rows_left_out_are_told_above_a_twentieth(tmp_path):
    """40 of 405 rows are 9.9 %; 10 of 375 are 2.7 %."""
    (found,) = rules.rows_left_out(log_case(tmp_path, YEAR, bad=40))
    assert "9.9% of the rows (40 of 405)" in found.what
    assert list(rules.rows_left_out(log_case(tmp_path, YEAR, bad=10))) == []


def test_a_log_that_stands_twice_is_told(tmp_path):
    """The year once more; 150 of its rows; then 19, which are too few, and 90 of 455, which are less than a fifth."""
    (folder := tmp_path / "twice").mkdir()
    (found,) = rules.every_row_twice(case_twice(folder, range(365)))
    assert "every row stands twice: 365 of 730 rows equal an earlier one in every column" in found.what
    (folder := tmp_path / "part").mkdir()
    (found,) = rules.every_row_twice(case_twice(folder, range(150)))
    assert "many a row stands twice: 150 of 515 rows" in found.what
    for name, again in (("few", range(19)), ("less", range(90))):  # 90 of 455: 19.8 %
        (folder := tmp_path / name).mkdir()
        assert list(rules.every_row_twice(case_twice(folder, again))) == []


def case_twice(folder, again):
    """The log of a year, and some of its rows once more at its end."""
    rows = [f"{n},{day:%m/%d/%Y},2,900,133" for n, day in enumerate(YEAR)]
    (folder / "log.csv").write_text(
        "\n".join(["job,date,plates,good,ruling", *rows, *(rows[n] for n in again)]), encoding="utf-8"
    )
    (folder / "shop.toml").write_text(LOG, encoding="utf-8")
    study = build(read(folder / "shop.toml"))
    return Case(study, study.evaluate())


def test_dates_bunched_at_month_end_are_told(tmp_path):
    last = [day for day in YEAR if (day + dt.timedelta(days=1)).day == 1]
    (found,) = rules.month_end(log_case(tmp_path, last))
    assert "look like invoice dates" in found.what
    assert list(rules.month_end(log_case(tmp_path, YEAR))) == []


def test_unknown_rulings_are_counted(tmp_path):
    (found,) = rules.unknown_rulings(log_case(tmp_path, YEAR, ruling=""))
    assert "365 of 365 forms have no ruling" in found.what
    assert list(rules.unknown_rulings(log_case(tmp_path, YEAR))) == []


CLOSE = (
    '\n[methods.direct.plates]\nprice_per_area = { best = "1 USD/m2", status = "quote" }\n'
    '[methods.polyester.plates]\nprice_per_area = { best = "%s USD/m2", status = "quote" }\n'
)


def test_a_saving_that_rests_on_a_default_is_told(tmp_path):
    """A saving that is there only just: polyester's price rises by 1 USD/m2 until the verdict changes."""
    for price in range(1, 60):
        path = tmp_path / "shop.toml"
        path.write_text(SHOP + CLOSE % price, encoding="utf-8")
        study = build(read(path))
        case = Case(study, study.evaluate())
        if case.at(study.comparison.rows["stays"]) == 0:
            break
    found = list(rules.rests_on_a_default(case))
    assert found
    assert all("rests on a default" in p.what and p.mend.startswith("find out and state ") for p in found)
    # Nothing turns a saving of some hundred thousands.
    assert told(tmp_path, rules.rests_on_a_default, CLOSE % 900) == []


def test_a_line_that_cannot_make_the_busiest_day_is_told(tmp_path):
    """Forty times the plates a month: more than a day holds at some minutes a plate."""
    assert list(rules.line_too_slow(unchanged())) == []
    found = told(tmp_path, rules.line_too_slow, "", ("small = 300", "small = 12000"))
    assert found and all("hours at the slowest station" in text and "more units" in text for text in found)


def test_example_work_is_told_until_it_is_changed(tmp_path):
    path, text = tmp_path / "shop.toml", write({}, today=dt.date(2026, 1, 31))
    shares, mine = 'under_1000 = "50 %", to_5000 = "40 %"', 'under_1000 = "40 %", to_5000 = "50 %"'
    plates = text.replace("small = 200", "small = 201")
    for said, shop in (
        ("Plates a month and run lengths are an example", text),
        ("Run lengths are an example", plates),
        ("Plates a month are an example", text.replace(shares, mine)),
        ("", plates.replace(shares, mine)),
    ):
        path.write_text(shop, encoding="utf-8")
        study = build(read(path))
        values = study.evaluate()
        found = [problem.what for problem in rules.mistakes(study, values)][:1]
        first, second, *_ = sentences(study, values)
        assert found[0].startswith(said) if said else "an example" not in found[0]
        assert ("an example" in first) == bool(said)
        assert "costs least" in (second if said else first)


def test_every_rule_is_among_those_tried():
    tables = (FIRES, test_mistakes_money.FIRES, test_mistakes_machines.FIRES)
    tried = {row[0] for table in tables for row in table} | {
        rules.rows_left_out,
        rules.every_row_twice,
        rules.short_log,
        rules.month_end,
        rules.unknown_rulings,
        rules.rests_on_a_default,
        rules.line_too_slow,
        rules.example_work,
        # in test_mistakes_stated
        rules.stated_for_nothing,
        rules.after_the_years,
        rules.nothing_goes_elsewhere,
        rules.idles_above_running,
        rules.switching_left_out,
    }
    assert tried == set(rules.RULES)


@pytest.mark.parametrize(
    ("more", "key", "what", "mend"),
    [
        (SHOPWIDE + 'tariff = "all in"', "shop.tariff", "'all in' is not known here", '"all-in"'),
        (SHOPWIDE + "tariff = 3", "shop.tariff", "3 is not known here", '"all-in" or "energy-only"'),
        (
            LINE + 'bought = "second-hand"',
            "methods.direct.equipment.line.bought",
            "not known",
            '"new" or "used"',
        ),
        (
            "\n[grades.prepress]\npress_operator = 1",
            "grades.prepress.press_operator",
            "1 is not a switch",
            "true or false",
        ),
        (
            POLYESTER + 'prices_with_vat = "yes"',
            "methods.polyester.prices_with_vat",
            "'yes'",
            "true or false",
        ),
        ('\n[bought_in]\nprices_with_vat = "no"', "bought_in.prices_with_vat", "'no'", "true or false"),
        (
            '\n[methods.direct.items.ink]\nrecharge = "yes"',
            "methods.direct.items.ink.recharge",
            "'yes' is not a switch",
            "true or false",
        ),
        (
            LINE + 'support_left = "three years"',
            "methods.direct.equipment.line.support_left",
            "three years",
            "",
        ),
    ],
)
def test_what_a_rule_goes_by_is_refused_unless_known(tmp_path, more, key, what, mend):
    with pytest.raises(BadInput) as found:
        case_of(tmp_path, more)
    (problem,) = found.value.problems
    assert problem.where == f"shop.toml, {key}"
    assert what in problem.what
    assert mend in problem.mend


# Everything rules go by, stated as a shop that makes none of the mistakes would.
RIGHTLY = (
    SHOPWIDE
    + 'tariff = "energy-only"\ndemand_charge = "12 USD/kW/month"\n'
    + "[grades.prepress]\npress_operator = false\n[bought_in]\nprices_with_vat = false\n"
    + POLYESTER
    + 'prices_with_vat = false\n[leaving]\nsale = { best = "900 USD", status = "quote" }\n'
    + LINE
    + 'bought = "new"\nnew_life = "5 year"\nsupport_left = "7 year"\n'
    + "[methods.direct.items.ink]\nrecharge = false\n"
)


@pytest.mark.parametrize(
    ("more", "changes"),
    [("", ()), (RIGHTLY, (("[methods.direct]", "[methods.direct]\nprices_with_vat = false"),))],
)
def test_a_clean_scenario_is_told_nothing(tmp_path, more, changes):
    case = case_of(tmp_path, more, *changes)
    assert rules.mistakes(case.study, case.values) == []


def test_what_rules_go_by_changes_no_figure(tmp_path):
    more = (
        SHOPWIDE + 'tariff = "all-in"\n' + "[grades.prepress]\npress_operator = true\n"
        "[bought_in]\nprices_with_vat = true\n[methods.direct.items.ink]\nrecharge = true\n"
        + LINE
        + 'bought = "used"\nnew_life = "9 year"\nsupport_left = "1 year"\n'
    )
    plain, more_said = case_of(tmp_path), case_of(tmp_path, more)
    for name, line in plain.study.comparison.rows.items():
        other = more_said.study.comparison.rows[name]
        np.testing.assert_array_equal(more_said.values[other], plain.values[line], err_msg=name)


def test_mistakes_are_all_told_together(tmp_path):
    path = tmp_path / "shop.toml"
    more = '\n[methods.direct.remakes]\nown = "0 %"' + SHOPWIDE + 'rent_cash_share = "100 %"'
    path.write_text(SHOP + more, encoding="utf-8")
    study = build(read(path))
    wheres = [p.where for p in rules.mistakes(study, study.evaluate())]
    assert {"shop.toml, methods.direct.remakes.own", "shop.toml, shop.rent_cash_share"} <= set(wheres)
