"""Job logs pasted as people paste them: over the headings or below them, more columns or fewer, in any order, or told by cell.

The sheets are those of a workbook as written; what is pasted is put into their rows, as `test_input_workbook` does in the file.
"""

import datetime as dt

import pytest
from openpyxl import Workbook

from roi.scenario.starter import checked, write
from roi.workbook.input_sheets import LOG, LOG_COLUMNS, write_log, write_log_columns
from roi.workbook.made import now
from roi.workbook.read_cells import Page
from roi.workbook.read_pasted_log import PastedLog
from roi.workbook.read_words import in_cells
from roi.workbook.styles import add_styles

# (job, day, size, plates, impressions, stock): 5 forms, whose plates are told by the tests.
ROWS = [
    ("J1", dt.date(2026, 1, 5), "Small", 1, 900, "coated"), ("J1", dt.date(2026, 1, 5), "Small", 2, 1100, "uncoated"),
    ("J2", dt.date(2026, 4, 1), "Small", 4, 5000, "coated"), ("J3", dt.date(2026, 9, 30), "Large", 1, 20000, "coated"),
    ("J4", dt.date(2026, 12, 30), "Large", 2, 2500, "uncoated"),
]  # fmt: skip
OURS = ("Job", "Date", "Plate size", "Plates", "Impressions", "Stock")
THEIRS = ("Ticket", "Day", "Format", "Films", "Sheets", "Paper")
MAPPED = dict(zip(("job", "date", "size", "plates", "impressions", "stock"), THEIRS, strict=True))


WIDE, HIGH = 30, 40  # columns and rows of a sheet: more than any paste here


@pytest.fixture(scope="module")
def scenario():
    plates = "10 in x 15 in: 220; 13 in x 19 3/8 in: 180"
    return checked(write({"plates": plates, "runs": "48 40 9 3 0"}, today=now().date()))


@pytest.fixture(scope="module")
def sheets(scenario):
    book = Workbook()
    add_styles(book)
    written = (write_log(book, scenario), write_log_columns(book, scenario))
    return [list(page.iter_rows(1, page.max_row, values_only=True)) for page in written]


@pytest.fixture
def pasted(scenario, sheets):
    """Paste headings (or none) and rows on Job log from a row and a column on: (work, problems by cell)."""

    def paste(heads, rows, row=4, column=1, mapping=None, said=None):
        log = [[*cells, *[None] * (WIDE - len(cells))] for cells in (*sheets[0], *[()] * HIGH)]
        for down, values in enumerate([*([heads] if heads else []), *rows]):
            log[row + down - 1][column - 1 : column - 1 + len(values)] = values
        mapped = {f"log.columns.{name}": head for name, head in (mapping or {}).items()}
        mapped |= {f"log.{key}": value for key, value in (said or {}).items()}
        columns = [
            (cells[0], mapped.get(cells[-1], cells[1]), *cells[2:]) if cells[-1] in mapped else cells
            for cells in sheets[1]
        ]
        pages = (
            Page("log.xlsx", LOG, [tuple(cells) for cells in log]),
            Page("log.xlsx", LOG_COLUMNS, columns),
        )
        problems = []
        work = PastedLog(*pages, scenario.presses, scenario.sizes, {}).read(problems)
        told = [in_cells(problem) for problem in problems]
        return work, {p.where.removeprefix("log.xlsx, "): f"{p.what}; {p.mend}" for p in told}

    return paste


def only(columns):
    return [tuple(row[c] for c in columns) for row in ROWS]


