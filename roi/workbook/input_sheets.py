"""The sheets of an input workbook that are filled in: Inputs, Plates a month, Job log, Log columns.

Cells to fill in wear the input style and reject what can't be; what is there already is data. `read_filled_in` reads them
back, by the headings and keys written here. Shares stand as fractions, shown in per cent.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from roi.model.tables import MONTHS
from roi.scenario.catalogue import STATUSES
from roi.scenario.dates import ORDERS
from roi.scenario.logspec import DERIVED_FORM, PAGES
from roi.scenario.scenario import Scenario
from roi.scenario.stated import SURE
from roi.scenario.summary import RUN_WORDS, RUNS, SINGLE_WORDS
from roi.scenario.worklog import DATE_KINDS, FLAGS
from roi.workbook.cells import fit_row, put_kept, put_label, put_number, put_text, spoken
from roi.workbook.input_cells import END, Guards, new_sheet, rule, section, wrapped
from roi.workbook.input_own import MOST_PRESSES, PRESSES, SIZES, further_sizes
from roi.workbook.input_rows import Asked, InputRow
from roi.workbook.inputs import limit_rule, put_under
from roi.workbook.kept import HOW_SURE, INPUTS, NO_UNIT
from roi.workbook.placing import HEAD
from roi.workbook.styles import number_format
from roi.workbook.tongue import Spoken

PLATES, LOG, LOG_COLUMNS = "Plates a month", "Job log", "Log columns"
HEADS = (
    "Input", "Unit", "Default", "Value", "Low", "High", HOW_SURE, "Status", "Source", "Date", "Valid until", "Stated by",
    "How to find it out", "Default low", "Default high", "Default from", "Key",
)  # fmt: skip
_WIDTHS = (46, 15, 11, 11, 10, 10, 10, 11, 26, 12, 12, 18, 46, 12, 12, 34, 44)
PLATES_HEADS = ("What", "Unit", "Value", "What it means", "Key")
LOG_HEADS = ("What", "In your log", "Needed", "What it says", "Example", "Key")
LOG_ROW = HEAD  # where the headings of the job log stand
EXAMPLE = "EXAMPLE"
PER_CENT = "0.0%"
# The columns Job log comes with, and others a log may have: name, heading, what it says, an example.
COLUMNS = (
    ("job", "Job", "the job's number; forms of one job share it", EXAMPLE),
    ("date", "Date", "when the form was plated or printed", "2026-03-31"),
    ("press", "Press", "which press, by its name; empty where there is only one", ""),
    ("size", "Plate size", "which plate size, by its name; empty where there is only one", ""),
    ("plates", "Plates", "plates of one set, as many as the form has colours", "4"),
    ("impressions", "Impressions", "good impressions of each plate", "2500"),
    ("ruling", "Ruling", "screen ruling in lines an inch, where known", "133"),
    ("stock", "Stock", "coated or uncoated", "uncoated"),
    ("tight", "Tight register", "yes for four-colour work in tight register", "no"),
    ("uv", "UV ink", "yes or no", "no"),
    ("envelope", "Envelope", "yes or no", "no"),
    ("abrasive", "Abrasive", "yes for abrasive or metallic ink or stock", "no"),
    ("confined", "Stays in house", "yes where the form must not leave the building", "no"),
    ("reprint", "Reprint", "yes for a reprint of an earlier job", "no"),
    ("rush", "Rush", "yes or no", "no"),
    ("form", "", "the form's number within its job", ""),
    ("gang", "", "the number of the form that several jobs share", ""),
    ("quantity", "", "pieces ordered; with number up, colours and imposition in place of Plates and Impressions", ""),
    ("number_up", "", "pieces on a sheet", ""),
    ("colours", "", 'colours of front and back, such as "4/1"', ""),
    ("imposition", "", "sheetwise, work-and-turn and the like", ""),
    ("pages", "", "pages of a booklet", ""),
    ("pages_per_side", "", "pages on one side of the sheet", ""),
)  # fmt: skip
_AN_EXAMPLE = 8  # columns of a row told as one
NEEDED = ("date", "plates", "impressions")
_INSTEAD = (*DERIVED_FORM, *PAGES)


@dataclass(frozen=True)
class Setting:
    """Something said about the log as a whole."""

    key: str
    label: str
    says: str
    value: str
    choices: tuple[str, ...] = ()


SETTINGS = (
    Setting("date_order", "Order of day and month", "where dates are text; empty: found out, or asked for", "", ORDERS),
    Setting("date_is", "What the date says", "which day it is", "plating", DATE_KINDS),
    Setting("decimal", "Decimal mark", "of numbers that are text", "point", ("point", "comma")),
    Setting("bad_rows", "Rows that can't be used", "refuse tells them all; skip leaves them out and counts them", "refuse",
            ("refuse", "skip")),
    Setting("from", "First day", "of the time the log covers; empty: its first date", ""),
    Setting("to", "Last day", "of the time the log covers; empty: its last date", ""),
)  # fmt: skip


def plates_rows(scenario: Scenario) -> list[tuple[str, str, str, str, str]]:
    """The rows of Plates a month: (label, unit, what it means, key, name in [summary]); sections have no key."""
    rows = [("Plates a month by size", "", "", "", "")]
    for size in scenario.sizes:
        rows.append((size.label, "plate/month", "plates called for: colours times forms, without remakes",
                     f"summary.plates_per_month.{size.id}", ""))  # fmt: skip
    for key, label in further_sizes(scenario).items():
        rows.append((label, "plate/month", f"where {SIZES} names one", f"summary.plates_per_month.{key}", ""))
    rows.append(("Shares of forms by run; together 100 %", "", "", "", ""))
    for run in RUNS:
        rows.append((f"Runs {RUN_WORDS[run]}", "%", "of all forms, those that give so many good impressions",
                     f"summary.runs.{run}", ""))  # fmt: skip
    rows.append(("Shares of forms by kind; empty: none", "", "", "", ""))
    for name, label in SINGLE_WORDS.items():
        rows.append((label[:1].upper() + label[1:], "%", "of all forms", f"summary.{name}", ""))
    rows.append(("Shares of a year's plates by month, together 100 %; empty: all alike", "", "", "", ""))
    for number, month in enumerate(MONTHS, 1):
        rows.append((month, "%", "of a year's plates", f"summary.month_share.{number}", ""))
    rows.append(("Which press prints a size; empty: the first press", "", "", "", ""))
    for size in scenario.sizes:
        rows.append((size.label, "", "where Presses names several", f"summary.press.{size.id}", ""))
    for key, label in further_sizes(scenario).items():
        rows.append((label, "", "where Presses names several", f"summary.press.{key}", ""))
    rows.append((END, "", "", "", ""))
    return rows


def write_inputs(book: Workbook, asked: Asked) -> Worksheet:
    """Write Inputs: Value empty means that the default beside it counts."""
    sheet = new_sheet(book, INPUTS, "Inputs", HEADS, _WIDTHS, (
        "Put your own number under Value; where it is empty, the default beside it counts, and is called one.",
        "Say how far it may be off by Low and High, or by How sure: sure (5 %), about (15 %), guess (40 %).",
    ))  # fmt: skip
    guards = Guards(sheet)
    limits: dict[tuple[float | None, float | None, bool, str], DataValidation] = {}
    column = {head: i + 1 for i, head in enumerate(HEADS)}
    for row, one in enumerate(asked.rows, HEAD + 1):
        if isinstance(one, str):
            section(sheet, row, one, len(HEADS))
            continue
        shown = _shown(one, asked.bare.currency)
        put_label(sheet, row, one.stated.label, _WIDTHS[0])
        put_kept(sheet, row, 2, one.stated.shown or NO_UNIT, "Label")
        if one.default is not None:
            for head, number in (
                ("Default", one.default.best), ("Default low", one.default.low), ("Default high", one.default.high),
            ):  # fmt: skip
                put_number(sheet, row, column[head], number, "Data", shown)
            wrapped(sheet, row, column["Default from"], Spoken(one.default.source), "Data", _WIDTHS[15])
        else:
            put_text(sheet, row, column["Default"], "none", "Data")
        answer = one.answer
        for head in ("Value", "Low", "High"):
            if head == "Value" and answer is not None:
                cell = put_number(sheet, row, column[head], answer.best, "Input", shown)
            else:
                cell = put_text(sheet, row, column[head], "", "Input")
                cell.number_format = shown
            put_under(limit_rule(sheet, limits, one.stated, blank=True), cell)
        guards.choice(
            row,
            column[HOW_SURE],
            "",
            tuple(SURE),
            "How sure",
            "Instead of Low and High: how far it may be off.",
        )
        known = answer.status if answer else ""
        guards.choice(row, column["Status"], known, STATUSES, "Status", "How the number is known.")
        source = answer.source if answer else ""
        said = "Where the number comes from: invoice, quote, meter, stopwatch."
        guards.text(row, column["Source"], source, "Source", said)
        fit_row(sheet, row, source, _WIDTHS[8])
        day, until = (answer.date, answer.valid_until) if answer else ("", "")
        guards.date(row, column["Date"], day, "Date", "Of the invoice or quote, like 2026-03-31.")
        guards.date(row, column["Valid until"], until, "Valid until", "The last day on which a quote holds.")
        guards.text(row, column["Stated by"], answer.by if answer else "", "Stated by", "Who says so.")
        wrapped(sheet, row, column["How to find it out"], one.help, "Label", _WIDTHS[12])
        put_text(sheet, row, column["Key"], one.stated.key, "Label")
    section(sheet, HEAD + 1 + len(asked.rows), END, len(HEADS))
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    # On paper what is to be filled in, as large as that allows.
    sheet.print_area = f"A1:{get_column_letter(column['How to find it out'])}{HEAD + 1 + len(asked.rows)}"
    return sheet


def write_plates(book: Workbook, asked: Asked) -> Worksheet:
    """Write Plates a month, for a shop without a job log."""
    sheet = new_sheet(book, PLATES, PLATES, PLATES_HEADS, (62, 14, 14, 66, 34), (
        "Without a job log: what a month's plates are. Not read once Job log holds rows.",
        "Type shares with their sign, like 48 %. What is left empty is not stated.",
    ))  # fmt: skip
    guards = Guards(sheet)
    share = rule(
        "decimal", "0", "1", "Share", "A share of all, 0 % to 100 %: type it with its sign, like 48 %."
    )
    plates = rule("decimal", "0", "1000000", "Plates a month", "Plates a month of this size: 0 or more.")
    for guard in (share, plates):
        sheet.add_data_validation(guard)
    known = {f"summary.plates_per_month.{name}": value for name, value in asked.plates.items()}
    known |= {f"summary.runs.{name}": value for name, value in asked.runs.items()}
    known |= {f"summary.{name}": value for name, value in asked.shares.items()}
    for row, (label, unit, says, key, _) in enumerate(plates_rows(asked.bare), HEAD + 1):
        if not key:
            section(sheet, row, label, len(PLATES_HEADS), also=(3,))
            continue
        put_label(sheet, row, label, 62)
        put_kept(sheet, row, 2, unit, "Label")
        if not unit:
            named = f"{PRESSES}!$A${HEAD + 1}:$A${HEAD + MOST_PRESSES}"
            guards.listed(row, 3, "", named, "Press", "A press that Presses names.")
            wrapped(sheet, row, 4, says, "Label", 66)
            put_text(sheet, row, 5, key, "Label")
            continue
        shown = PER_CENT if unit == "%" else "#,##0"
        if key in known:
            put_number(sheet, row, 3, known[key], "Input", shown)
        else:
            put_text(sheet, row, 3, "", "Input").number_format = shown
        put_under(share if unit == "%" else plates, sheet.cell(row, 3))
        wrapped(sheet, row, 4, says, "Label", 66)
        put_text(sheet, row, 5, key, "Label")
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    return sheet


def write_log(book: Workbook, scenario: Scenario) -> Worksheet:
    """Write Job log: headings, and nothing below them, so that whatever is pasted there or over them stands alone."""
    kept = [column for column in COLUMNS if column[1]]
    own = {"job": "1042", "press": "", "size": scenario.sizes[0].name}
    said = [(head, own.get(name, example)) for name, head, _, example in kept[:_AN_EXAMPLE]]
    like = "; ".join(f"{head} {example}" for head, example in said if example)
    sheet = new_sheet(book, LOG, LOG, tuple(column[1] for column in kept), (14,) * len(kept), (
        "Paste your job log below the headings, a row a form; or over them, with its own headings, and say on Log columns what "
        "those are called. Columns in any order; more or fewer of them do no harm.",
        f"A row says, for example: {like}.",
    ), sought=False)  # fmt: skip
    sheet.freeze_panes = sheet.cell(LOG_ROW + 1, 1)
    return sheet


def write_log_columns(book: Workbook, scenario: Scenario) -> Worksheet:
    """Write Log columns: what the log calls its columns, presses, sizes and kinds, and how to read its dates."""
    sheet = new_sheet(book, LOG_COLUMNS, LOG_COLUMNS, LOG_HEADS, (30, 30, 12, 52, 16, 30), (
        "What your job log calls things. Leave it as it is if you pasted below the headings that were there.",
        "Several words for one thing: with commas between them.",
    ))  # fmt: skip
    guards = Guards(sheet)
    row = HEAD + 1
    for what, head, needed, says, example, key, choices in _log_rows(scenario):
        if not key:
            section(sheet, row, what, len(LOG_HEADS))
        else:
            put_label(sheet, row, what, 30)
            if choices:
                guards.choice(row, 2, head, choices, "Choose", says[:250])
            elif key in ("log.from", "log.to"):
                guards.date(row, 2, head, what, says)
            else:
                guards.text(
                    row,
                    2,
                    spoken(sheet, head),
                    "In your log",
                    "The words your log uses, as they stand there.",
                )
            put_text(sheet, row, 3, needed, "Label")
            wrapped(sheet, row, 4, says, "Label", 52)
            put_text(sheet, row, 5, example, "Label")
            put_text(sheet, row, 6, key, "Label")
        row += 1
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    return sheet


def _log_rows(scenario: Scenario) -> Iterator[tuple[str, str, str, str, str, str, Sequence[str]]]:
    yield "Columns", "", "", "", "", "", ()
    many = {"press": len(scenario.presses) > 1, "size": len(scenario.sizes) > 1}
    for name, head, says, example in COLUMNS:
        needed = "yes" if name in NEEDED or many.get(name) else "instead" if name in _INSTEAD else ""
        what = head or name.replace("_", " ").capitalize()
        yield what, head, needed, says, example if example != EXAMPLE else "", f"log.columns.{name}", ()
    yield "How to read it", "", "", "", "", "", ()
    for setting in SETTINGS:
        yield setting.label, setting.value, "", setting.says, "", f"log.{setting.key}", setting.choices
    yield "Words it uses for things", "", "", "", "", "", ()
    for size in scenario.sizes:
        yield (
            f"Plate size: {size.label}",
            "",
            "",
            "further words for this size",
            "",
            f"log.words.size.{size.id}",
            (),
        )
    for key, label in further_sizes(scenario).items():
        yield f"Plate size: {label}", "", "", "further words for this size", "", f"log.words.size.{key}", ()
    for stock in ("coated", "uncoated"):
        yield f"Stock: {stock}", "", "", "further words for such stock", "", f"log.words.stock.{stock}", ()
    heading = {name: head for name, head, _, _ in COLUMNS}
    for flag in FLAGS:
        for said in ("yes", "no"):
            key = f"log.words.{said}.{flag}"
            yield f"{heading[flag]}: {said}", "", "", f"further words for {said}", "", key, ()


def _shown(one: InputRow, currency: str) -> str:
    stated = one.stated
    if stated.whole:
        return "0"
    small = [x.best for x in (one.default, one.answer) if x is not None and x.best and abs(x.best) < 0.1]
    return (
        "0.######"
        if small and not stated.percent
        else number_format(stated.unit, currency, percent=stated.percent)
    )


__all__ = [
    "COLUMNS", "END", "EXAMPLE", "LOG", "LOG_COLUMNS", "LOG_HEADS", "LOG_ROW", "NEEDED", "PER_CENT", "PLATES", "PLATES_HEADS",
    "SETTINGS", "plates_rows", "write_inputs", "write_log", "write_log_columns", "write_plates",
]  # fmt: skip
