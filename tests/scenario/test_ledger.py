"""A ledger read and sorted: small files written here, every row's fate and every fault worked out by hand."""

import datetime as dt
import tomllib
from pathlib import Path

import openpyxl
import pytest

from roi.scenario.ledger import (
    COUNTED,
    INTERNAL,
    LEFT_OUT,
    OTHER_YEAR,
    UNMAPPED,
    read_ledger,
    read_year,
)
from roi.scenario.ledgerspec import read_ledger_spec
from roi.scenario.named_periods import named
from roi.scenario.problems import BadInput
from roi.scenario.scenario import read as read_scenario
from tests.small_shop import SHOP

HEADER = "date,account,supplier,amount"
YEAR = {"from": dt.date(2025, 1, 1), "to": dt.date(2025, 12, 31)}
ACCOUNTS = {"5010": "consumables", "5020": "waste", "6000": "leave out: paper"}
ROWS = (
    "2025-01-10,5010,Plate merchant,100.00",
    "2025-11-20,5010,Plate merchant,-20.00",
    "2025-12-01,5020,Haulier,50.00",
)


def spec_of(folder, **more):
    table = {"file": "ledger.csv", "accounts": ACCOUNTS, **YEAR, **more}
    return read_ledger_spec({k: v for k, v in table.items() if v is not None}, folder, "[ledger]", None)


def read(folder, rows=ROWS, header=HEADER, begins=1, **more):
    (folder / "ledger.csv").write_text("\n".join([header, *rows]) + "\n", "utf-8")
    return read_ledger(spec_of(folder, **more), begins=begins)


def faults(folder, *args, **more):
    with pytest.raises(BadInput) as fault:
        read(folder, *args, **more)
    return [str(p) for p in fault.value.problems]


def spec_faults(folder, **more):
    with pytest.raises(BadInput) as fault:
        spec_of(folder, **more)
    return [str(p) for p in fault.value.problems]


def fates(ledger):
    return {row.row: (row.kind, row.head) for row in ledger.rows}


# --- what becomes of a row


def test_rows_are_mapped_by_account_credits_kept_negative(tmp_path):
    ledger = read(tmp_path)
    assert fates(ledger) == {2: (COUNTED, "consumables"), 3: (COUNTED, "consumables"), 4: (COUNTED, "waste")}
    assert [row.amount for row in ledger.of(COUNTED, "consumables")] == [100, -20]
    assert ledger.days == 365 and ledger.called == "2025" and not ledger.doubts


def test_no_row_is_dropped(tmp_path):
    rows = (
        *ROWS,
        "2025-03-01,7777,Window cleaner,30.00",
        "2025-03-02,7777,Window cleaner,31.00",
        "2025-03-03,6000,Paper mill,400.00",
        "2025-04-01,8000: Internal recharge,Estates,60.00",
        "2024-12-31,5010,Plate merchant,70.00",
    )
    ledger = read(tmp_path, rows)
    assert [row.row for row in ledger.rows] == list(range(2, 10))
    assert [fates(ledger)[n] for n in range(5, 10)] == [
        (UNMAPPED, ""), (UNMAPPED, ""), (LEFT_OUT, ""), (INTERNAL, ""), (OTHER_YEAR, "consumables"),
    ]  # fmt: skip
    (group,) = ledger.groups(UNMAPPED)
    assert (group.account, group.supplier, group.rows, group.amount) == ("7777", "Window cleaner", 2, 61)
    assert ledger.of(OTHER_YEAR)[0].why == "dated 2024-12-31" and ledger.of(LEFT_OUT)[0].why == "paper"


