"""A job log read as a whole: small files written here, their forms, period and faults worked out by hand."""

import datetime as dt

import numpy as np
import openpyxl
import pytest

from roi.scenario.joblog import WorkLog, read_log
from roi.scenario.problems import BadInput

UNITS = {"two_colour": 2, "one_colour": 1}
SIZES = ("large", "letter")
COLUMNS = {
    "job": "Job",
    "form": "Form",
    "date": "Day",
    "press": "Press",
    "size": "Plate",
    "plates": "Plates",
    "impressions": "Good",
}
HEADER = "Job,Form,Day,Press,Plate,Plates,Good"
ROWS = (
    "101,1,2025-01-10,two_colour,large,4,1000",
    "101,2,2025-01-10,two_colour,large,1,1000",
    '102,1,2025-02-20,one colour,LETTER,1,"2,500"',
)


def read(folder, rows=ROWS, header=HEADER, columns=COLUMNS, **more):
    (folder / "log.csv").write_text("\n".join([header, *rows]) + "\n")
    return read_log({"file": "log.csv", "columns": columns, **more}, folder, UNITS, SIZES)


def faults(folder, *args, **more):
    with pytest.raises(BadInput) as fault:
        read(folder, *args, **more)
    return [str(p) for p in fault.value.problems]


def test_a_small_log_by_hand(tmp_path):
    log = read(tmp_path)

    assert isinstance(log, WorkLog)
    assert log.job.tolist() == ["101", "101", "102"]
    assert log.day.tolist() == [dt.date(2025, 1, 10), dt.date(2025, 1, 10), dt.date(2025, 2, 20)]
    assert [log.presses[p] for p in log.press] == ["two_colour", "two_colour", "one_colour"]
    assert [log.sizes[s] for s in log.size] == ["large", "large", "letter"]
    assert log.plates.tolist() == [4, 1, 1] and log.plates.dtype == np.int64
    assert log.good.tolist() == [1000, 1000, 2500]
    assert log.weight.tolist() == [1, 1, 1]
    assert not log.uncoated.any() and not log.tight.any() and not log.rush.any()
    assert log.ruling_unknown == 3
    assert (log.rows_read, log.rows_skipped, log.skipped) == (3, 0, ())
    assert log.date_kind == "plating"


def test_the_period_is_first_to_last_date_both_counted(tmp_path):
    """By hand: 10 January to 20 February are 22 + 20 = 42 days; 365.25 / 42 = 8.696428571..."""
    log = read(tmp_path)
    assert log.days == 42
    assert log.per_year == pytest.approx(8.696428571428571)
    assert any("covers 42 days" in note for note in log.notes)


def test_a_stated_period_counts_instead(tmp_path):
    log = read(tmp_path, **{"from": dt.date(2025, 1, 1), "to": dt.date(2025, 12, 31)})
    assert log.days == 365
    assert not any("covers" in note for note in log.notes)


def test_month_shares_of_a_whole_year_are_the_plates_shares(tmp_path):
    """By hand: 5 plates in January, 1 in February, none later."""
    log = read(tmp_path, **{"from": dt.date(2025, 1, 1), "to": dt.date(2025, 12, 31)})
    np.testing.assert_allclose(log.month_share, [5 / 6, 1 / 6, *[0] * 10], atol=1e-12)


def test_months_not_covered_take_the_mean_of_the_others(tmp_path):
    """By hand: January 5, February 1, ten more months of 3 each: 36 in all."""
    log = read(tmp_path, **{"from": dt.date(2025, 1, 1), "to": dt.date(2025, 2, 28)})
    np.testing.assert_allclose(log.month_share, [5 / 36, 1 / 36, *[3 / 36] * 10])


