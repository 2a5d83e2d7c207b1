"""Three readers: what each page says, that it follows a change, and what is kept out of a client's report."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.cell_range import CellRange
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.undoing import GOING_BACK, UNSTATED
from roi.answers.verdict import sentences, verdict
from roi.answers.worst_month import DEEPEST, Depth, deepest
from roi.engine.column import Column, Line
from roi.engine.evaluate import extend
from roi.engine.expression import Axis, Data
from roi.engine.operations import at
from roi.model.study import Study, build
from roi.scenario.badrows import without_cells
from roi.scenario.problems import BadInput, Problem
from roi.scenario.scenario import read
from roi.workbook.kept_out import KeptOut
from roi.workbook.read_back import read_workbook
from roi.workbook.read_template import load_template, read_template
from roi.workbook.template import OPTIONAL, Template
from roi.workbook.write import results_of, write_workbook
from tests.parity.recalculate import IronCalcBook, differences
from tests.small_shop import LEAN, SHOP
from tests.workbook.edited import cell_of
from tests.workbook.rules import broken_rules

# So long that the scope breaks within it.
CLIENT, JOB, FILE = (
    "Quillwort & Daughters and Sons and Further Relatives, Printers",
    "QX-4417",
    "quillwort_shop.toml",
)
LOGGED = (
    SHOP.partition("[summary]")[0].replace("Invented shop", CLIENT)
    + """
