"""Properties of the readers over made-up input: what is written reads back, and nothing is lost without a word.

Hypothesis makes the input, the same each run (derandomized, nothing kept on disk).
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import tempfile
import tomllib
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, configuration, given, settings
from hypothesis import strategies as st

from roi.scenario import starter
from roi.scenario.catalogue import entry_for
from roi.scenario.cells import number
from roi.scenario.dates import EARLIEST, LATEST, find_order, read_days, readings
from roi.scenario.files import Raw
from roi.scenario.joblog import read_log
from roi.scenario.ledger import read_ledger
from roi.scenario.ledgerspec import read_ledger_spec
from roi.scenario.problems import BadInput
from roi.scenario.stated import SURE, StatedInput, read_input
from roi.units.quantity import UnreadableQuantity, factor, read_size, read_unit, split_number, symbols_of
from roi.units.unit import Unit
from roi.workbook.toml_lines import line_of
from tests.fuzz.toml_text import dumps

# What it works out for itself goes where it is swept up, and not into the tree.
_HOME = tempfile.TemporaryDirectory(prefix="hypothesis-")
configuration.set_hypothesis_home_dir(_HOME.name)
steady = settings(
    derandomize=True, database=None, deadline=5000, max_examples=25,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)  # fmt: skip

# Symbols a unit is made of, each of one way of writing it.
SYMBOLS = (
    "min",
    "h",
    "day",
    "week",
    "month",
    "year",
    "L",
    "mL",
    "gal",
    "m2",
    "mm",
    "in",
    "kg",
    "lb",
    "kW",
    "plate",
    "form",
    "sheet",
    "USD",
)
amounts = st.decimals(min_value="0", max_value="999999", places=3, allow_nan=False, allow_infinity=False)
units = st.tuples(
    st.lists(st.sampled_from(SYMBOLS), min_size=1, max_size=2), st.lists(st.sampled_from(SYMBOLS), max_size=2)
).map(lambda parts: "*".join(parts[0]) + "".join(f"/{s}" for s in parts[1]))


# --- quantities and units


@steady
@given(amounts, units, st.sampled_from(["", "-", "+"]))
def test_a_number_and_its_unit_are_told_apart(amount: Decimal, unit: str, sign: str) -> None:
    assert split_number(f"{sign}{amount} {unit}") == (float(f"{sign}{amount}"), unit)
    assert split_number(f"  {sign}{amount}   {unit} ") == (float(f"{sign}{amount}"), unit)


@steady
@given(amounts, st.integers(1, 15), st.integers(1, 15))
def test_a_fraction_is_added(amount: Decimal, above: int, below: int) -> None:
    whole = int(amount)
    found, unit = split_number(f"{whole} {above}/{below} in")
    assert unit == "in" and found == pytest.approx(whole + above / below, rel=1e-12)


@steady
@given(st.integers(0, 999_999_999), st.integers(0, 99))
def test_thousands_may_be_marked_and_a_decimal_comma_is_refused(whole: int, cents: int) -> None:
    assert split_number(f"{whole:,}.{cents:02} USD") == (float(f"{whole}.{cents:02}"), "USD")
    with pytest.raises(UnreadableQuantity, match="decimal comma"):
        split_number(f"{whole},{cents:02} USD")


@steady
@given(units)
def test_a_unit_reads_back_as_it_is_shown(unit: str) -> None:
    stated = read_unit(unit, "USD")
    assert read_unit(stated.text("USD"), "USD") == stated


@steady
@given(units, amounts)
def test_turning_a_unit_into_itself_changes_nothing(unit: str, amount: Decimal) -> None:
    stated = read_unit(unit, "USD")
    try:
        engine = Unit.read(unit.replace("USD", "currency"))
    except ValueError:
        raise AssertionError(f"{unit} is read by one reader of units and not by the other") from None
    assert factor(stated, engine) * float(amount) == pytest.approx(float(amount), rel=1e-12)
    assert factor(symbols_of(engine), engine) == pytest.approx(1, rel=1e-12)


@steady
@given(st.text(max_size=70))
def test_any_text_is_a_unit_or_is_refused(text: str) -> None:
    try:
        read_unit(text, "USD")
    except UnreadableQuantity as said:
        assert str(said)


@steady
@given(
    st.integers(50, 3000),
    st.integers(50, 3000),
    st.sampled_from([("mm", 0.001, 1), ("cm", 0.01, 10), ("in", 0.0254, 26)]),
    st.sampled_from(" x×"),
)
def test_both_sides_of_a_size_are_read(
    width: int, height: int, unit: tuple[str, float, int], mark: str
) -> None:
    """The inch is 25.4 mm, by the international yard of 1959. Sides are from 50 mm to 3 m."""
    width, height = max(width // unit[2], 5), max(height // unit[2], 5)
    text = f"{width} {unit[0]} {mark.strip() or 'x'} {height} {unit[0]}"
    assert read_size(text) == pytest.approx((width * unit[1], height * unit[1]), rel=1e-12)
    assert read_size(f"{width} x {height} {unit[0]}") == pytest.approx(
        (width * unit[1], height * unit[1]), rel=1e-12
    )


# --- numbers as stated


@steady
@given(
    st.decimals("0.5", "60", places=2), st.none() | st.decimals("0.1", "70", places=2),
    st.none() | st.decimals("0.1", "70", places=2),
    st.none() | st.sampled_from([*SURE]), st.sampled_from([None, "measured", "quote", "estimate"]),
)  # fmt: skip
def test_low_best_and_high_are_in_order_or_refused(best, low, high, sure, status) -> None:
    key = ("methods", "direct", "tasks", "daily", "minutes")
    entry = entry_for(key)
    assert entry is not None
    said = {"best": best, "low": low, "high": high}
    table = {name: f"{value} min/day" for name, value in said.items() if value is not None}
    table |= {name: value for name, value in (("sure", sure), ("status", status)) if value is not None}
    found = read_input(
        key, Raw(table, "shop.toml", False), entry, "x", Unit.read("min/day"), "USD", "metric", None
    )
    ordered = (low is None or low <= best) and (high is None or best <= high)
    assert isinstance(found, StatedInput) == ordered
    if isinstance(found, StatedInput):
        assert found.low <= found.best <= found.high and found.best * found.factor == pytest.approx(
            float(best), rel=1e-12
        )
    else:
        assert all("shop.toml" in p.where and p.mend for p in found)


# --- cells of a log


@steady
@given(st.integers(0, 9_999_999), st.integers(0, 99))
def test_decimal_commas_and_points_say_the_same(whole: int, part: int) -> None:
    wanted = float(f"{whole}.{part:02}")
    for text in (
        f"{whole},{part:02}",
        f"{whole:,}".replace(",", ".") + f",{part:02}",
        f"{whole:,}".replace(",", " ") + f",{part:02}",
    ):
        assert number(text, "comma") == wanted
    for text in (
        f"{whole}.{part:02}",
        f"{whole:,}.{part:02}",
        f"{whole:,}".replace(",", "\u202f") + f".{part:02}",
    ):
        assert number(text, "point") == wanted


@steady
@given(st.text(max_size=30), st.sampled_from(["point", "comma"]))
def test_any_cell_is_a_number_or_none(text: str, decimal: str) -> None:
    assert isinstance(number(text, decimal), float)


@steady
@given(st.dates(dt.date(EARLIEST, 1, 1), dt.date(LATEST, 12, 31)))
def test_a_date_reads_as_it_was_written(day: dt.date) -> None:
    forms = {
        "year-first": (f"{day:%Y-%m-%d}", f"{day:%Y%m%d}", f"{day:%Y/%m/%d}", f"{day:%Y-%m-%d}T08:30"),
        "day-first": (f"{day:%d/%m/%Y}", f"{day:%d.%m.%Y}", f"{day:%d-%m-%Y} 14:05"),
        "month-first": (f"{day:%m/%d/%Y}",),
    }
    for order, texts in forms.items():
        for text in texts:
            assert readings(text).get(order) == day
    assert set(readings(day).values()) == {day}
    for text in (f"{day:%d %b %Y}", f"{day:%b %d, %Y}"):
        assert set(readings(text).values()) == {day}


@steady
@given(
    st.lists(st.dates(dt.date(2000, 1, 1), dt.date(2039, 12, 31)), min_size=1, max_size=8),
    st.sampled_from(["%d/%m/%Y", "%m/%d/%Y"]),
)
def test_an_order_found_reads_every_date_right(days: list[dt.date], form: str) -> None:
    """Found or asked for, and never found wrong."""
    texts = [day.strftime(form) for day in days]
    order, doubt = find_order(texts)
    assert (order is None) == bool(doubt)
    if order is not None:
        assert read_days(texts, order).tolist() == days


# --- tables of text

words = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=8)
counts = st.sampled_from(["1", "2", "4", "", "0", "-1", "x", "2.5", "1,000", "99999999999999", "\u0661"])
log_rows = st.tuples(
    words,
    st.sampled_from(["2026-01-05", "2026-12-31", "05/01/2026", "", "soon", "2026-02-30"]),
    counts,
    counts,
    words,
)


@steady
@given(
    st.lists(log_rows, min_size=1, max_size=8),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["refuse", "skip"]),
)
def test_no_row_of_a_log_is_lost_without_a_word(rows, mark: str, bad_rows: str) -> None:
    with tempfile.TemporaryDirectory() as name:
        content = _table(["Job", "Day", "Plates", "Good", "Stock"], rows, mark)
        (Path(name) / "log.csv").write_bytes(content)
        columns = {"job": "Job", "date": "Day", "plates": "Plates", "impressions": "Good", "stock": "Stock"}
        spec = {"file": "log.csv", "columns": columns, "date_order": "year-first", "bad_rows": bad_rows}
        try:
            work = read_log(spec, Path(name), {"main": 2}, ["small"])
        except BadInput as bad:
            assert bad.problems and all(p.what for p in bad.problems)
            return
    filled = sum(any(cell.strip() for cell in row) for row in rows)
    assert work.rows_read == filled and len(work.plates) + work.rows_skipped == filled
    assert bool(work.rows_skipped) == bool(work.skipped) and (bad_rows == "skip" or not work.rows_skipped)
    assert set(work.plates.tolist()) <= {1, 2, 4, 1000}


@steady
@given(
    st.lists(
        st.tuples(st.dates(dt.date(2024, 6, 1), dt.date(2026, 6, 1)), st.sampled_from(["5010", "6000",
        "7000", "5010: internal"]),
                  st.integers(-50_00, 900_000_00)), min_size=1, max_size=8,
    ),
    st.sampled_from(["point", "comma"]),
)  # fmt: skip
def test_a_ledger_adds_up_to_what_the_file_says(rows, decimal: str) -> None:
    with tempfile.TemporaryDirectory() as name:
        mark = {"point": ".", "comma": ","}[decimal]
        said = [(str(day), account, f"{cents / 100:.2f}".replace(".", mark)) for day, account, cents in rows]
        (Path(name) / "ledger.csv").write_bytes(_table(["date", "account", "amount"], said, ";"))
        table = {
            "file": "ledger.csv", "decimal": decimal, "accounts": {"5010": "consumables",
            "6000": "leave out: paper"},
            "from": dt.date(2025, 1, 1), "to": dt.date(2025, 12, 31),
            "columns": {"date": "date", "account": "account", "amount": "amount"},
        }  # fmt: skip
        try:
            ledger = read_ledger(read_ledger_spec(table, Path(name), "[ledger]", None))
        except BadInput as bad:
            # What is refused for what its rows say together is no matter of this property.
            assume(
                "are credits" not in bad.problems[0].what and "has no row from" not in bad.problems[0].what
            )
            raise
    assert len(ledger.rows) == ledger.rows_read == len(rows) and not ledger.rows_skipped
    assert round(100 * sum(row.amount for row in ledger.rows)) == sum(cents for *_, cents in rows)
    assert [row.day for row in ledger.rows] == [day for day, *_ in rows]


def _table(header: list[str], rows, mark: str) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=mark, quoting=csv.QUOTE_ALL, lineterminator="\n").writerows([header, *rows])
    return out.getvalue().encode()


# --- TOML


@steady
@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=12))
def test_the_starter_reads_back_what_was_answered(name: str) -> None:
    """JSON's escapes stand in for TOML's, which asks for one more."""
    assume(name.strip())
    tree = tomllib.loads(starter.write({"name": name, "days-down": "2"}, today=dt.date(2026, 1, 31)))
    assert tree["name"] == name.strip()
    assert "2 day/year" in str(tree["methods"])


keys = st.text("abcdefghij_-", min_size=1, max_size=6) | st.text(
    st.characters(exclude_categories=["Cs"]), min_size=1, max_size=4
)
leaves = (
    st.booleans()
    | st.integers(-(2**62), 2**62)
    | st.floats(allow_nan=False)
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
)
trees = st.recursive(
    leaves,
    lambda below: st.lists(below, max_size=3) | st.dictionaries(keys, below, max_size=3),
    max_leaves=12,
)


@steady
@given(st.dictionaries(keys, trees, max_size=4), st.randoms(use_true_random=False))
def test_toml_we_write_reads_back_in_every_form(tree, draw) -> None:
    """The mutator's own writer: what it calls the same must be the same to Python's TOML reader."""
    assert tomllib.loads(dumps(tree)) == tree
    assert tomllib.loads(dumps(tree, draw)) == tree


@steady
@given(
    st.lists(st.text("abcdefg", min_size=2, max_size=5), min_size=1, max_size=5, unique=True),
    st.text("xyz", min_size=1, max_size=4),
    st.data(),
)
def test_a_problem_names_the_line_its_key_stands_on(names, value: str, data) -> None:
    lines = [
        "schema = 1",
        "",
        "[table]",
        *(f'{name} = "{value}{i}"' for i, name in enumerate(names)),
        "",
        "[other]",
        f"{names[0]} = 1",
    ]
    wanted = data.draw(st.integers(0, len(names) - 1))
    assert line_of(lines, "table", names[wanted]) == 4 + wanted
    assert line_of(lines, "table", names[wanted], f"{value}{wanted}") == 4 + wanted
    assert line_of(lines, "other", names[0]) == len(lines)
