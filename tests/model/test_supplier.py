"""The sole supplier stops: the year's cost by hand, the new line's tax, and that going on costs nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.answers.checks import results
from roi.model.study import Study, build
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read
from tests.parity.recalculate import differences, ironcalc_values
from tests.small_shop import LEAN, SHOP
from tests.workbook.rules import broken_rules

RATE, TAX = 0.10, 0.25
MONEY = """
[money]
horizon = "5 year"
discount_rate = "10 %/year"
tax_rate = "25 %"
tax_schedule = "straight_line"
tax_years = 2
[growth]
volume = "-10 %/year"
bought_in = "5 %/year"
equipment = "2 %/year"
[shop]
work_days = "250 day/year"
[bought_in]
price_per_area = "100 USD/m2"
delivery = "15 USD/trip"
[methods.direct.plates]
price_per_area = "20 USD/m2"
"""
LINE = '[methods.direct.equipment.line]\nprice = "10000 USD"\nlife = "{}"\nresale = "10 %"\n'
STOP = '[methods.direct.supplier]\nstops = "{} year"\nweeks = "{} week"\nnew_line = "{} USD"\n'
STOPS = "methods.direct.supplier.stops"


def study(folder: Path, more: str = "") -> Study:
    (folder / "shop.toml").write_text(SHOP + MONEY + more, encoding="utf-8")
    return build(read(folder / "shop.toml"))


def flows(made: Study, key: str = "after", **changes: float) -> list[float]:
    values = made.evaluate({STOPS: changes["stops"]} if changes else {})
    return [float(x) for x in values[made.methods["direct"].lines[key]].ravel()]


def gap(made: Study, weeks: float, year: int) -> float:
    """Weeks of a year at 80 USD/m2 above one's own, work down by 10 % a year, and a trip a work day; 5 % dearer a year.

    A year has 365.25 / 7 weeks.
    """
    area = float(made.evaluate()[made.methods["direct"].lines["area"]][0])
    part = weeks / (365.25 / 7)
    return (area * 80 * part * 0.9 ** (year - 1) + 250 * part * 15) * 1.05**year


def test_year_3_by_hand(tmp_path: Path) -> None:
    """A line of 10,000 that would last all five years, and more: stopped in year 3, it is worth nothing at the horizon.

    The new one is 12,000 x 1.02^3, half of it relieved in each of years 4 and 5, and 2 of its 8 years old at the horizon:
    12,000 x 1.02^5 x (0.1 + 0.9 x 6/8), where the stopped one would be worth 10,000 x 1.02^5 x (0.1 + 0.9 x 3/8).
    """
    life = LINE.format("8 year")
    without, made = study(tmp_path, life), study(tmp_path, life + STOP.format(3, 6, 12000))
    line = 12000 * 1.02**3
    worth = 1.02**5 * (12000 * (0.1 + 0.9 * 6 / 8) - 10000 * (0.1 + 0.9 * 3 / 8))
    more = [now - before for now, before in zip(flows(made), flows(without), strict=True)]
    expected = [
        0,
        0,
        0,
        -gap(made, 6, 3) * (1 - TAX) - line,
        line / 2 * TAX,
        line / 2 * TAX + worth * (1 - TAX),
    ]
    assert more[:6] == pytest.approx(expected, abs=1e-6)
    cost = sum(-flow / (1 + RATE) ** year for year, flow in enumerate(expected))
    assert flows(made, "present")[0] - flows(without, "present")[0] == pytest.approx(cost, abs=1e-6)
    # It comes once: what a year's running costs are doesn't move.
    for key in ("running", "running_today", "own_life"):
        assert flows(made, key) == flows(without, key)
    assert all(ok for _, ok in results(made, made.evaluate()))


def chains(life: int, stop: int) -> list[float]:
    """Flows after tax of both lines, purchase by purchase: 10,000 until the stop, 12,000 from it, each replaced in turn."""
    years = 5
    old = [(year, 10000.0) for year in range(0, years, life) if not stop or year < stop]
    new = [(year, 12000.0) for year in range(stop, years, life)] if stop else []
    spent, received, relieved = ([0.0] * (years + 1) for _ in range(3))
    for year, price in old + new:
        spent[year] += price * 1.02**year
        received[year] += 0.10 * price * 1.02**year if year not in (0, stop) else 0.0
        for after in range(year + 1, min(year + 2, years) + 1):
            relieved[after] += price * 1.02**year / 2
    relieved[years] += sum(spent) - sum(relieved)
    for year, price in (new if stop else old)[-1:]:
        received[years] += price * 1.02**years * (0.1 + 0.9 * (1 - (years - year) / life))
    return [r - s + TAX * (d - r) for s, r, d in zip(spent, received, relieved, strict=True)]


@pytest.mark.parametrize("life", [1, 2, 3, 4, 8])
def test_every_year_by_brute_force(tmp_path: Path, life: int) -> None:
    """The stopped line isn't bought again, and the new one has a chain of its own: each against a plain loop, live."""
    made = study(tmp_path, LINE.format(f"{life} year") + STOP.format(1, 0, 12000))
    never = flows(made, stops=0)
    for stop in range(1, 6):
        wanted = [x - y for x, y in zip(chains(life, stop), chains(life, 0), strict=True)]
        found = [x - y for x, y in zip(flows(made, stops=stop), never, strict=True)]
        assert found[:6] == pytest.approx(wanted, abs=1e-6), stop