[shop]
work_days = { best = "250 day/year", by = "The press\\tforeman", date = 2026-03-01, status = "measured" }
[log]
file = "quillwort_jobs.csv"
date_order = "year-first"
bad_rows = "skip"
[log.columns]
job = "Job"
form = "Form"
date = "Date"
size = "Size"
plates = "Plates"
impressions = "Good"
"""
)
ROWS = "Job,Form,Date,Size,Plates,Good\n" + "".join(
    f"J{n},1,2025-{n % 12 + 1:02}-{n % 27 + 1:02},small,4,{500 + 10 * n}\n" for n in range(60)
) + f"{JOB},1,2025-05-05,small,4,900\n{JOB},1,2025-05-05,small,4,900\n{JOB} a,1,2025-05-06,tabloid,4,900\n"  # fmt: skip
UNDO = '\n[methods.direct.changeover]\nundo = "1500 USD"\nundo_month = "6 month"\n'


def shop(folder: Path, text: str, name: str = "shop.toml") -> Study:
    (folder / name).write_text(text, "utf-8")
    return build(read(folder / name))


def written(study: Study, template: Template, folder: Path) -> Path:
    path = folder / "out.xlsx"
    write_workbook(study, study.evaluate(), path, template)
    return path


@pytest.fixture(scope="module")
def undoing(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return shop(tmp_path_factory.mktemp("undoing"), SHOP + UNDO)


@pytest.fixture(scope="module")
def logged(tmp_path_factory: pytest.TempPathFactory) -> Study:
    folder = tmp_path_factory.mktemp("logged")
    (folder / "quillwort_jobs.csv").write_text(ROWS, "utf-8")
    return shop(folder, LOGGED, FILE)


@pytest.fixture(scope="module")
def report(logged: Study, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(logged, load_template("consultant"), tmp_path_factory.mktemp("report"))


def page_one(name: str) -> Template:
    """A shipped template without the sheets that can be left out."""
    template = load_template(name)
    return replace(template, sheets=tuple(sheet for sheet in template.sheets if sheet not in OPTIONAL))


def texts(sheet: Worksheet) -> list[str]:
    return [cell.value for row in sheet.iter_rows() for cell in row if isinstance(cell.value, str)]


# The owner: the worst month of cash, and whether the change can be undone


@pytest.mark.parametrize(
    "by_month, month, by_year, year, says",
    [
        (-40_300, 0, -40_300, 0, "At its deepest, at the switch, the change has cost USD 40,300 more than staying, before tax."),
        (-9_000, 3, -8_000, 1, "At its deepest, after month 3, the change has cost USD 9,000 more than staying, before tax."),
        (
            -9_000,
            3,
            -52_000,
            5,
            "At its deepest, after month 3, the change has cost USD 9,000 more than staying; in year 5, after tax, USD 52,000.",
        ),
        (0, 0, -700, 4, "At its deepest, in year 4, after tax, it has cost USD 700 more than staying."),
        (0, 0, 0, 0, "At no time does the change cost more cash than staying."),
        (-5_000.4, 0, -5_001.2, 2, "At its deepest, at the switch, the change has cost USD 5,000 more than staying, before tax."),
    ],
)  # fmt: skip
def test_the_worst_month_in_words(
    undoing: Study, by_month: float, month: int, by_year: float, year: int, says: str
) -> None:
    """Depths put in by hand; a year that is deeper by less than one unit of money is not told."""
    column = Column("Told", "told")
    one = Axis("as put in", ("here",))

    def put(label: str, unit: str, amount: float) -> Line:
        data = column.data(Data(f"told.{label}", f"{label}, as put in", unit, one, [amount]))
        return column.line(label, unit, at(data, 0))

    depth = Depth(
        put("by month", "currency", by_month),
        put("month", "1", month),
        put("by year", "currency", by_year),
        put("year", "1", year),
    )
    sentence = deepest(undoing, column, {"direct": depth})
    dear = {"methods.polyester.plates.price_per_area": 150.0}  # in USD a square metre
    assert sentence.say(extend(undoing.evaluate(dear), [column])) == says
    cheap = {"methods.polyester.plates.price_per_area": 1.0}
    assert sentence.say(extend(undoing.evaluate(cheap), [column])) == ""


def test_the_worst_month_and_going_back_follow_a_change(undoing: Study, tmp_path: Path) -> None:
    """IronCalc against the engine: polyester's price turns the answer, and both sentences come and go with it."""
    key = "methods.polyester.plates.price_per_area"
    template = replace(LEAN, sheets=("Summary", "Inputs", "Stresses"))
    path = written(undoing, template, tmp_path)
    factor = next(s.factor for s in undoing.scenario.inputs.values() if s.key == key)
    book = IronCalcBook(path)
    words = load_workbook(path)["Words"]
    row = {cell.value: cell.row for cell in words["A"]}
    rows = {cell.value: cell.row for cell in load_workbook(path)["Inputs"]["I"]}
    said: dict[float, tuple[str, ...]] = {}
    for price in (150.0, 1.0):
        book.set("Inputs", f"C{rows[key]}", price)
        book.set("Inputs", f"C{rows['methods.direct.changeover.undo_month']}", 6.0 if price > 100 else 9.0)
        book.evaluate()
        changes = {key: price * factor, "methods.direct.changeover.undo_month": 6.0 if price > 100 else 9.0}
        after = results_of(undoing, changes, template)
        assert differences(after, book.values()) == []
        said[price] = tuple(
            " ".join(str(after["Words"][f"C{row[name]}"]).split()) for name in (DEEPEST, GOING_BACK)
        )
    values = undoing.evaluate({key: 150.0 * factor})
    first = float(values[undoing.comparison.rows["first_cost"]][1, 0])
    undone = float(values[undoing.methods["direct"].lines["undoing"]].flat[0])
    assert said[150.0] == (
        f"At its deepest, at the switch, the change has cost USD {first:,.0f} more than staying, before tax.",
        f"Going back in month 6 would cost USD {undone:,.0f}, before tax.",
    )
    assert said[1.0] == ("", "")
    assert UNSTATED not in row  # the only challenger states it


def test_that_going_back_is_not_stated_is_said_in_the_proof_only(logged: Study, tmp_path: Path) -> None:
    labels = [sentence.label for sentence in verdict(logged)[1]]
    assert UNSTATED in labels and GOING_BACK not in labels
    assert not [text for text in sentences(logged, logged.evaluate()) if "changeover.undo" in text]
    sheet = load_workbook(written(logged, page_one("owner"), tmp_path), data_only=True)["Summary"]
    told = [cell.row for cell in sheet["A"] if "What going back would cost is not stated" in str(cell.value)]
    assert len(told) == 1 and told[0] > min(b.id for b in sheet.row_breaks.brk)


# The budget holder


