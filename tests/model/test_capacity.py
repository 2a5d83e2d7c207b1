"""Can the room keep up: load levels, the flow of plates through stations, overtime, waits, each against plain arithmetic.

The small shop of `conftest` calls for 2 large, 1 small and 4 small plates on three days that stand for a year.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy_financial import pmt

from roi.answers.capacity import told
from roi.engine.evaluate import Program, Values
from roi.model.loads import MOST_LEVELS, load_levels, nearest_rank
from roi.model.sheet import MethodSheet
from roi.model.study import Study, build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import Scenario, read
from tests.model.conftest import SHOP

EACH = 365.25 / 3  # days a year each day of the log stands for
LARGE, SMALL = 0.5 * 0.4, 0.4 * 0.25  # m2
IMAGER = "methods.old.stations.imager"


def value(values: Values, sheet: MethodSheet, name: str) -> float:
    return float(values[sheet.lines[f"capacity.{name}"]].flat[0])


def block(values: Values, sheet: MethodSheet, label: str) -> list[float]:
    line = next(x for x in sheet.column.lines if x.label == label)
    return values[line].reshape(-1).tolist()


# --- the flow of plates through stations


def made_by(times: list[float], units: list[int], plates: int) -> float:
    """When the last of so many plates leaves, each plate taking the unit that is free first: a schedule, minute by minute."""
    free = [[0.0] * count for count in units]
    last = 0.0
    for _ in range(plates):
        ready = 0.0
        for time, units_free in zip(times, free, strict=True):
            ready = max(ready, heapq.heappop(units_free)) + time
            heapq.heappush(units_free, ready)
        last = max(last, ready)
    return last


@pytest.fixture(scope="module")
def line_of_three(small_shop: Callable[..., Study]) -> Study:
    """The old way with a washer and a punch after the imager, each with its units stated."""
    further = "".join(
        f'[methods.old.stations.{name}]\nfixed = "3 min/plate"\nunits = 1\n' for name in ("washer", "punch")
    )
    return small_shop(
        ('warm_up = "0.5 kWh/day"\n', 'warm_up = "0.5 kWh/day"\nunits = 1\n' + further),
        ('per_area = "20 min/m2"\n', ""),
    )


def test_the_schedule_itself_gives_the_flow_shop_of_identical_jobs() -> None:
    """Sum of times and n - 1 times the longest, for one unit each: textbook permutation flow shop, identical jobs."""
    for n in range(1, 9):
        assert made_by([7, 8, 2.5], [1, 1, 1], n) == pytest.approx(17.5 + (n - 1) * 8)


def test_file_to_press_is_that_of_a_schedule_with_any_units(line_of_three: Study) -> None:
    """Seed 4: 200 lines of three stations with 1 to 4 units each."""
    names = ("imager", "washer", "punch")
    draw = np.random.default_rng(4)
    sheet = line_of_three.methods["old"]
    times, units = draw.integers(1, 25, (200, 3)) / 2, draw.integers(1, 5, (200, 3))
    cases = {f"methods.old.stations.{s}.fixed": times[:, i] for i, s in enumerate(names)}
    cases |= {f"methods.old.stations.{s}.units": units[:, i].astype(float) for i, s in enumerate(names)}
    values = Program(line_of_three.book).run(cases)
    at_once = values[sheet.lines["at_once"]]
    for i, (time, count) in enumerate(zip(times.tolist(), units.tolist(), strict=True)):
        for n in (1, 2, 4, 8):
            elapsed = values[sheet.lines[f"capacity.elapsed.{n}"]][i]
            assert elapsed == pytest.approx(made_by(time, count, n)), (time, count, n)
        assert at_once[i] >= made_by(time, count, 4) - 1e-9
    assert sum(len(set(count)) > 1 for count in units.tolist()) > 100


def test_common_practice_of_seven_and_eight_minutes(line_of_three: Study) -> None:
    """Common practice at about 13 x 19 in: 7 min imaging, 8 min curing; one plate in 15 min, four in 39."""
    sheet = line_of_three.methods["old"]
    changes = {f"{IMAGER}.fixed": 7.0, "methods.old.stations.washer.fixed": 8.0}
    values = line_of_three.evaluate({**changes, "methods.old.stations.punch.fixed": 0.0})
    assert value(values, sheet, "elapsed.1") == pytest.approx(15)
    assert value(values, sheet, "elapsed.4") == pytest.approx(39)
    assert float(values[sheet.lines["at_once"]].flat[0]) == pytest.approx(39)


def test_stations_without_units_have_one(miniature: tuple[Study, Values]) -> None:
    """The new way: one station, 4 minutes a plate."""
    study, values = miniature
    found = [value(values, study.methods["new"], f"elapsed.{n}") for n in (1, 2, 4, 8)]
    assert found == pytest.approx([4, 8, 16, 32])


# --- levels of load


@pytest.mark.parametrize(
    "numbers, share, expected",
    [
        ([15, 20, 35, 40, 50], 0.05, 15), ([15, 20, 35, 40, 50], 0.30, 20), ([15, 20, 35, 40, 50], 0.40, 20),
        ([15, 20, 35, 40, 50], 0.50, 35), ([15, 20, 35, 40, 50], 1.00, 50),
        ([3, 6, 7, 8, 8, 10, 13, 15, 16, 20], 0.25, 7), ([3, 6, 7, 8, 8, 10, 13, 15, 16, 20], 0.50, 8),
        ([3, 6, 7, 8, 8, 10, 13, 15, 16, 20], 0.75, 15),
    ],
)  # fmt: skip
def test_nearest_rank(numbers: list[float], share: float, expected: float) -> None:
    """The rank is the share of the count, rounded up: 0.30 x 5 = 1.5, so the second. Worked examples of that definition."""
    assert numbers[math.ceil(share * len(numbers) - 1e-12) - 1] == expected
    assert numbers[nearest_rank(np.ones(len(numbers)), share)] == expected


def test_a_day_that_stands_for_several_counts_as_often() -> None:
    """Ten days: six quiet, three middling, one busy. Half is reached on the quiet ones, 0.9 on the middling ones."""
    days = np.array([6.0, 3.0, 1.0])
    assert [nearest_rank(days, share) for share in (0.5, 0.6, 0.61, 0.9, 0.95)] == [0, 0, 1, 1, 2]


def test_levels_of_the_small_log_by_hand(miniature: tuple[Study, Values]) -> None:
    """Old takes 2 min a plate and 20 a m2: 4 min for one small, 12 for two large, 16 for four small plates."""
    loads = miniature[0].work.loads
    assert loads.plates.tolist() == pytest.approx([1, 2, 4])
    assert loads.area.tolist() == pytest.approx([SMALL, 2 * LARGE, 4 * SMALL])
    assert loads.days.tolist() == pytest.approx([EACH] * 3)
    assert (loads.typical, loads.busy, loads.basis) == (1, 2, "the log's own days")


def scenario_of(folder: Path, rows: list[tuple[str, int]], first: str, last: str, days: float) -> Scenario:
    """The small shop with a log of (date, small plates) in place of its own."""
    text = SHOP.replace("from = 2025-03-03", f"from = {first}").replace("to = 2025-03-05", f"to = {last}")
    text = text.replace('work_days = "250 day/year"', f'work_days = "{days} day/year"')
    head = "Job,Form,Day,Press,Plate,Plates,Good,Stock,Ruling,Reprint,Rush\n"
    log = [f"J{i},A,{day},only,small,{n},1000,coated,100,,\n" for i, (day, n) in enumerate(rows)]
    (folder / "log.csv").write_text(head + "".join(log), "utf-8")
    (folder / "shop.toml").write_text(text, "utf-8")
    return read(folder / "shop.toml")


def week_days(year: int) -> list[str]:
    days = np.arange(f"{year}-01-01", f"{year + 1}-01-01", dtype="datetime64[D]")
    return [str(day) for day in days if np.is_busday(day)]


def test_many_days_make_at_most_24_levels_and_lose_nothing(tmp_path: Path) -> None:
    """Seed 9: a year of 261 week days; typical, busy and busiest day are the log's own, found by sorting."""
    plates = np.random.default_rng(9).integers(1, 17, 261)
    scenario = scenario_of(
        tmp_path,
        [(d, int(n)) for d, n in zip(week_days(2025), plates, strict=True)],
        "2025-01-01",
        "2025-12-31",
        250,
    )
    loads = load_levels(scenario)
    each = np.sort(plates)
    assert len(loads.days) <= MOST_LEVELS
    assert loads.days.sum() == pytest.approx(261 * 365.25 / 365)
    assert (loads.days * loads.plates).sum() == pytest.approx(each.sum() * 365.25 / 365)
    assert loads.plates[loads.typical] == each[math.ceil(0.50 * 261) - 1]
    assert loads.plates[loads.busy] == each[math.ceil(0.95 * 261) - 1]
    assert loads.plates[-1] == each[-1]