def test_a_month_held_in_part_counts_for_its_days_or_not_at_all(tmp_path):
    """By hand: 12 of January's 31 days are under half: it takes the mean of February 2 and March 4, that is
    3: 36 in all. 16 of 31 days are over half: 1 plate there is 31 / 16 a whole month.
    """
    rows = [
        f"{n},1,2025-{month}-20,two_colour,large,{plates},10"
        for n, (month, plates) in enumerate([("01", 1), ("02", 2), ("03", 4)])
    ]
    little = read(tmp_path, rows, **{"from": dt.date(2025, 1, 20), "to": dt.date(2025, 3, 31)})
    np.testing.assert_allclose(little.month_share, [3 / 36, 2 / 36, 4 / 36, *[3 / 36] * 9])

    more = read(tmp_path, rows, **{"from": dt.date(2025, 1, 16), "to": dt.date(2025, 3, 31)})
    assert more.month_share[0] / more.month_share[1] == pytest.approx((31 / 16) / 2)


def test_a_month_met_twice_counts_once(tmp_path):
    """By hand: 13 months of 1 plate each; January, met twice, has 2 plates in 2 months: all months alike."""
    months = [(2024, m) for m in range(1, 13)] + [(2025, 1)]
    rows = [f"{n},1,{year}-{month:02}-15,two_colour,large,1,10" for n, (year, month) in enumerate(months)]
    log = read(tmp_path, rows, **{"from": dt.date(2024, 1, 1), "to": dt.date(2025, 1, 31)})
    np.testing.assert_allclose(log.month_share, 1 / 12)


def test_quantity_colours_and_imposition_give_plates_and_impressions(tmp_path):
    """By hand: 101 is 5,000 4 up sheetwise 4/1: 1,250 sheets, forms of 4 and 1 plates. 102 is work-and-turn
    2/2: 1,000 2 up, 500 sheets, one form of 2 plates and 1,000 impressions. 103 has 10 pages 4 a side, one
    side printed: 3 forms of 300.
    """
    header = "Job,Day,Press,Plate,Qty,Up,Colours,Imp,Pages,Side"
    rows = (
        '101,2025-01-10,two_colour,large,"5,000",4,4/1,SW,,',
        "102,2025-01-10,two_colour,large,1000,2,2/2,work-and-turn,,",
        "103,2025-01-11,one_colour,letter,300,1,1/0,,10,4",
    )
    names = (
        "job",
        "date",
        "press",
        "size",
        "quantity",
        "number_up",
        "colours",
        "imposition",
        "pages",
        "pages_per_side",
    )
    columns = dict(zip(names, header.split(","), strict=True))

    log = read(tmp_path, rows, header, columns, words={"imposition": {"sheetwise": ["sw"]}})

    assert list(zip(log.job, log.plates.tolist(), log.good.tolist(), strict=True)) == [
        ("101", 4, 1250),
        ("101", 1, 1250),
        ("102", 2, 1000),
        ("103", 1, 300),
        ("103", 1, 300),
        ("103", 1, 300),
    ]

    bad = (
        "1,2025-01-10,two_colour,large,-5,0,CMYK,folded,10,",
        "2,2025-01-10,two_colour,large,5,1,4/4,one-side,9999,1",
    )
    told = " ".join(faults(tmp_path, bad, header, columns))
    for words in (
        "is below 0",
        "is below 1",
        "does not say colours",
        '"folded"',
        "pages a side is empty",
        "one side for a job with colours on both",
        "more than 1,000 printed sides",
    ):
        assert words in told


def test_flags_stock_and_ruling(tmp_path):
    columns = {**COLUMNS, "stock": "Stock", "ruling": "Screen", "tight": "Reg", "rush": "Rush"}
    rows = [
        f"{row},{more}"
        for row, more in zip(ROWS, ("bond,175,tight,y", "gloss,70/cm,,no", ",,,"), strict=True)
    ]
    words = {"stock": {"uncoated": ["Bond"], "coated": ["gloss"]}, "yes": {"tight": ["tight"]}}

    log = read(tmp_path, rows, f"{HEADER},Stock,Screen,Reg,Rush", columns, words=words)

    assert log.uncoated.tolist() == [True, False, False]
    assert log.ruling.tolist() == pytest.approx([175, 177.8, 0])
    assert log.tight.tolist() == [True, False, False] and log.rush.tolist() == [True, False, False]
    assert log.ruling_unknown == 1
    assert any("stock of 1 of 3 forms is unknown" in note for note in log.notes)