def test_what_is_paid_at_first_adds_up(undoing: Study, tmp_path: Path) -> None:
    sheet = load_workbook(written(undoing, page_one("budget_holder"), tmp_path), data_only=True)["Summary"]
    row = next(cell.row for cell in sheet["A"] if str(cell.value).startswith("Paid at first"))
    parts: list[list[float]] = []
    while sheet.cell(row := row + 1, 1).value != "First cost":
        found = [sheet.cell(row, c).value for c in (2, 3)]
        parts.append([x if isinstance(x, (int, float)) else 0.0 for x in found])
    paid = [sum(column) for column in zip(*parts, strict=True)]
    assert paid == pytest.approx([sheet.cell(row, c).value for c in (2, 3)], abs=1e-6) and paid[1] > 0
    said = texts(sheet)
    assert any("roi budget SCENARIO" in text for text in said)
    assert any(undoing.scenario.tax.label in text for text in said)
    rate = next(
        cell.row for cell in sheet["A"] if "tax" in str(cell.value).lower() and "(default)" in str(cell.value)
    )
    assert sheet.cell(rate, 2).value == pytest.approx(0.25)  # roi/data/shop.toml


# The consultant


def test_the_report_has_its_parts(logged: Study, tmp_path: Path) -> None:
    path = written(logged, page_one("consultant"), tmp_path)
    assert broken_rules(path) == []
    book = load_workbook(path, data_only=True)
    assert book.sheetnames[0] == "Summary" and book.active.title == "Summary"
    sheet = book["Summary"]
    at = {str(cell.value): cell.row for cell in sheet["A"] if cell.value}
    first_page = min(b.id for b in sheet.row_breaks.brk)
    scope = next(text for text in at if text.startswith("Scope: "))
    assert scope.startswith(
        "Scope: Polyester (today) and Direct compared for the client, for the same work of a year: "
    )
    plates = float(logged.scenario.work.weight @ logged.scenario.work.plates)
    assert f"{plates:,.0f} plates called for" in scope
    for label in ("Prepared for", "Prepared by", "Date", "Version", scope):
        assert at[label] <= first_page
    assert sheet.cell(at["Prepared for"], 2).value == "The client"
    assert any("inputs in use are unconfirmed" in text for text in at)
    assert "– No check fails." in at and at["Open points (as delivered)"] < at["– No check fails."]
    assert sheet.cell(at["Prepared by"], 2).value.startswith("not stated: write prepared_by")
    sheet = book["Sign-off"]
    at = {str(cell.value): cell.row for cell in sheet["A"] if cell.value}
    assert "Inputs accepted as stated" in at
    for party in ("Client", "Consultant"):
        for what in ("name", "role", "date", "signature"):
            line = sheet.cell(at[f"{party}, {what}"], 2)
            assert line.value is None and line.border.bottom.style == "thin"


def test_the_sign_off_ends_what_is_printed_whole(report: Path) -> None:
    """In the order of the tabs all up to the sign-off prints whole, of each sheet behind it the first rows alone."""
    book = load_workbook(report)
    last = book.sheetnames.index("Sign-off")
    assert {"Summary", "Comparison", "Inputs", "Sources and cautions", "Checks"} <= set(
        book.sheetnames[:last]
    )
    behind = book.worksheets[last + 1 :]
    assert {"Changes", "Work", "Shop", "Polyester", "Polyester cases", "Forms"} <= {
        sheet.title for sheet in behind
    }
    assert not any(sheet.print_area for sheet in book.worksheets[: last + 1])
    for sheet in behind:
        area = CellRange(sheet.print_area.rpartition("!")[2].replace("$", ""))
        assert (area.min_row, area.max_row) == (1, 40) and area.max_col >= sheet.max_column
    said = " ".join(texts(book["Summary"]))
    assert "from Summary to Sign-off" in said and "print their first page only" in said


def test_one_who_prepares_a_report_stands_on_its_title_page(logged: Study, tmp_path: Path) -> None:
    template = replace(page_one("consultant"), prepared_by="An invented consultant")
    sheet = load_workbook(written(logged, template, tmp_path), data_only=True)["Summary"]
    row = next(cell.row for cell in sheet["A"] if cell.value == "Prepared by")
    assert sheet.cell(row, 2).value == "An invented consultant"
    assert "Sign-off" in load_workbook(tmp_path / "out.xlsx").sheetnames