def test_a_pattern_makes_exceptions_to_an_account(tmp_path):
    rows = (
        *ROWS,
        "2025-05-01,5010,Printing of menus,5",
        "2025-05-02,5010,INTERNAL  recharge of the canteen,6",
        "2025-05-03,9,A chemist,7",
    )
    patterns = {
        "menus": "leave out: not plates",
        "internal recharge": "leave out: internal",
        "chemist": "consumables.chemistry",
    }
    ledger = read(tmp_path, rows, patterns=patterns)
    assert [fates(ledger)[n] for n in (5, 6, 7)] == [
        (LEFT_OUT, ""), (INTERNAL, ""), (COUNTED, "consumables.chemistry"),
    ]  # fmt: skip
    assert spec_of(tmp_path, patterns=patterns).heads == ("consumables", "consumables.chemistry", "waste")


def test_an_internal_recharge_that_is_mapped_is_counted_and_asked_about(tmp_path):
    ledger = read(tmp_path, (*ROWS, "2025-05-01,5020,Recharge by Estates,40"))
    assert fates(ledger)[5] == (COUNTED, "waste")
    (doubt,) = ledger.doubts
    assert doubt.where == "ledger.csv, row 5" and "internal recharge" in doubt.what


def test_a_text_that_names_another_period_is_of_another_year(tmp_path):
    header = "date,account,supplier,amount,what"
    columns = {
        "date": "date",
        "account": "account",
        "supplier": "supplier",
        "amount": "amount",
        "text": "what",
    }
    texts = {
        "Contract 2023/24": OTHER_YEAR,
        "December 2024": OTHER_YEAR,
        "Q4 2024": OTHER_YEAR,
        "11/2024": OTHER_YEAR,
        "for 2023": OTHER_YEAR,
        "Contract 2024/25": COUNTED,  # from July, it reaches into the year
        "January 2025": COUNTED,
        "invoice 31/12/2024": COUNTED,  # a date is no period
        "invoice 2024-1187": COUNTED,
        "Rollers model 2019": COUNTED,  # a year alone may be a name: asked about
    }
    rows = [f"2025-06-{n + 1:02},5010,Merchant,{n + 1}.00,{text}" for n, text in enumerate(texts)]
    ledger = read(tmp_path, rows, header, columns=columns, begins=7)
    assert {row.text: row.kind for row in ledger.rows} == texts
    (alone,) = [d for d in ledger.doubts if "names a year" in d.what]
    assert alone.where == "ledger.csv, row 11"
    late = read(
        tmp_path, ["2025-06-01,5010,M,1,x", "2026-02-01,5010,M,2,December 2025"], header, columns=columns
    )
    assert late.of(OTHER_YEAR)[0].row == 3 and any("is dated outside it" in d.what for d in late.doubts)


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("2024/25", (2024, 4, 1), (2025, 3, 31)),
        ("Feb. 2024", (2024, 2, 1), (2024, 2, 29)),
        ("q3 2025", (2025, 7, 1), (2025, 9, 30)),
        ("2025-12", (2025, 12, 1), (2025, 12, 31)),
        ("7 / 2025", (2025, 7, 1), (2025, 7, 31)),
    ],
)
def test_periods_in_words(text, first, last):
    assert (dt.date(*first), dt.date(*last)) in named(text, 4).periods


def test_duplicates_are_asked_about_and_counted(tmp_path):
    rows = (*ROWS, "2025-12-01,5010,HAULIER,50.00", "2025-12-02,5020,Haulier,50.00")
    ledger = read(tmp_path, rows)
    assert all(row.kind == COUNTED for row in ledger.rows)
    (doubt,) = ledger.doubts
    assert (
        doubt.where == "ledger.csv, row 5" and "50.00 in all" in doubt.what and "booked twice" in doubt.what
    )


def test_an_end_of_the_year_without_rows_is_asked_about(tmp_path):
    """20 November is 41 days before the year's end, 20 September 102: more than one and a half months."""
    assert not read(tmp_path, ROWS[:2]).doubts
    (doubt,) = read(tmp_path, (ROWS[0], "2025-09-20,5010,M,1")).doubts
    assert "no row after 2025-09-20" in doubt.what and "scaled to a year" in doubt.mend


