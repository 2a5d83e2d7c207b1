"""The input workbook: all that can be stated of a shop, to be filled in with any spreadsheet program and read as a scenario.

It reckons nothing but what its own checks need: whether shares add up, and how many numbers have been put in. Its sheets are
those of `input_sheets`, the Scenario sheet of a decision workbook, and the front ones here.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from openpyxl import Workbook
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

import roi
from roi.scenario.scenario import Scenario
from roi.scenario.shares import TOLERANCE
from roi.workbook.cells import Results, put_formula, put_label, put_number, put_text, speak
from roi.workbook.front import write_about_rows
from roi.workbook.house import OWN
from roi.workbook.input_choices import CHOICES, lay_out_choices, write_choices
from roi.workbook.input_ledger import BOOKS, write_books
from roi.workbook.input_own import OWN_COSTS, PRESSES, SIZES, write_own, write_presses, write_sizes
from roi.workbook.input_rows import Asked, gather
from roi.workbook.input_sheets import (
    LOG,
    LOG_COLUMNS,
    PER_CENT,
    PLATES,
    plates_rows,
    write_inputs,
    write_log,
    write_log_columns,
    write_plates,
)
from roi.workbook.kept import INPUTS, SCENARIO, write_scenario
from roi.workbook.placing import HEAD
from roi.workbook.say_the_rest import names_of, say_the_rest
from roi.workbook.styles import add_styles, set_up_page
from roi.workbook.tongue import Tongue

_PURPOSES = {
    "About": "this page: purpose, limits, colours, sheets",
    "Summary": "what to fill in, in which order, and how far you are",
    PLATES: "a month's plates, where there is no job log",
    LOG: "room to paste your job log",
    LOG_COLUMNS: "what your job log calls its columns, presses and sizes",
    INPUTS: "every number that may be stated, with its default",
    PRESSES: "the presses, and room for more of them",
    SIZES: "room for more plate sizes",
    OWN_COSTS: "room for costs that Inputs doesn't list",
    BOOKS: "what the accounts of your ledger stand for, and account codes for a budget",
    SCENARIO: "names, sizes and methods, for the program to read",
    CHOICES: "what the lists in other sheets offer",
    "Checks": "whether shares add up",
}
_STEPS = (
    f"1. Plates a month: on {PLATES}; or paste your job log on {LOG}, and say on {LOG_COLUMNS} what it calls things.",
    "2. The ten questions: on Inputs, the rows at the top. What you leave empty stays at the default beside it.",
    "3. Anything else you know better than its default: on Inputs, further down.",
    f"4. More presses: on {PRESSES}. More plate sizes: on {SIZES}. Costs of your own: on {OWN_COSTS}. "
    "Names and sizes: the boxed cells on Scenario.",
    f"5. Only for roi reconcile and roi budget: {BOOKS}, and on Inputs the rows for a budget.",
    "6. Save this workbook and give it to the program: roi check shop.xlsx, then roi compare shop.xlsx -o decision.xlsx.",
)


def compose_input(
    answers: Mapping[str, str], made: datetime, tongue: Tongue | None = None
) -> tuple[Workbook, Results]:
    """The input workbook for these answers (good ones, see `starter.unclear`) and the result of each of its formulas.

    tongue : the language of its labels; None is English
    """
    asked = gather(answers)
    book, results = Workbook(), Results()
    add_styles(book, OWN)
    speak(book, tongue, names_of(asked.bare))
    about = book.active
    about.title = "About"
    summary = book.create_sheet("Summary")
    write_plates(book, asked)
    write_log(book, asked.bare)
    write_log_columns(book, asked.bare)
    write_inputs(book, asked)
    write_presses(book, asked.bare)
    write_sizes(book, asked.bare)
    choices = lay_out_choices(asked.bare)
    write_own(book, asked.bare.currency, choices)
    write_books(book, choices)
    editable = _editable(asked.bare)
    _guard(write_scenario(book, asked.bare, (), editable))
    write_choices(book, choices)
    _write_checks(book.create_sheet("Checks"), asked, results)
    _write_summary(summary, asked, results)
    _write_about(about, asked.bare, made)
    paper = OWN.paper_code(asked.bare.currency, asked.bare.system)
    for sheet in book.worksheets:
        sheet.page_setup.paperSize = paper
        sheet.sheet_view.tabSelected = sheet is summary
    book.active = book.index(summary)
    book.calculation.fullCalcOnLoad = True
    book.properties.title = f"{asked.bare.name}: to fill in"
    book.properties.creator = f"roi {roi.__version__}"
    book.properties.description = (
        "What a shop states, to be read as a scenario: every number with its default."
    )
    say_the_rest(book, book.worksheets)
    return book, results


def _editable(scenario: Scenario) -> set[str]:
    """What may be changed on Scenario: names, labels and sizes; presses have a sheet of their own."""
    sizes = {f"sizes.{size.id}.{name}" for size in scenario.sizes for name in ("label", "format")}
    return {"name", "note", *sizes}


def _guard(sheet: Worksheet) -> None:
    """Cells of Scenario to fill in reject what can't be."""
    text = DataValidation(
        type="textLength", operator="between", formula1="1", formula2="250", allow_blank=False, showErrorMessage=True,
        showInputMessage=True, errorTitle="Not possible", error="A text of 1 to 250 characters.", promptTitle="Name or size",
        prompt='A name, or a size like "13 in x 19 3/8 in" or "400 mm x 510 mm".',
    )  # fmt: skip
    sheet.add_data_validation(text)
    for row in range(HEAD + 1, sheet.max_row + 1):
        cell = sheet.cell(row, 4)
        if cell.style == "Input":
            text.add(cell)