def test_counts_of_inputs_are_those_of_the_sheets(report: Path) -> None:
    """The line on About against what the sheets hold and say: they count different things."""
    book = load_workbook(report, data_only=True)
    about = next(row[1].value for row in book["About"].iter_rows() if row[0].value == "Counts")
    counted = r"(\d+) (?:inputs|of them|are unconfirmed|have a range that|could be|have a range and)"
    told = [int(number) for number in re.findall(counted, about)]
    status = [
        row[5].value for row in book["Inputs"].iter_rows(min_row=5) if isinstance(row[2].value, (int, float))
    ]
    switching, risk, summary = (" ".join(texts(book[name])) for name in ("Switching", "Risk", "Summary"))
    open_points = re.search(r"(\d+) of (\d+) inputs in use are unconfirmed", summary)
    moving = re.search(r"The (\d+) inputs? that moved.* (\d+) others", " ".join(texts(book["Sensitivity"])))
    assert moving is not None and open_points is not None
    assert told == [
        len(status),
        status.count("default"),
        int(open_points[1]),
        int(moving[1]) + int(moving[2]),
        int(re.search(r"Of (\d+) inputs", switching)[1]),
        int(re.search(r"Drawn are (\d+) inputs", risk)[1]),
    ]


def test_each_section_of_inputs_stands_once(report: Path) -> None:
    sheet = load_workbook(report)["Inputs"]
    heads = [row[0].value for row in sheet.iter_rows(min_row=5) if row[2].value is None and row[0].value]
    assert len(heads) > 6 and len(heads) == len(set(heads))
    assert all(head[0].isupper() for head in heads)


def test_the_chart_of_cost_so_far_ends_with_the_years_looked_ahead(undoing: Study, tmp_path: Path) -> None:
    """Years 0 to 7, of the eleven that are written: after them a line would lie flat."""
    sheet = load_workbook(written(undoing, page_one("owner"), tmp_path))["Summary"]
    (chart,) = [c for c in sheet._charts if c.tagname == "lineChart"]
    for series in chart.ser:
        first, last = CellRange(series.val.numRef.f.rpartition("!")[2].replace("$", "")).bounds[::2]
        assert last - first + 1 == 7 + 1


def test_no_name_is_in_any_part_of_the_report(logged: Study, report: Path) -> None:
    """Not the shop's, not its files', no job's; yet the workbook can still be read back."""
    assert found_in(report, "quillwort", "daughters", "further relatives", JOB, "QX-44") == []
    again = read_workbook(report)
    assert again.name == "The client" and set(again.inputs) == set(logged.scenario.inputs)
    assert again.work.rows_skipped == logged.scenario.work.rows_skipped == 2


def test_job_numbers_are_shown_only_when_asked(logged: Study, tmp_path: Path) -> None:
    usual, asked = replace(LEAN, names=None), replace(LEAN, names=True)
    path = written(logged, usual, tmp_path)
    assert found_in(path, JOB) == [] and found_in(path, CLIENT.replace("&", "&amp;")) != []
    shown = load_workbook(path)["Sources and cautions"]
    assert any("repeats a job and form number" in text for text in texts(shown))
    assert found_in(written(logged, asked, tmp_path), JOB) != []


def found_in(path: Path, *words: str) -> Iterator[str] | list[str]:
    """Parts of a package that hold one of the words, whatever the letters' case."""
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name).decode("utf-8", "replace").lower() for name in package.namelist()}
    return [f"{name}: {word}" for name, text in parts.items() for word in words if word.lower() in text]


def test_what_is_kept_out_is_found_however_written(logged: Study) -> None:
    template = Template(names=False, prepared_for="An invented client", keep_out=("Orla Penn",))
    kept = KeptOut([logged.scenario], template)
    for text, shown in (
        (f"invoice to {CLIENT.upper()}, by ORLA PENN", "invoice to An invented client, by (left out)"),
        (f"{CLIENT}: how?", "An invented client: how?"),
        (f"{FILE}, shop.hours", "A file of the scenario, shop.hours"),
        ("Orla Pennant", "Orla Pennant"),
        ("shop.work_days", "shop.work_days"),
    ):
        assert kept.without(text) == shown
    body = f'=IF(\'{CLIENT}\'!A1=1,"of {CLIENT}"," ")'
    assert kept.from_formula(body) == f'=IF(\'{CLIENT}\'!A1=1,"of An invented client"," ")'
    assert KeptOut([logged.scenario], Template(names=True)).without(CLIENT) == CLIENT