# --- the year


def test_the_year_is_taken_from_the_ledger_by_whole_months(tmp_path):
    ledger = read(tmp_path, ("2025-02-10,5010,M,1", "2025-07-03,5010,M,2"), **dict.fromkeys(YEAR))
    assert (ledger.first, ledger.last) == (dt.date(2025, 2, 1), dt.date(2025, 7, 31))
    assert ledger.days == 28 + 31 + 30 + 31 + 30 + 31 and ledger.called == "2025-02-01 to 2025-07-31"


def test_more_than_a_year_must_be_stated(tmp_path):
    (told,) = faults(tmp_path, ("2025-02-10,5010,M,1", "2026-02-03,5010,M,2"), **dict.fromkeys(YEAR))
    assert "no year is stated" in told and "--year" in told
    whole = read(tmp_path, ("2025-02-10,5010,M,1", "2026-01-31,5010,M,2"), **dict.fromkeys(YEAR))
    assert whole.days == 365 and whole.called == "2025/26"


def test_the_log_period_stands_in(tmp_path):
    table = {"file": "ledger.csv", "accounts": ACCOUNTS}
    period = (dt.date(2025, 1, 1), dt.date(2025, 12, 31))
    spec = read_ledger_spec(table, tmp_path, "[ledger]", period)
    assert spec.year == period and "[log]" in spec.year_said


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("2025-08..2026-07", (2025, 8, 1), (2026, 7, 31)),
        ("2025..2025", (2025, 1, 1), (2025, 12, 31)),
        ("2024-02-15 .. 2024-02", (2024, 2, 15), (2024, 2, 29)),
    ],
)
def test_a_year_in_words(text, first, last):
    assert read_year(text) == (dt.date(*first), dt.date(*last))


@pytest.mark.parametrize(
    "text", ["2025", "2025-13..2026-01", "2026..2025", "", "..", "a..b", "2025..2026..2027"]
)
def test_bad_years_are_refused(text):
    with pytest.raises(BadInput, match="--year"):
        read_year(text)


# --- how it is written


def test_credits_in_brackets_or_with_a_minus_after(tmp_path):
    rows = (
        '2025-01-10,5010,M,"(1,250.50)"',
        "2025-02-10,5010,M,20.00-",
        "2025-11-30,5010,M,3000",
        "2025-12-30,5010,M,9",
    )
    assert [row.amount for row in read(tmp_path, rows).rows] == [-1250.5, -20, 3000, 9]


def test_charges_written_as_negative_amounts(tmp_path):
    rows = ("2025-01-10,5010,M,-100", "2025-11-30,5010,M,30", "2025-12-30,5010,M,-9")
    (told,) = faults(tmp_path, rows)
    assert "most of the 3 rows counted" in told and 'charges = "negative"' in told
    assert [row.amount for row in read(tmp_path, rows, charges="negative").rows] == [100, -30, 9]


def test_decimal_comma_and_semicolons(tmp_path):
    header = "Datum;Konto;Lieferant;Betrag"
    columns = {"date": "Datum", "account": "Konto", "supplier": "Lieferant", "amount": "Betrag"}
    rows = ("31.01.2025;5010;M;1.250,50", "01.12.2025;5010;M;9,00")
    ledger = read(tmp_path, rows, header, columns=columns, decimal="comma", date_order="day-first")
    assert [(row.day.isoformat(), row.amount) for row in ledger.rows] == [
        ("2025-01-31", 1250.5),
        ("2025-12-01", 9),
    ]