def test_work_days_without_plates_count_as_quiet(tmp_path: Path) -> None:
    """100 days with 8 plates of 250 worked in 2025: 150 without, so the median day has none."""
    days = week_days(2025)[:200:2]
    loads = load_levels(scenario_of(tmp_path, [(d, 8) for d in days], "2025-01-01", "2025-12-31", 250))
    a_year = 100 * 365.25 / 365
    assert loads.plates.tolist() == pytest.approx([0, 8])
    assert loads.days.tolist() == pytest.approx([250 - a_year, a_year])
    assert (loads.typical, loads.busy) == (0, 1)


def test_dates_bunched_at_month_end_are_spread_and_said(tmp_path: Path) -> None:
    """All plates of a month on its last week day: January has 23 week days in 2025, February 20, of 261 in the year."""
    ends = [[d for d in week_days(2025) if d.startswith(f"2025-{m:02d}")][-1] for m in range(1, 13)]
    rows = [(d, 12) for d in ends for _ in range(10)]
    scenario = scenario_of(tmp_path, rows, "2025-01-01", "2025-12-31", 250)
    loads = load_levels(scenario)
    scale = 250 / (261 * 365.25 / 365)
    expected = sorted({round(120 / (n * scale), 9) for n in (23, 20, 21, 22)})
    assert loads.plates.tolist() == pytest.approx(expected)
    assert loads.plates.max() < 7
    assert loads.days.sum() == pytest.approx(250)
    assert (loads.days * loads.plates).sum() == pytest.approx(1440 * 365.25 / 365)
    assert "spread over each month's work days" in loads.basis
    assert any("spread evenly over each month's work days" in note for note in scenario.work.notes)