def test_a_shop_called_by_an_everyday_word_leaves_the_words_alone(logged: Study) -> None:
    kept = KeptOut([replace(logged.scenario, name="Shop")], Template(names=False))
    assert kept.without("the shop of Shop") == "the shop of the client"
    assert kept.without("shop.work_days") == "shop.work_days"


def test_a_problem_without_its_cells() -> None:
    told = Problem(
        "a.csv, row 3", '1 row: column "Job" is odd: "QX-1", "QX-2"', 'list it ("QX-1" is nearest to x)'
    )
    assert without_cells(told) == Problem("a.csv, row 3", '1 row: column "Job" is odd', "list it")


def test_what_is_wrong_about_names_is_told(tmp_path: Path) -> None:
    (tmp_path / "t.toml").write_text(
        'schema = 1\n[workbook]\nnames = "no"\nkeep_out = ["x", "Orla"]\n', "utf-8"
    )
    with pytest.raises(BadInput) as refused:
        read_template(tmp_path / "t.toml")
    assert [p.where for p in refused.value.problems] == [
        "t.toml, line 3, workbook.names",
        "t.toml, line 4, workbook.keep_out",
    ]


# Who stated a number


def test_who_stated_a_number_stands_on_inputs_and_is_read_back(logged: Study, tmp_path: Path) -> None:
    stated = logged.scenario.inputs["shop", "work_days"]
    assert (stated.by, stated.date) == ("The press foreman", "2026-03-01")
    path = written(logged, LEAN, tmp_path)
    book: Workbook = load_workbook(path)
    sheet = book["Inputs"]
    assert sheet["J4"].value == "Stated by"
    row = next(cell.row for cell in sheet["I"] if cell.value == "shop.work_days")
    assert [sheet.cell(row, 10).value, sheet.cell(row + 1, 10).value] == ["The press foreman", "not stated"]
    assert read_workbook(path).inputs["shop", "work_days"].by == "The press foreman"
    sheet.cell(row, 10).value = "The owner"
    book.save(path)
    again = read_workbook(path)
    assert again.inputs["shop", "work_days"].by == "The owner"
    assert {s.by for k, s in again.inputs.items() if k != ("shop", "work_days")} == {""}


def test_who_stated_it_is_a_text(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"shop\.work_days\.by: 7 is not a name"):
        shop(tmp_path, SHOP + '\n[shop]\nwork_days = { best = "250 day/year", by = 7 }\n')


# A summary's years and paybacks


def test_only_years_looked_ahead_stand_there_and_a_payback_beyond_them_says_so(tmp_path: Path) -> None:
    """Seven years are looked ahead; looked nine ahead, all years add up rows that stand on Cash flow alone."""
    study = shop(tmp_path, SHOP)
    path = written(
        study, Template(sheets=("Summary", "Inputs"), blocks=("cash by year", "measures")), tmp_path
    )
    after = study.cash_flow.flows["direct"]["after"]
    at_label = {row[0].value: row[0].row for row in load_workbook(path)["Summary"].iter_rows()}
    years = [label for label in at_label if str(label).startswith("Year ")]
    assert years == [f"Year {i}" for i in range(8)]
    for horizon in (7.0, 9.0):
        book = IronCalcBook(path)
        book.set(*cell_of(path, "money.horizon"), horizon)
        book.evaluate()
        values = study.evaluate({"money.horizon": horizon})
        whole = book.value("Summary", f"C{at_label['All years']}")
        assert whole == pytest.approx(float(values[after].sum()), rel=1e-9)
        row = at_label["Simple payback, years"]
        assert [book.value("Summary", f"{c}{row}") for c in "BC"] == ["none", f"not in {horizon:.0f}"]