def test_jobs_of_a_gang_share_one_form(tmp_path):
    """By hand: 201 and 202 run together: the form needs the 4 plates of one and the longer run of the other;
    rush because one of them is; a reprint only if both are. 203 stands alone.
    """
    columns = {**COLUMNS, "gang": "Gang", "rush": "Rush", "reprint": "Again"}
    header = f"{HEADER},Gang,Rush,Again"
    rows = (
        "201,1,2025-01-10,two_colour,large,2,1000,G1,,x",
        "203,1,2025-01-10,two_colour,large,1,10,,,x",
        "202,1,2025-01-10,two_colour,large,4,1500,G1,x,",
    )
    log = read(tmp_path, rows, header, columns)
    assert log.job.tolist() == ["201", "203"]
    assert log.good.tolist() == [1500, 10] and log.plates.tolist() == [4, 1]
    assert log.rush.tolist() == [True, False] and log.reprint.tolist() == [False, True]

    told = faults(tmp_path, (*rows, "204,1,2025-01-10,one_colour,letter,4,1500,G1,,"), header, columns)
    assert len(told) == 1 and "row 5" in told[0] and "differ in press or plate size" in told[0]


def test_a_cancelled_job_is_work(tmp_path):
    log = read(tmp_path, [*ROWS, "103,1,2025-02-20,one_colour,letter,2,0"])
    assert log.good[-1] == 0 and log.plates[-1] == 2
    assert any("cancelled" in note for note in log.notes)


BAD = (
    "1,1,13/45/2025,two_colour,large,1,100",
    "2,1,01/31/2025,2 colour,large,1,100",
    "3,1,01/31/2025,two_colour,,1,100",
    "4,1,01/31/2025,two_colour,large,1.5,100",
    "5,1,01/31/2025,two_colour,large,17,100",
    "6,1,01/31/2025,two_colour,large,1,1O0",
    "7,1,01/31/2025,two_colour,large,1,-5",
    "8,1,01/31/2025,two_colour,large,1,200000000",
    "9,1,01/31/2025,two_colour,large,1,9",
    "9,1,01/31/2025,two_colour,large,1,9",
    "10,1,01/31/2026,two_colour,large,1,9",
    "11,1,01/31/2025,two_colour,large,1,9,9",
)
KINDS = (
    ("row 2", "not a month-first date"),
    ("row 3", "not listed"),
    ("row 4", "is empty"),
    ("row 5", "not a whole number"),
    ("row 6", "above 16"),
    ("row 7", "not a number"),
    ("row 8", "below 0"),
    ("row 9", "above 100,000,000"),
    ("row 11", "repeats"),
    ("row 12", "outside 2025-01-01 to 2025-12-31"),
    ("row 13", "more cells than the header"),
)
YEAR = {"from": dt.date(2025, 1, 1), "to": dt.date(2025, 12, 31)}


def test_bad_rows_are_refused_together_each_kind_once(tmp_path):
    told = faults(tmp_path, BAD, **YEAR)
    assert len(told) == len(KINDS)
    for row, words in KINDS:
        assert any(f"{row}:" in text and words in text for text in told), (row, words)
    assert any(
        "list the word under [log] words.press" in t and '"2 colour" is nearest to two_colour' in t
        for t in told
    )


def test_bad_rows_are_left_out_and_counted_on_request(tmp_path):
    log = read(tmp_path, BAD, bad_rows="skip", **YEAR)
    assert log.job.tolist() == ["9"]
    assert (log.rows_read, log.rows_skipped, len(log.skipped)) == (12, 11, len(KINDS))
    assert any("11 of 12 rows (91.7%)" in note for note in log.notes)


def test_a_row_entered_again_after_a_mistyped_one_is_kept_when_skipping(tmp_path):
    rows = ("1,1,2025-01-10,two_colour,large,1,1O0", "1,1,2025-01-10,two_colour,large,1,100")
    assert read(tmp_path, rows, bad_rows="skip").good.tolist() == [100]