def test_going_on_costs_nothing(tmp_path: Path) -> None:
    """Year 0 means that it goes on; a year beyond the horizon comes too late. Changed live, both."""
    without, made = study(tmp_path), study(tmp_path, STOP.format(0, 6, 12000))
    assert flows(made) == flows(without)
    assert flows(made, stops=6) == flows(without)
    assert flows(made, stops=2)[2] < flows(without)[2]


def test_in_the_last_year_no_line_is_bought(tmp_path: Path) -> None:
    """Nothing is bought at the horizon: what is lost is the stopped line's worth, 10,000 x 1.02^5 x (0.1 + 0.9 x 3/8)."""
    life = LINE.format("8 year")
    without, made = study(tmp_path, life), study(tmp_path, life + STOP.format(5, 0, 12000))
    more = flows(made)[5] - flows(without)[5]
    assert more == pytest.approx(-10000 * 1.02**5 * (0.1 + 0.9 * 3 / 8) * (1 - TAX))
    assert all(ok for _, ok in results(made, made.evaluate()))


def test_the_stopped_lines_book_value_follows_its_schedule(tmp_path: Path) -> None:
    """Owned, with 4,000 in the books over 4 years: 1,000 a year is deducted to year 4, whether it stops in year 2 or not."""
    owned = LINE.format("8 year") + 'years_left = "9 year"\n'
    book = 'tax_book = "4000 USD"\ntax_years_left = "4 year"\n'
    for stop in (0, 2):
        plain, made = (study(tmp_path, text + STOP.format(stop, 0, 12000)) for text in (owned, owned + book))
        more = [now - before for now, before in zip(flows(made), flows(plain), strict=True)]
        assert more[:6] == pytest.approx([0, 250, 250, 250, 250, 0])


def test_a_later_stop_never_costs_more(tmp_path: Path) -> None:
    """Work shrinks by 10 % a year and money is worth 10 % less, against prices 5 and 2 % up."""
    made = study(tmp_path, STOP.format(1, 6, 12000).replace("12000", "0"))
    costs = [flows(made, "present", stops=k)[0] for k in range(1, 6)]
    assert costs == sorted(costs, reverse=True) and costs[0] > costs[-1]


def test_what_is_stated_in_part_is_asked_for(tmp_path: Path) -> None:
    for part, missing in (
        ('weeks = "6 week"', {"stops", "new_line"}),
        ('stops = "3 year"', {"weeks", "new_line"}),
    ):
        with pytest.raises(BadInput) as bad:
            study(tmp_path, f"[methods.direct.supplier]\n{part}\n")
        told = {p.where for p in bad.value.problems if p.what == "is missing" and p.mend}
        assert told == {f"shop.toml, methods.direct.supplier.{name}" for name in missing}
    with pytest.raises(BadInput) as bad:
        study(tmp_path, STOP.format(2.5, 60, 0))
    assert {p.what for p in bad.value.problems} == {
        "2.5 year is not a whole number",
        "60 week is above 52 week",
    }


def test_the_workbook_follows(tmp_path: Path) -> None:
    """Recalculated by IronCalc, stored results stripped first; then the year changed in the workbook, 0 to 10."""
    from roi.workbook.inputs import lay_out_inputs
    from roi.workbook.placing import Places
    from roi.workbook.write import results_of, write_workbook
    from tests.parity.recalculate import IronCalcBook

    made = study(tmp_path, STOP.format(3, 6, 12000))
    path = tmp_path / "out.xlsx"
    found = write_workbook(made, made.evaluate(), path, LEAN)
    assert differences(found, ironcalc_values(path)) == []
    assert broken_rules(path) == []
    rows, _ = lay_out_inputs(made.scenario, made.book, Places())
    cell = next(f"C{5 + i}" for i, row in enumerate(rows) if not isinstance(row, str) and row.key == STOPS)
    book = IronCalcBook(path)
    for year in (0, 1, 5, 10):
        book.set("Inputs", cell, year)
        book.evaluate()
        after = results_of(made, {STOPS: year}, LEAN)
        told = [d for d in differences(after, book.values()) if not d.startswith(("Changes!", "Summary!B"))]
        assert told == [], year
