"""Table files: the cells that the csv module and openpyxl wrote, and a clear word where a file is none."""

import csv
import datetime as dt
import os
import zipfile

import numpy as np
import openpyxl
import pytest

from roi.scenario import package, tables
from roi.scenario.problems import BadInput
from roi.scenario.tables import as_text, read_table

WANTED = {"job": "Job", "plates": "Plates"}


def read(path, wanted=WANTED, sheet=None):
    return read_table(path, wanted, sheet=sheet, where="[log]")


def rows_of(table, name):
    column = table.columns[name]
    return [column.cells[code] for code in column.codes]


def told(path, **more):
    with pytest.raises(BadInput) as fault:
        read(path, **more)
    return str(fault.value)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_csv_cells_come_back_as_the_csv_module_wrote_them(tmp_path, delimiter):
    path = tmp_path / "log.csv"
    jobs = ["a,b", "a;b", 'say "x"', "two\nlines", "=1+1", "+44", "@home", "-"]
    with path.open("w", newline="") as file:
        csv.writer(file, delimiter=delimiter).writerows(
            [["Job", "Plates, of one set", "Plates"], *([j, "-", "2"] for j in jobs)]
        )

    table = read(path)

    assert rows_of(table, "job") == jobs
    assert rows_of(table, "plates") == ["2"] * len(jobs)
    assert not table.too_long.any()


def test_rows_are_numbered_as_in_the_file_and_blank_ones_skipped(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("\nJob,Plates\n1,2\n\n , \n,,\n2\n3,1,\n4,1,x\n")
    table = read(path)
    assert table.rows.tolist() == [3, 7, 8, 9]
    assert rows_of(table, "plates") == ["2", "", "1", "1"]
    assert table.too_long.tolist() == [False, False, False, True]


def test_many_rows_in_several_chunks_keep_their_order(tmp_path):
    n = 2 * tables.ROWS_AT_ONCE + 7
    path = tmp_path / "log.csv"
    path.write_text("Job,Plates\n" + "".join(f"{k},{k % 5}\n" for k in range(n)))
    assert rows_of(read(path), "job") == [str(k) for k in range(n)]
    np.testing.assert_array_equal([int(c) for c in rows_of(read(path), "plates")], np.arange(n) % 5)


def test_headers_are_found_whatever_their_case_and_spacing(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(" JOB ,plates\n7,1\n")
    assert rows_of(read(path), "job") == ["7"]


def test_text_of_two_encodings(tmp_path):
    path = tmp_path / "log.csv"
    path.write_bytes("\ufeffJob,Plates\né,1\n".encode())
    assert rows_of(read(path), "job") == ["é"] and read(path).notes == ()
    path.write_bytes("Job,Plates\né,1\n".encode("cp1252"))
    assert rows_of(read(path), "job") == ["é"]
    assert "Windows-1252" in read(path).notes[0]


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "is empty"),
        (b"\n\n", "is empty"),
        (b"Job,Plates\n", "no rows"),
        (b"Job,Plates\n\x81\x8d\xff,1\n", "line 2: has bytes that are no text"),
        (
            "Job,Plates\n1,1\n".encode("utf-16"),
            'is text in UTF-16, also called "Unicode text"\n  mend: save it as "CSV UTF-8"',
        ),
        (b'Job,Plates\n"1,1\n2,2\n', "quotation mark"),
        (b"Job,Plats\n1,1\n", 'no column "Plates"\n  mend: did you mean "Plats"?'),
        (b"Job,Plates,Job\n1,1,1\n", 'header "Job" stands there 2 times'),
    ],
)
def test_files_that_are_no_table_are_refused(tmp_path, raw, words):
    path = tmp_path / "log.csv"
    path.write_bytes(raw)
    assert words in told(path)


@pytest.mark.parametrize(
    ("raw", "plates"),
    [
        (b"sep=;\r\nJob;Plates\r\n1;2,5\r\n", "2,5"),
        (b"\xef\xbb\xbfSEP=,\nJob,Plates\n1,2\n", "2"),
        (b'"sep=\t"\nJob\tPlates, all; each\n1\t2\n', None),
    ],
)
def test_a_first_line_may_state_the_separator(tmp_path, raw, plates):
    path = tmp_path / "log.csv"
    path.write_bytes(raw)
    wanted = {"job": "Job", "plates": "Plates" if plates else "Plates, all; each"}
    table = tables.read_table(path, wanted, sheet=None, where="[log]")
    assert rows_of(table, "job") == ["1"] and rows_of(table, "plates") == [plates or "2"]
    assert table.rows.tolist() == [3]