@pytest.mark.parametrize(
    ("heads", "rows", "more"),
    [
        (tuple(OURS[c] for c in (1, 4, 3, 2)), only((1, 4, 3, 2)), {}),  # over ours: fewer, in another order
        (OURS, ROWS, {"row": 6}),  # the same headings once more, below
        (OURS, ROWS, {"row": 1}),  # a whole sheet pasted from its first cell on
        (OURS, ROWS, {"column": 3}),
        (THEIRS, ROWS, {"mapping": MAPPED}),
        (THEIRS, ROWS, {"row": 5, "mapping": MAPPED}),
        ((*THEIRS, "Client", "Operator"), [(*row, "x", "y") for row in ROWS], {"mapping": MAPPED}),
        (None, [(j, d, None, s, p, g, None, stock) for j, d, s, p, g, stock in ROWS], {"row": 6}),
    ],
)  # fmt: skip
def test_it_is_read_wherever_it_stands(pasted, heads, rows, more):
    work, problems = pasted(heads, rows, **more)
    assert problems == {}
    assert work.plates.tolist() == [1, 2, 4, 1, 2] and work.good.tolist() == [900, 1100, 5000, 20000, 2500]
    assert [work.sizes[s] for s in work.size] == ["small"] * 3 + ["large"] * 2
    assert work.days == 360  # 5 January to 30 December 2026, both counted
    read_of = "columns of the job log that nothing is read from: Client, Operator"
    assert (read_of in work.notes) == ("Client" in (heads or ()))


@pytest.mark.parametrize(
    ("heads", "rows", "more", "where", "words"),
    [
        (THEIRS, ROWS, {}, "Job log!A4", "not those that Log columns names: Ticket, Day, Format"),
        (THEIRS, ROWS, {"row": 6}, "Job log!A6", "looks like headings of your own, below those that were there: Ticket"),
        (None, ROWS, {"row": 4}, "Job log!A4", "no heading that Log columns names stands above the rows"),
        (OURS[:4], only(range(4)), {}, "Log columns!B11", 'Job log has no column "Impressions"; known: Job, Date, Plate size'),
        (("Job", "Date", "Date", *OURS[2:5]), [(r[0], r[1], *r[1:5]) for r in ROWS], {}, "Job log!C4", "stands there 2 times"),
        (OURS, [*ROWS[:3], ("J9", dt.date(2026, 5, 5), "Small", "two", 9, "coated")], {}, "Job log!D8", "is not a number"),
        (OURS, [(r[0], "05/06/2026", *r[2:]) for r in ROWS], {}, "Log columns!B30", 'as "Order of day and month"'),
        (OURS, [*ROWS, *(("J9", d, "Middle", 1, 9, "") for _, d, *_ in ROWS[:2])], {}, "Job log!C10 (rows 10, 11)", "not listed"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_told_once_by_cell(pasted, heads, rows, more, where, words):
    work, problems = pasted(heads, rows, **more)
    (told,) = problems.items()
    assert work is None
    assert told[0] == where and words in told[1]
    assert "write " not in told[1].split(";")[1] or "digits only" in told[1]


def test_words_of_yes_and_no_are_listed_by_flag(pasted):
    heads, rows = (
        (*OURS, "Tight register"),
        [(*row, "tight" if n == 2 else "loose") for n, row in enumerate(ROWS)],
    )
    work, problems = pasted(heads, rows)
    (told,) = problems.values()
    assert work is None and "Key log.words.yes.tight or words.no.tight" in told and ".xlsx" not in told
    work, problems = pasted(heads, rows, said={"words.yes.tight": "tight", "words.no.tight": "loose, none"})
    assert problems == {} and work.tight.tolist() == [False, False, True, False, False]


def test_rows_left_out_are_told_in_words_of_a_spreadsheet(pasted):
    rows = [
        *ROWS,
        ("J8", dt.date(2026, 5, 5), "Middle", 1, 9, ""),
        ("J9", dt.date(2026, 5, 5), "Small", 1, "1,5", ""),
    ]
    work, problems = pasted(OURS, rows, said={"bad_rows": "skip"})
    size, number = sorted(work.skipped, key=lambda p: p.where)
    assert problems == {} and work.rows_skipped == 2
    assert size.where == "log.xlsx, Job log!C10" and "a further size goes on Plate sizes" in size.mend
    assert number.where == "log.xlsx, Job log!E11" and number.mend.endswith('choose comma as "Decimal mark"')


def test_a_column_that_is_missing_is_not_taken_for_one_that_is_named(pasted):
    """Printed and Plates look alike to no date: what Log columns names already is not offered."""
    heads = ("Printed", *OURS[2:5])
    _, problems = pasted(heads, only((1, 2, 3, 4)))
    (told,) = problems.values()
    assert 'no column "Date"' in told and told.endswith("known: Printed")