def _write_checks(sheet: Worksheet, asked: Asked, results: Results) -> None:
    """Sums of shares against 100 %, and whether all is well."""
    put_text(sheet, 1, 1, "Checks", "Headline")
    put_text(
        sheet,
        2,
        1,
        "1 passes. The program checks far more: roi check says what is wrong, by sheet and cell.",
        "Note",
    )
    for column, (head, width) in enumerate((("Check", 64), ("Unit", 12), ("Value", 14), ("Note", 60)), 1):
        put_text(sheet, HEAD, column, head, "Head")
        sheet.column_dimensions["ABCD"[column - 1]].width = width
    keys = [row[3] for row in plates_rows(asked.bare)]
    runs = _span(keys, "summary.runs.")
    months = _span(keys, "summary.month_share.")
    total = sum(asked.runs.values())
    put_label(sheet, 5, "Shares may miss 100 % by this much, by rounding", 64)
    put_text(sheet, 5, 2, "%", "Label")
    put_number(sheet, 5, 3, TOLERANCE, "Data", PER_CENT)
    rows: list[tuple[str, str, str, float, str, str]] = [
        ("Shares of forms by run, added up", "%", f"=SUM('{PLATES}'!C{runs[0]}:C{runs[1]})", total, PER_CENT,
         "0 % while none is stated"),
        ("Shares of months, added up", "%", f"=SUM('{PLATES}'!C{months[0]}:C{months[1]})", 0.0, PER_CENT,
         "0 % while none is stated: all months alike"),
        ("Shares of forms by run add up to 100 %, or none is stated", "1", "=IF(C6=0,1,IF(ABS(C6-1)<=C5,1,0))", 1, "0", ""),
        ("Shares of months add up to 100 %, or none is stated", "1", "=IF(C7=0,1,IF(ABS(C7-1)<=C5,1,0))", 1, "0", ""),
        ("Overall: all checks pass", "1", "=MIN(C8:C9)", 1, "0", "shown on the Summary"),
    ]  # fmt: skip
    for row, (label, unit, formula, result, shown, note) in enumerate(rows, 6):
        put_label(sheet, row, label, 64)
        put_text(sheet, row, 2, unit, "Label")
        put_formula(sheet, row, 3, formula, result, shown, results)
        put_text(sheet, row, 4, note, "Label")
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    set_up_page(sheet, head_rows=HEAD)


def _span(keys: list[str], prefix: str) -> tuple[int, int]:
    """Rows of Plates a month around those of a section: from its heading to the next one, which hold something for sure."""
    mine = [place for place, key in enumerate(keys) if key.startswith(prefix)]
    return HEAD + mine[0], HEAD + 2 + mine[-1]


def _write_summary(sheet: Worksheet, asked: Asked, results: Results) -> None:
    scenario = asked.bare
    put_text(sheet, 1, 1, f"{scenario.name}: what to fill in", "Headline")
    row = 3
    for step in _STEPS:
        put_text(sheet, row, 1, step, "Said")
        row += 1
    row += 1
    put_text(sheet, row, 1, "How far you are", "Strong")
    inputs = [one for one in asked.rows if not isinstance(one, str)]
    # Counted when written: programs don't agree on counting among cells that are empty and wear a style.
    for label, number in (
        ("Numbers on Inputs", len(inputs)),
        ("Of them filled in when this workbook was made", sum(one.answer is not None for one in inputs)),
    ):
        row += 1
        put_text(sheet, row, 1, label, "Label")
        put_number(sheet, row, 3, number, "Data", "0")
    lines: list[tuple[str, str, float | str, str]] = [
        ("Shares of forms by run, added up", "=Checks!C6", sum(asked.runs.values()), PER_CENT),
        ("Checks", '=IF(Checks!C10=1,"all pass","look at Checks")', "all pass", "@"),
    ]
    for label, formula, result, shown in lines:
        row += 1
        put_text(sheet, row, 1, label, "Label")
        put_formula(sheet, row, 3, formula, result, shown, results, "Right" if shown == "@" else "Figure")
    row += 2
    put_text(sheet, row, 1, "Methods compared", "Strong")
    for method in scenario.methods:
        row += 1
        today = ", how plates are made today" if method.id == scenario.current else ""
        put_text(sheet, row, 1, f"{method.label}{today}", "Said")
    row += 2
    said = "A default is a magnitude of the trade, not your shop: the answer says which of them decide it."
    put_text(sheet, row, 1, said, "Note")
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 64, 4
    sheet.column_dimensions["C"].width = 18
    set_up_page(sheet, landscape=False)


def _write_about(sheet: Worksheet, scenario: Scenario, made: datetime) -> None:
    put_text(sheet, 1, 1, "About this workbook", "Headline")
    rows = [
        (
            "Purpose",
            "Holds what a shop states about its plates, so that the program can compare ways of making them.",
        ),
        ("Made by", f"roi version {roi.__version__}"),
        ("Date", made.date().isoformat()),
        ("Currency", f"{scenario.currency}; prices without recoverable tax on sales."),
        (
            "Reads",
            "The program reads boxed cells, by the keys beside them: don't change keys, units or the names of sheets.",
        ),
        (
            "Limits",
            "Methods, their items and the currency are fixed here: roi new makes another workbook, a scenario file states "
            "anything. The answer is in the workbook that roi compare writes.",
        ),
    ]
    write_about_rows(sheet, rows, dict(_PURPOSES))


__all__ = ["compose_input"]