def test_a_missing_file_is_named(tmp_path):
    assert "no file gone.csv" in told(tmp_path / "gone.csv")


def test_a_huge_file_is_refused_unread(tmp_path):
    path = tmp_path / "log.csv"
    path.touch()
    os.truncate(path, tables.LARGEST_FILE + 1)
    assert "larger than 200 MB" in told(path)


def book(path, sheets):
    made = openpyxl.Workbook()
    made.remove(made.active)
    for title, rows in sheets.items():
        page = made.create_sheet(title)
        for row in rows:
            page.append(row)
    made.save(path)
    return path


def test_an_empty_first_sheet_asks_which_is_meant(tmp_path):
    path = book(tmp_path / "log.xlsx", {"Cover": [], "Old": [["Job", "Plates"], ["b", 1]], "Jobs": []})
    said = told(path)
    assert 'log.xlsx has nothing on its first sheet, "Cover"' in said
    assert 'state sheet, one of "Old", "Jobs"' in said
    assert "is empty" in told(book(tmp_path / "one.xlsx", {"Cover": []}))


def test_xlsx_keeps_real_numbers_and_dates_and_never_evaluates_text(tmp_path):
    path = tmp_path / "log.xlsx"
    made = openpyxl.Workbook()
    page = made.active
    page.append(["Job", "Plates", "Day"])
    page.append([1001, 2.5, dt.datetime(2025, 3, 4, 14, 30)])
    page.append([None, None, None])
    page.append(["x", True, dt.date(2025, 3, 5)])
    page["A4"].value, page["A4"].data_type = "=1+1", "s"
    made.save(path)

    table = read(path, {**WANTED, "date": "Day"})

    assert [as_text(c) for c in rows_of(table, "job")] == ["1001", "=1+1"]
    assert rows_of(table, "plates") == [2.5, "true"]
    assert rows_of(table, "date") == [dt.date(2025, 3, 4), dt.date(2025, 3, 5)]
    assert table.rows.tolist() == [2, 4]


def test_the_sheet_is_the_one_named_else_the_first(tmp_path):
    path = book(
        tmp_path / "log.xlsx", {"Jobs": [["Job", "Plates"], ["a", 1]], "Old": [["Job", "Plates"], ["b", 1]]}
    )
    assert rows_of(read(path), "job") == ["a"]
    assert rows_of(read(path, sheet="Old"), "job") == ["b"]
    assert 'no sheet "Job"\n  mend: did you mean "Jobs"?' in told(path, sheet="Job")


def test_an_xlsx_that_states_too_small_an_extent_is_read_whole(tmp_path):
    """Some exporters write the extent of the sheet wrongly; the cells are what counts."""
    good = book(tmp_path / "good.xlsx", {"Jobs": [["Job", "Plates"], ["a", 1], ["b", 2]]})
    path = tmp_path / "log.xlsx"
    with zipfile.ZipFile(good) as source, zipfile.ZipFile(path, "w") as target:
        for name in source.namelist():
            part = source.read(name)
            if name.endswith("sheet1.xml"):
                assert b'<dimension ref="A1:B3"' in part
                part = part.replace(b"A1:B3", b"A1:A1")
            target.writestr(name, part)
    assert rows_of(read(path), "job") == ["a", "b"]


def test_an_xlsx_that_is_none_is_refused(tmp_path):
    path = tmp_path / "log.xlsx"
    path.write_text("Job,Plates\n1,1\n")
    assert "not a readable .xlsx workbook" in told(path)
    with zipfile.ZipFile(path, "w") as parts:
        parts.writestr("hello.txt", "no workbook")
    assert "not a readable .xlsx workbook" in told(path)


def test_an_xlsx_that_unpacks_to_too_much_is_refused(tmp_path, monkeypatch):
    path = book(tmp_path / "log.xlsx", {"Jobs": [["Job", "Plates"], ["a", 1]]})
    monkeypatch.setattr(package, "LARGEST_UNPACKED", 1000)
    assert "unpacks to more than" in told(path)