def test_a_log_without_a_usable_row_is_refused_even_when_skipping(tmp_path):
    assert any("no usable row is left" in t for t in faults(tmp_path, BAD[:1], bad_rows="skip"))


@pytest.mark.parametrize("bad_rows", ["refuse", "skip"])
def test_ambiguous_dates_are_asked_about_never_guessed(tmp_path, bad_rows):
    rows = ("1,1,01/02/2025,two_colour,large,1,100", "2,1,03/04/2025,two_colour,large,1,100")
    told = faults(tmp_path, rows, bad_rows=bad_rows)
    assert told[0].startswith("[log] date_order: ") and 'date_order = "day-first"' in told[0]
    log = read(tmp_path, rows, bad_rows=bad_rows, date_order="day-first")
    assert log.day[0] == np.datetime64("2025-02-01")
    assert "dates read as day-first (stated)" in log.notes


def test_a_decimal_comma_is_read_when_stated(tmp_path):
    log = read(
        tmp_path,
        ("1;1;10.01.2025;two_colour;large;2;1.234,5",),
        HEADER.replace(",", ";"),
        decimal="comma",
        date_order="day-first",
    )
    assert log.good.tolist() == [1234.5]


def test_text_that_looks_like_a_formula_lands_as_text(tmp_path):
    job = '=HYPERLINK("http://example.invalid")'
    log = read(tmp_path, (f'"{job.replace(chr(34), chr(34) * 2)}",1,2025-01-10,two_colour,large,2,100',))
    assert log.job.tolist() == [job]


def test_an_xlsx_log_reads_like_the_csv(tmp_path):
    made = openpyxl.Workbook()
    made.active.append(HEADER.split(","))
    made.active.append([101, 1, dt.datetime(2025, 1, 10), "two_colour", "large", 4, 1000])
    made.active.append([101, 2, dt.date(2025, 1, 10), "two_colour", "large", 1, 1000])
    made.active.append(["102", "1", "2025-02-20", "one_colour", "letter", "1", "2,500"])
    made.save(tmp_path / "log.xlsx")

    log = read_log({"file": "log.xlsx", "columns": COLUMNS}, tmp_path, UNITS, SIZES)

    same = read(tmp_path)
    for name in ("job", "day", "press", "size", "plates", "good"):
        np.testing.assert_array_equal(getattr(log, name), getattr(same, name))


def test_invoice_dates_are_smelt(tmp_path):
    """30 and 31 January, 27 and 28 February 2025 are Thursday and Friday, the last working days."""
    days = [
        dt.date(2025, 1, 30),
        dt.date(2025, 1, 31),
        dt.date(2025, 2, 27),
        dt.date(2025, 2, 28),
        dt.date(2025, 3, 12),
    ]
    assert [d.weekday() for d in days[:4]] == [3, 4, 3, 4]
    log = read(tmp_path, [f"{n},1,{day},two_colour,large,1,10" for n, day in enumerate(days)])
    assert any("80% of the plates" in note and "invoice dates" in note for note in log.notes)

    one_day = read(tmp_path, [f"{n},1,2025-{n:02}-15,two_colour,large,1,10" for n in range(1, 8)])
    assert any("100% of the plates fall on day 15" in note for note in one_day.notes)

    spread = read(
        tmp_path, [f"{n},1,{dt.date(2025, 1, 1) + dt.timedelta(n)},two_colour,large,1,10" for n in range(120)]
    )
    assert not any("invoice" in note for note in spread.notes)