def test_a_workbook_reads_as_the_text_does(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "2025"
    rows = (
        HEADER.split(","),
        [dt.datetime(2025, 1, 10), 5010, "Plate merchant", 100],
        [dt.datetime(2025, 11, 20), 5010, "Plate merchant", -20.0],
        [dt.datetime(2025, 12, 1), 5020, "Haulier", 50],
    )
    for row in rows:
        book.active.append(row)
    book.save(tmp_path / "ledger.xlsx")
    from_book = read_ledger(spec_of(tmp_path, file="ledger.xlsx", sheet="2025"))
    assert from_book.rows == read(tmp_path).rows


def test_hostile_texts_become_one_printable_line(tmp_path):
    rows = (
        ROWS[0],
        '2025-11-30,"=cmd|\' /C calc\'!A0","evil\x1b[2J\n\x07name",1',
        "2025-12-01," + "9" * 600 + ",@SUM(1),2",
    )
    ledger = read(tmp_path, rows)
    texts = [text for row in ledger.rows for text in (row.account, row.supplier)]
    assert all(text.isprintable() and len(text) <= 250 for text in texts)
    assert {row.kind for row in ledger.rows[1:]} == {UNMAPPED} and ledger.rows[1].account.startswith("=cmd")


# --- what is refused


def test_bad_rows_are_told_first_five_and_count(tmp_path):
    rows = (*ROWS, *(f"2025-13-0{n + 1},5010,M,1" for n in range(7)), "2025-03-03,5010,M,", "2025-03-04,5010,M,1O0",
            "2025-03-05,5010,M,1,extra")  # fmt: skip
    told = faults(tmp_path, rows)
    assert len(told) == 4
    assert "ledger.csv, rows 5, 6, 7, 8, 9 and 2 more: 7 rows" in "\n".join(told)
    assert any("row 12" in t and "is empty" in t for t in told) and any('"1O0"' in t for t in told)
    assert any("row 14" in t and "more cells" in t for t in told)
    ledger = read(tmp_path, rows, bad_rows="skip")
    assert (ledger.rows_read, ledger.rows_skipped, len(ledger.rows)) == (13, 10, 3)
    assert len(ledger.skipped) == 4 and "10 of 13 rows" in " ".join(ledger.notes)


def test_a_ledger_of_which_nothing_is_mapped_lists_its_accounts(tmp_path):
    (told,) = faults(tmp_path, accounts={}, patterns={})
    assert '"5010" = "..."' in told and '"5020" = "..."' in told and "2 accounts" in told


def test_faults_of_files_columns_and_dates(tmp_path):
    assert "no column" in faults(tmp_path, header="date,account,supplier,sum")[0]
    assert "can be read" in faults(tmp_path, ("01/02/2025,5010,M,1",))[0]
    assert "no row from 2025-01-01" in faults(tmp_path, ("2023-02-01,5010,M,1",))[0]
    assert "no usable row" in faults(tmp_path, ("2025-02-01,5010,M,x",), bad_rows="skip")[-1]
    assert "no file" in "".join(spec_missing(tmp_path))
    with pytest.raises(BadInput, match="no ledger is named"):
        read_ledger(spec_of(tmp_path, file=None))


def spec_missing(folder):
    with pytest.raises(BadInput) as fault:
        read_ledger(spec_of(folder, file="absent.csv"))
    return [str(p) for p in fault.value.problems]


@pytest.mark.parametrize(
    ("stated", "words"),
    [
        ({"acounts": {}}, 'did you mean "accounts"'),
        ({"file": "../ledger.csv"}, "leaves the scenario's folder"),
        ({"file": "ledger.txt"}, "neither .csv nor .xlsx"),
        ({"file": 7}, "file is not named"),
        ({"sheet": 7}, "name of a sheet"),
        ({"date_order": "backwards"}, "is not a choice"),
        ({"charges": "odd"}, "is not a choice"),
        ({"to": None}, "only from is stated"),
        ({"from": "2025"}, "is not a date"),
        ({"tolerance": "10"}, "no share from 0 to 100 %"),
        ({"tolerance": "250 %"}, "no share from 0 to 100 %"),
        ({"tolerance": True}, "no share from 0 to 100 %"),
        ({"accounts": {"5010": "consumable"}}, 'did you mean "consumables"'),
        ({"accounts": {"5010": "consumables.chemisty"}}, 'did you mean "chemistry"'),
        ({"accounts": {"5010": "labour"}}, "wages are no invoices"),
        ({"accounts": {"5010": "press"}}, "press time is no invoice"),
        ({"accounts": {"5010": 3}}, "must be a text"),
        ({"accounts": "5010"}, "must be a table"),
        ({"patterns": {"  ": "waste"}}, "stands for every row"),
        ({"columns": {"date": "Day"}}, "amount is not mapped"),
        ({"columns": {"date": "Day", "amount": "Sum"}}, "neither account nor supplier"),
        ({"columns": {"date": "Day", "amount": "day", "account": "A"}}, "already mapped"),
        ({"columns": {"date": "", "amount": "Sum", "account": "A"}}, "must be a header"),
    ],
)
def test_faults_of_the_table(tmp_path, stated, words):
    assert words in "\n".join(spec_faults(tmp_path, **stated))


def test_faults_are_told_all_at_once(tmp_path):
    assert len(spec_faults(tmp_path, charges="x", tolerance="x", accounts={"1": "x", "2": "y"})) == 4


def test_tolerance_is_a_share(tmp_path):
    for value, share in (("5 %", 0.05), (0.2, 0.2), (None, 0.1), ("0 percent", 0)):
        assert spec_of(tmp_path, tolerance=value).tolerance == pytest.approx(share)


def test_a_scenario_reads_the_ledger_it_names(tmp_path):
    ledger = '\n[ledger]\nfile = "ledger.csv"\nfrom = 2025-01-01\nto = 2025-12-31\n[ledger.accounts]\n5010 = "consumables"\n'
    (tmp_path / "shop.toml").write_text(SHOP + ledger, "utf-8")
    (tmp_path / "ledger.csv").write_text("\n".join([HEADER, *ROWS]), "utf-8")
    scenario = read_scenario(tmp_path / "shop.toml")
    assert scenario.books is not None and len(scenario.books.of(UNMAPPED)) == 1
    (tmp_path / "ledger.csv").write_text(HEADER + "\nnever,5010,M,1\n", "utf-8")
    (tmp_path / "shop.toml").write_text(SHOP.replace("300 }", "-3 }") + ledger, "utf-8")
    with pytest.raises(BadInput) as fault:
        read_scenario(tmp_path / "shop.toml")
    told = "\n".join(str(p) for p in fault.value.problems)
    assert 'column "date" is not a' in told and "plates_per_month" in told
    (tmp_path / "shop.toml").write_text(SHOP, "utf-8")
    plain = read_scenario(tmp_path / "shop.toml")
    assert plain.ledger is None and plain.books is None


def test_the_readmes_example_is_read(tmp_path):
    blocks = (Path(__file__).parents[2] / "README.md").read_text("utf-8").split("```toml\n")[1:]
    (block,) = [b.split("```")[0] for b in blocks if b.startswith("[ledger]")]
    spec = read_ledger_spec(tomllib.loads(block)["ledger"], tmp_path, "[ledger]", None)
    assert spec.heads == ("equipment", "consumables.plates", "consumables.chemistry", "waste")
    assert set(spec.columns) == {"date", "account", "supplier", "text", "amount"} and spec.tolerance == 0.1


def test_a_large_ledger_is_sorted_whole(tmp_path):
    rows = [
        f"2025-{n % 12 + 1:02}-{n % 28 + 1:02},{5010 + n % 3},Supplier {n % 50},{n}.00" for n in range(6000)
    ]
    ledger = read(tmp_path, rows)
    assert sum(row.amount for row in ledger.rows) == sum(range(6000))
    assert (
        len(ledger.of(COUNTED)) == 2000 and len(ledger.of(UNMAPPED)) == 4000
    )  # of 5010, 5011, 5012 only 5010 is mapped
