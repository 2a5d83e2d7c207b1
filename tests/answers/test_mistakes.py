"""Each rule fires on a shop that makes the mistake, and keeps silent on the shop without it.

Thresholds are conventions of the tool; the figures in messages are worked out by hand beside the test.
"""

import datetime as dt
from pathlib import Path

import pytest

from roi.answers import mistakes as rules
from roi.answers.case import Case
from roi.model.study import build
from roi.scenario.scenario import read
from tests.small_shop import SHOP


def told(folder, rule, more="", *changes):
    """What one rule says of the shop with text added and replaced, as texts."""
    text = SHOP + more
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    study = build(read(path))
    return [str(p) for p in rule(Case(study, study.evaluate()))]


DIRECT, POLYESTER, SHOPWIDE = (f"\n[{key}]\n" for key in ("methods.direct", "methods.polyester", "shop"))
RUNS = "runs = { under_1000 = 0.4, to_5000 = 0.6 }"
LONG = (RUNS, "runs = { under_1000 = 0.4, to_5000 = 0.5, more = 0.1 }")
FREE_STOPS = (
    'stop_per_plate = "0 min/plate"\nstop_back_to_colour = "0 min/stop"\nstop_sheets = "0 sheet/stop"'
)
LINE = "\n[methods.direct.equipment.line]\n"

FIRES = [
    # 30 USD/plate is within ten times 0.3 to 80, 900 is not.
    (
        rules.unusual_figures,
        '\n[methods.direct.plates.price]\nsmall = "900 USD/plate"',
        (),
        "outside ten times the usual",
    ),
    # 0.16236 m2 at the shipped 13 USD/m2 is 2.11 USD: 210 is 99 times that, 135 is 64 times.
    (
        rules.box_price,
        '\n[methods.polyester.plates.price]\nsmall = "210 USD/plate"',
        (),
        "210 USD/plate is 99 times",
    ),
    (
        rules.box_price,
        '\n[methods.polyester.plates.price]\nsmall = "135 USD/plate"',
        (),
        "135 USD/plate is 64 times",
    ),
    (
        rules.box_price,
        '\n[methods.polyester.plates.price]\nsmall = "0 USD/plate"',
        (),
        "a plate costs nothing",
    ),
    # 100 of 400 plates are of the size without a price.
    (
        rules.size_without_price,
        '\n[methods.polyester.plates.price]\nsmall = "2 USD/plate"',
        (
            ("small = 300 }", "small = 300, other = 100 }"),
            ("[presses.main]", 'other = "300 mm x 400 mm"\n[presses.main]'),
            ("runs = {", 'press = { small = "main", other = "main" }\nruns = {'),
        ),
        "25% of the plates of Polyester: taken by area from a default",
    ),
    (
        rules.bought_again,
        "",
        (('[methods.polyester.equipment.line]\nyears_left = "4 year"', "[methods.polyester]"),),
        "today's machine is bought again in year 0",
    ),
    (
        rules.current_not_feasible,
        POLYESTER + 'largest_format = "100 mm x 200 mm"',
        (),
        "its largest format, 100 x 200 mm, is smaller than the plates of 330 x 492 mm",
    ),
    (
        rules.waiting_as_labour,
        '\n[methods.direct.stations.imager]\nhands_on = "30 min/plate"',
        (),
        "waiting is no labour",
    ),
    (
        rules.freed_counted_as_cash,
        '\n[grades.prepress]\ncash_share = "100 %"',
        (),
        "all that is freed counts as cash",
    ),
    (
        rules.freed_counted_as_cash,
        SHOPWIDE + 'rent_cash_share = "100 %"',
        (),
        "shop.rent_cash_share: all that is freed",
    ),
    (
        rules.freed_counted_as_cash,
        "",
        (("printing_units = 2", "printing_units = 2\nstate = 3"),),
        "idle press is no cash",
    ),
    # A bath of 200 L changed weekly: 52 x 200 L = 10,400 L a year for 3,600 plates of 0.162 m2, about 600 m2.
    (
        rules.chemistry_by_time,
        '\n[methods.polyester.baths.activator]\nvolume = "200 L/change"\nage_life = "1 week/change"',
        (),
        "you pay for time, not area",
    ),
    (rules.residual_too_high, LINE + 'resale = "30 %"', (), "30% of the price after 5 years"),
    # Bought at 0, life 10, horizon 7: 3 of 10 years left, 10 % + 90 % x 0.3 = 37 %.
    (
        rules.residual_too_high,
        LINE + 'life = "10 year"',
        (),
        "7 years old and still counted at 37% of its price",
    ),
    (
        rules.stay_without_replacement,
        "",
        (('years_left = "4 year"', 'years_left = "9 year"'),),
        "not replaced within the 7 years",
    ),
    (
        rules.stay_without_replacement,
        POLYESTER + "equipment = false",
        (('[methods.polyester.equipment.line]\nyears_left = "4 year"', ""),),
        "has no machine to replace",
    ),
    (
        rules.stay_without_upkeep,
        "",
        (('years_left = "4 year"', 'years_left = "4 year"\ncontract = "0 USD/year"'),),
        "no contract and no repairs",
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
]


@pytest.mark.parametrize(
    ("rule", "more", "changes", "says"), FIRES, ids=lambda x: getattr(x, "__name__", None)
)
def test_a_rule_fires_on_its_mistake_and_not_without_it(tmp_path, rule, more, changes, says):
    assert told(tmp_path, rule) == []
    found = told(tmp_path, rule, more, *changes)
    assert len(found) == 1
    assert says in found[0]
    assert found[0].startswith("shop.toml, ") and "\n  mend: " in found[0]


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


def test_the_shipped_scenarios_state_no_price_of_a_box():
    for path in sorted((Path(__file__).parents[2] / "scenarios").glob("*/shop.toml")):
        study = build(read(path))
        assert list(rules.box_price(Case(study, study.evaluate()))) == []


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


def test_every_rule_is_among_those_told():
    tried = {row[0] for row in FIRES} | {
        rules.rows_left_out,
        rules.short_log,
        rules.month_end,
        rules.unknown_rulings,
        rules.rests_on_a_default,
    }
    assert tried == set(rules.RULES)


def test_mistakes_are_all_told_together(tmp_path):
    path = tmp_path / "shop.toml"
    more = '\n[methods.direct.remakes]\nown = "0 %"' + SHOPWIDE + 'rent_cash_share = "100 %"'
    path.write_text(SHOP + more, encoding="utf-8")
    study = build(read(path))
    wheres = [p.where for p in rules.mistakes(study, study.evaluate())]
    assert {"shop.toml, methods.direct.remakes.own", "shop.toml, shop.rent_cash_share"} <= set(wheres)