def test_a_mistyped_year_is_pointed_at(tmp_path):
    log = read(tmp_path, [*ROWS, "103,1,2052-02-20,one_colour,letter,1,10"])
    assert any("2025-01-10 to 2052-02-20" in note for note in log.notes)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"file": "../log.csv"}, "leaves the scenario's folder"),
        ({"file": "/tmp/log.csv"}, "leaves the scenario's folder"),
        ({"file": "C:\\log.csv"}, "leaves the scenario's folder"),
        ({"file": "C:log.csv"}, "leaves the scenario's folder"),
        ({"file": "..\\log.csv"}, "leaves the scenario's folder"),
        ({"file": "log.xls"}, "neither .csv nor .xlsx"),
        ({"file": 3}, "is not named"),
        ({"sheet": 1}, "name of a sheet"),
        ({"date_order": "mdy"}, '"mdy" is not a choice'),
        ({"date_is": "pres"}, 'did you mean "press"'),
        ({"decimal": "dot"}, '"dot" is not a choice'),
        ({"bad_rows": "ignore"}, '"ignore" is not a choice'),
        ({"from": dt.date(2025, 1, 1)}, "only from is stated"),
        ({"from": "2025-01-01", "to": dt.date(2025, 1, 2)}, "from: is not a date"),
        ({"from": dt.date(2025, 1, 2), "to": dt.date(2025, 1, 1)}, "is before from"),
        ({"date_ordr": "day-first"}, 'did you mean "date_order"'),
        ({"columns": {**COLUMNS, "plate": "Plates"}}, 'did you mean "plates"'),
        ({"columns": {**COLUMNS, "stock": "Job"}}, '"Job" is already mapped to job'),
        ({"columns": {**COLUMNS, "stock": ""}}, "must be a header"),
        ({"columns": {**COLUMNS, "quantity": "Qty"}}, "plates and quantity are both mapped"),
        ({"columns": {"job": "Job"}}, "plates is not mapped"),
        ({"columns": {k: v for k, v in COLUMNS.items() if k != "press"}}, "press is not mapped"),
        ({"columns": {k: v for k, v in COLUMNS.items() if k != "job"}}, "form is mapped but job is not"),
        ({"columns": "Job"}, "columns: must be a table"),
        ({"words": {"pres": {}}}, 'did you mean "press"'),
        ({"words": {"press": {"two_color": ["2C"]}}}, 'did you mean "two_colour"'),
        ({"words": {"yes": {"uv": "UV"}}}, "must be a list of texts"),
        ({"words": {"yes": {"uv": ["?"]}, "no": {"uv": ["?"]}}}, "also stands under yes"),
        ({"columns": {**COLUMNS, "stock": "Stck"}}, 'no column "Stck"'),
    ],
)
def test_faults_of_the_table_are_told_with_the_mend(tmp_path, more, words):
    assert any(words in text for text in faults(tmp_path, **more)), faults(tmp_path, **more)


def test_all_faults_of_the_table_come_at_once(tmp_path):
    assert len(faults(tmp_path, file="../x", decimal="dot", date_is="x", columns={"jb": "Job"})) >= 6


def test_a_link_out_of_the_folder_is_refused(tmp_path):
    outside, folder = tmp_path / "outside.csv", tmp_path / "shop"
    outside.write_text("\n".join([HEADER, *ROWS]))
    folder.mkdir()
    (folder / "log.csv").symlink_to(outside)
    with pytest.raises(BadInput, match="outside the scenario's folder"):
        read_log({"file": "log.csv", "columns": COLUMNS}, folder, UNITS, SIZES)


def test_one_press_and_one_size_need_no_column(tmp_path):
    (tmp_path / "log.csv").write_text("Day,Plates,Good\n2025-01-10,2,100\n")
    columns = {"date": "Day", "plates": "Plates", "impressions": "Good"}
    log = read_log({"file": "log.csv", "columns": columns}, tmp_path, {"only": 1}, ["large"])
    assert (log.job.tolist(), log.press.tolist(), log.size.tolist()) == ([""], [0], [0])
    with pytest.raises(BadInput, match="states no plate size"):
        read_log({"file": "log.csv", "columns": columns}, tmp_path, {"only": 1}, [])


def test_labels_are_words_too(tmp_path):
    (tmp_path / "log.csv").write_text("\n".join([HEADER, "1,1,2025-01-10,Small press,13 x 19,1,10"]))
    log = read_log(
        {"file": "log.csv", "columns": COLUMNS},
        tmp_path,
        UNITS,
        SIZES,
        press_labels={"one_colour": "small press"},
        size_labels={"large": "13 x 19"},
    )
    assert (log.press.tolist(), log.size.tolist()) == ([1], [0])