def test_more_than_a_third_on_the_last_working_day_counts_as_bunched(tmp_path: Path) -> None:
    """Each month 12 plates on its last working day; on its first 20, 12 of 32 = 37.5 %; with 30, 12 of 42 = 28.6 %."""
    for others, spread in ((20, True), (30, False)):
        rows = []
        for month in range(1, 13):
            days = [d for d in week_days(2025) if d.startswith(f"2025-{month:02d}")]
            rows += [(days[-1], 12), *((days[i], others // 10) for i in range(10))]
        scenario = scenario_of(tmp_path, rows, "2025-01-01", "2025-12-31", 250)
        assert ("spread" in load_levels(scenario).basis) == spread
        assert any("look like invoice dates" in note for note in scenario.work.notes) == spread


def test_a_summary_is_spread_by_its_month_shares(tmp_path: Path) -> None:
    """100 plates a month, a quarter of the year's in one month and the rest even: 25 plates' worth in 240 / 12 = 20 days."""
    shares = [0.25, 0.75 - 10 * 0.07, *[0.07] * 10]
    text = SHOP.split("[log]")[0].replace('"250 day/year"', '"240 day/year"')
    text += f"[summary]\nplates_per_month = {{ small = 100 }}\nruns = {{ under_1000 = 1.0 }}\nmonth_share = {shares}\n"
    (tmp_path / "shop.toml").write_text(text, "utf-8")
    loads = load_levels(read(tmp_path / "shop.toml"))
    assert loads.days.tolist() == pytest.approx([20, 200, 20])
    assert loads.plates.tolist() == pytest.approx([0.05 * 60, 0.07 * 60, 0.25 * 60])


# --- the shift


def old_minutes(study: Study, values: Values, fixed: float) -> list[float]:
    """Minutes of the three days at the old way's imager, from the plates it images: 20 min a m2 beside `fixed` a plate."""
    sheet = study.methods["old"]
    imaged, area = (float(values[sheet.lines[name]].flat[0]) for name in ("imaged", "area"))
    plates, square = imaged / (7 * EACH), area / (EACH * (2 * LARGE + 5 * SMALL))
    return [n * plates * fixed + a * square * 20 for n, a in ((1, SMALL), (2, 2 * LARGE), (4, 4 * SMALL))]


def test_use_overtime_and_days_over_by_hand(miniature: tuple[Study, Values]) -> None:
    """60 min a plate against a shift of 2.5 h; overtime at 20 x 1.25 x 1.5 USD an hour."""
    study = miniature[0]
    values = study.evaluate({f"{IMAGER}.fixed": 60.0, "shop.shift_hours": 2.5})
    sheet, minutes = study.methods["old"], old_minutes(study, values, 60.0)
    over = [max(0.0, m - 150) for m in minutes]
    assert [m > 150 for m in minutes] == [False, True, True]
    assert block(values, sheet, "Imager, minutes a day") == pytest.approx(minutes)
    assert value(values, sheet, "use.typical") == pytest.approx(minutes[1] / 150)
    assert value(values, sheet, "use.worst") == pytest.approx(minutes[2] / 150)
    assert value(values, sheet, "days_over") == pytest.approx(2 * EACH)
    assert value(values, sheet, "overtime_hours") == pytest.approx(EACH * sum(over) / 60)
    assert value(values, sheet, "overtime") == pytest.approx(EACH * sum(over) / 60 * 20 * 1.25 * 1.5)
    assert value(values, sheet, "worst_can") == math.floor(4 * 150 / minutes[2])
    assert value(values, sheet, "can") == pytest.approx(150 / (sum(minutes) / 7))


def test_a_second_shift_and_warming_up_change_what_is_available(small_shop: Callable[..., Study]) -> None:
    """Two shifts of 8 h less 20 min; three shifts of 9 h are still only 24 h."""
    study = small_shop(
        ('warm_up = "0.5 kWh/day"\n', 'warm_up = "0.5 kWh/day"\nwarm_up_time = "20 min/day"\n')
    )
    sheet = study.methods["old"]
    for shifts, hours, expected in ((1, 8.0, 460.0), (2, 8.0, 940.0), (3, 9.0, 1420.0)):
        values = study.evaluate({"shop.shifts": float(shifts), "shop.shift_hours": hours})
        assert value(values, sheet, "available") == pytest.approx(expected)


def test_the_days_add_up_to_the_year(demo: Study) -> None:
    """Minutes of all days are plates imaged times minutes a plate and area times minutes a m2."""
    values = demo.evaluate()
    for name in ("polyester", "direct", "processed"):
        sheet = demo.methods[name]
        imaged, area = (float(values[sheet.lines[x]].flat[0]) for x in ("imaged", "area"))
        for station in sheet.names("stations"):
            fixed, per_area = (
                float(values[sheet.inp("stations", station, x)].flat[0]) for x in ("fixed", "per_area")
            )
            minutes = block(values, sheet, f"{sheet.label('stations', station)}, minutes a day")
            summed = float((demo.work.loads.days * minutes).sum())
            assert summed == pytest.approx(imaged * fixed + area * per_area, rel=1e-12)


def test_a_further_unit_against_the_overtime_it_spares(small_shop: Callable[..., Study]) -> None:
    """5,000 USD over 4 years at 10 % as a level payment (numpy_financial.pmt); two units halve the minutes."""
    priced = 'warm_up = "0.5 kWh/day"\nunits = 1\nunit_price = "5000 USD"\nunit_life = "4 year"\n'
    study = small_shop(('warm_up = "0.5 kWh/day"\n', priced))
    values = study.evaluate({f"{IMAGER}.fixed": 60.0, "shop.shift_hours": 2.0})
    sheet, minutes = study.methods["old"], old_minutes(study, values, 60.0)
    hours = [EACH * sum(max(0.0, m / u - 120) for m in minutes) / 60 for u in (1, 2)]
    yearly = -float(pmt(0.10, 4, 5000))
    assert hours[1] > 0
    assert value(values, sheet, "unit.imager.hours") == pytest.approx(hours[1])
    assert value(values, sheet, "unit.imager.yearly") == pytest.approx(yearly)
    assert value(values, sheet, "unit.imager.saves") == pytest.approx(
        (hours[0] - hours[1]) * 20 * 1.25 * 1.5 - yearly
    )
    free = study.evaluate({"money.discount_rate": 0.0})
    assert value(free, sheet, "unit.imager.yearly") == pytest.approx(5000 / 4)


def test_first_two_hours_and_waits_for_rush_forms(miniature: tuple[Study, Values]) -> None:
    """New makes the rush form: 4 plates take 16 min, 6 min of make-ready meanwhile leave 10. Half of 4 plates is wanted early."""
    study = miniature[0]
    values = study.evaluate({"presses.only.make_ready": 6.0, "shop.early_share": 0.5})
    new = study.methods["new"]
    busy = float(values[new.lines["capacity.minutes.busy"]].flat[0])
    assert value(values, new, "rush_wait") == pytest.approx(EACH * 10 / 60)
    assert value(values, new, "early_plates") == pytest.approx(2)
    assert value(values, new, "early_use") == pytest.approx(0.5 * busy / 120)
    assert value(values, study.methods["old"], "rush_wait") == 0  # out of its reach


def test_none_of_it_is_among_the_costs(demo: Study) -> None:
    """A shift that is far too short raises overtime and no cost."""
    short = {"shop.shift_hours": 2.0, "methods.direct.stations.curing.warm_up_time": 100.0}
    before, after = demo.evaluate(), demo.evaluate(short)
    assert value(after, demo.methods["direct"], "overtime") > 0
    for name in ("present", "present_full", "running_1"):
        row = demo.comparison.rows[name]
        assert after[row].tolist() == before[row].tolist()


def test_twice_the_work_takes_twice_the_minutes(miniature: tuple[Study, Values]) -> None:
    study, values = miniature
    twice = study.evaluate({"work.volume": 2.0})
    for sheet in study.methods.values():
        assert value(twice, sheet, "use.busy") == pytest.approx(2 * value(values, sheet, "use.busy"))
        assert value(twice, sheet, "can") == pytest.approx(value(values, sheet, "can"))


# --- words


@pytest.mark.parametrize(
    "fixed, hours, words",
    [
        (2.0, 8.0, "Old keeps up: "),
        (60.0, 7.0, "Old is tight: "),
        (60.0, 2.0, "Old can't make the busiest day's plates within the shift: 4 plates are wanted on the busiest day, "),
        (180.0, 8.0, "Old can't make the busiest day's plates within the shift: "),
        (180.0, 24.0, "Old keeps up: "),
    ],
)  # fmt: skip
def test_what_is_said_follows_the_figures(
    miniature: tuple[Study, Values], fixed: float, hours: float, words: str
) -> None:
    study = miniature[0]
    changes = {f"{IMAGER}.fixed": fixed, "shop.shift_hours": hours}
    values = study.evaluate(changes)
    busy = old_minutes(study, values, fixed)[2] / (hours * 60)
    said = told(study, values)[0]
    assert said.startswith(words)
    assert ("keeps up" in said, "is tight" in said, "can't" in said) == (
        busy <= 0.85,
        0.85 < busy <= 1,
        busy > 1,
    )
    if busy <= 1:
        assert f" {100 * busy:.0f} % of the shift on a busy day." in said


def test_what_even_24_hours_can_not_do_is_said(miniature: tuple[Study, Values]) -> None:
    """Ten times the work at 240 min a plate; the day's hours by hand. It is said, and the method stays feasible."""
    study = miniature[0]
    values = study.evaluate({f"{IMAGER}.fixed": 240.0, "work.volume": 10.0})
    hours = 10 * old_minutes(study, values, 240.0)[2] / 60
    assert hours > 24
    (said,) = [text for text in told(study, values) if text.startswith("Old ")]
    assert "Old can't do this work even around the clock: 40 plates are wanted on the busiest day" in said
    assert f"which take {hours:.0f} hours." in said
    assert float(values[study.methods["old"].lines["feasible"]].flat[0]) == 1


def test_a_method_that_makes_no_plates_has_nothing_to_keep_up_with(demo: Study) -> None:
    said = told(demo, demo.evaluate())
    assert said[-1] == "Bought in makes no plates here: there is nothing to keep up with."
    assert len(said) == len(demo.methods)


def test_a_method_out_of_whose_reach_everything_lies_makes_none(miniature: tuple[Study, Values]) -> None:
    study = miniature[0]
    values = study.evaluate({"methods.old.ruling_limit": 0.0})
    assert told(study, values)[0] == "Old makes none of this work."
    assert all(np.isfinite(values[line]).all() for line in study.methods["old"].column.lines)


def test_units_and_warming_up_beyond_their_limits_are_refused(small_shop: Callable[..., Study]) -> None:
    """With at most 100 min of warming up and at least 2 h of shift something is always left of the shift."""
    for wrong, part in (
        ("units = 1.5", "not a whole number"),
        ("units = 5", "is above 4"),
        ('warm_up_time = "150 min/day"', "is above 100 min/day"),
    ):
        with pytest.raises(BadInput, match=part):
            small_shop(('warm_up = "0.5 kWh/day"\n', f'warm_up = "0.5 kWh/day"\n{wrong}\n'))


def test_the_demo_of_a_busier_shop_is_told_that_direct_is_too_slow(tmp_path: Path) -> None:
    """110 plates a day at 15 min a station are 27.5 hours: one line can't, whatever the hours."""
    text = (Path(__file__).parents[2] / "scenarios" / "ten_answers" / "shop.toml").read_text("utf-8")
    text = text.replace("small = 220, large = 180", "small = 1, large = 2292")
    text += '\n[methods.direct.stations.imager]\nfixed = "15 min/plate"\nper_area = "0 min/m2"\n'
    (tmp_path / "shop.toml").write_text(text, "utf-8")
    study = build(read(tmp_path / "shop.toml"))
    (said,) = [x for x in told(study, study.evaluate()) if x.startswith("Direct ")]
    assert said.startswith("Direct can't do this work even around the clock: 110 plates are wanted")
