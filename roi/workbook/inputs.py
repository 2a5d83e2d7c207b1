"""The Inputs and Units sheets: every number a reader may change, once, with its range, status, source and key."""

from __future__ import annotations

from collections.abc import Mapping

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles import Alignment
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.cell_range import CellRange
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from roi.engine.column import Book
from roi.engine.expression import Input
from roi.scenario.catalogue import STATUSES
from roi.scenario.scenario import Scenario
from roi.scenario.stated import StatedInput
from roi.units.quantity import unit_label
from roi.workbook.cells import fit_row, put_kept, put_label, put_number, put_text, tongue_of
from roi.workbook.placing import HEAD, Places
from roi.workbook.styles import number_format, set_up_page
from roi.workbook.tongue import Spoken

HEADS = (
    "Input",
    "Unit",
    "Value",
    "Low",
    "High",
    "Status",
    "Source",
    "Date",
    "Key",
    "Stated by",
    "Valid until",
)
VALUE, LOW, HIGH, STATUS, SOURCE, DATE, KEY, BY, UNTIL = range(3, 12)
WIDTHS = (58, 18, 14, 12, 12, 12, 60, 12, 44, 22, 12)
NOBODY = "not stated"  # where no one is named: cells that may be changed are never empty
_SECTIONS = {
    "money": "Money over time", "growth": "Growth", "work": "Work of a year", "shop": "The shop", "grades": "Wages",
    "presses": "Presses", "bought_in": "Plates bought in", "prices": "Prices, a whole group at once",
    "price_steps": "Steps in prices", "leaving": "Leaving today's method", "stress": "What if things go badly",
}  # fmt: skip


def used_inputs(scenario: Scenario, book: Book) -> list[StatedInput]:
    """The inputs that some column fetches, in the order of the scenario."""
    used = book.inputs
    return [stated for stated in scenario.inputs.values() if stated.key in used]


def section_title(scenario: Scenario, key: str) -> str:
    """The heading that an input stands below."""
    head, *rest = key.split(".")
    if head == "methods":  # one that another is the same as may itself stand outside the comparison
        return next((m.label for m in scenario.methods if m.id == rest[0]), rest[0])
    return _SECTIONS.get(head, head)


def _by_section(scenario: Scenario, inputs: list[StatedInput]) -> list[StatedInput]:
    """Inputs of one section together, sections as they first come: a heading stands once."""
    order: dict[str, list[StatedInput]] = {}
    for stated in inputs:
        order.setdefault(section_title(scenario, stated.key), []).append(stated)
    return [stated for section in order.values() for stated in section]


def lay_out_inputs(
    scenario: Scenario, book: Book, places: Places, bounds: Mapping[str, tuple[Input, Input]] | None = None
) -> tuple[list[StatedInput | str], dict[tuple[str, str], float]]:
    """Give each input its row, and each conversion its row on Units. Returns rows (a text is a section) and conversions.

    bounds : inputs that stand for the low and the high of an input, by its key
    """
    rows: list[StatedInput | str] = []
    conversions: dict[tuple[str, str], float] = {}
    engine = book.inputs
    section = ""
    for stated in _by_section(scenario, used_inputs(scenario, book)):
        title = section_title(scenario, stated.key)
        if title != section:
            rows.append(title)
            section = title
        rows.append(stated)
        leaf: Input = engine[stated.key]
        fetched = [(leaf, VALUE), *zip((bounds or {}).get(stated.key, ()), (LOW, HIGH), strict=False)]
        for each, column in fetched:
            places.put(each, "Inputs", HEAD + len(rows), column)
        if stated.factor != 1:
            pair = (stated.shown, unit_label(stated.unit, scenario.currency) or "number")
            conversions.setdefault(pair, stated.factor)
            # One pair of units, one factor: two inputs can't disagree on it.
            place = list(conversions).index(pair)
            for each, _ in fetched:
                places.convert(each, f"Units!$C${HEAD + 1 + place}")
    return rows, conversions


def write_inputs(book: Workbook, rows: list[StatedInput | str], currency: str) -> Worksheet:
    """Write the Inputs sheet, with validation that rejects what can't be."""
    sheet = book.create_sheet("Inputs")
    put_text(sheet, 1, 1, "Inputs", "Headline")
    said = "Change a value in a boxed cell and everything follows. Items can't be added here: add them in the scenario."
    put_text(sheet, 2, 1, said, "Note")
    for i, head in enumerate(HEADS):
        # Headings are how the sheet is read back: in another language theirs stand above.
        put_kept(sheet, HEAD, i + 1, head, "Head")
        if tongue_of(sheet):
            put_text(sheet, HEAD - 1, i + 1, head, "Section")
        sheet.column_dimensions[get_column_letter(i + 1)].width = WIDTHS[i]
    limits: dict[tuple[float | None, float | None, bool, str], DataValidation] = {}
    status = DataValidation(
        type="list", formula1='"' + ",".join(STATUSES) + '"', allow_blank=False, showErrorMessage=True,
        errorTitle="Status", error="Choose how the number is known: " + ", ".join(STATUSES) + ".",
        promptTitle="Status", prompt="How the number is known.", showInputMessage=True,
    )  # fmt: skip
    sheet.add_data_validation(status)
    text = DataValidation(
        type="textLength", operator="lessThanOrEqual", formula1="250", allow_blank=True, showErrorMessage=True,
        errorTitle="Too long", error="At most 250 characters.", promptTitle="Source", showInputMessage=True,
        prompt="Where the number comes from, and its date: invoice, quote, meter, stopwatch.",
    )  # fmt: skip
    sheet.add_data_validation(text)
    name = DataValidation(
        type="textLength", operator="lessThanOrEqual", formula1="250", allow_blank=True, showErrorMessage=True,
        errorTitle="Too long", error="At most 250 characters.", promptTitle="Stated by", showInputMessage=True,
        prompt="Who stated the number.",
    )  # fmt: skip
    sheet.add_data_validation(name)
    day = DataValidation(
        type="date", operator="between", formula1="32874", formula2="73415", allow_blank=True, showErrorMessage=True,
        errorTitle="Not a date", error="A date from 1990 to 2100, like 2026-03-31; or leave it empty.", promptTitle="Date",
        prompt="Like 2026-03-31: of the invoice or quote, or the last day on which the quote holds.", showInputMessage=True,
    )  # fmt: skip
    sheet.add_data_validation(day)
    for i, stated in enumerate(rows):
        row = HEAD + 1 + i
        if isinstance(stated, str):
            for c in range(1, len(HEADS) + 1):
                sheet.cell(row, c).style = "Section"
            put_text(sheet, row, 1, stated, "Section")
            continue
        shown = number_format(stated.unit, currency, percent=stated.percent)
        if abs(stated.best) < 0.1 and stated.best and not stated.percent:
            shown = "0.######"
        put_label(sheet, row, stated.label, WIDTHS[0])
        put_kept(sheet, row, 2, stated.shown or "number", "Label")
        for column, number in ((VALUE, stated.best), (LOW, stated.low), (HIGH, stated.high)):
            cell = put_number(sheet, row, column, number, "Input", shown)
            put_under(limit_rule(sheet, limits, stated), cell)
        put_under(status, put_kept(sheet, row, STATUS, stated.status, "Input"))
        source = put_kept(sheet, row, SOURCE, stated.source or "not stated", "Input")
        source.alignment = Alignment(wrap_text=True, vertical="top")
        fit_row(sheet, row, Spoken(stated.source), WIDTHS[SOURCE - 1])
        put_under(text, source)
        put_under(day, put_kept(sheet, row, DATE, stated.date, "Input"))
        put_kept(sheet, row, KEY, stated.key, "Label")
        by = put_kept(sheet, row, BY, stated.by or NOBODY, "Input")
        by.alignment = Alignment(wrap_text=True, vertical="top")
        fit_row(sheet, row, Spoken(stated.by), WIDTHS[BY - 1])
        put_under(name, by)
        put_under(day, put_kept(sheet, row, UNTIL, stated.valid_until, "Input"))
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    set_up_page(sheet, head_rows=HEAD)
    return sheet


def put_under(rule: DataValidation, cell: Cell) -> None:
    """Have a rule hold for one more cell. The library would first look for it among all the others."""
    rule.sqref.ranges.add(CellRange(cell.coordinate))


def limit_rule(
    sheet: Worksheet,
    limits: dict[tuple[float | None, float | None, bool, str], DataValidation],
    stated: StatedInput,
    *,
    blank: bool = False,
) -> DataValidation:
    """One rule for all inputs with the same limits: it rejects, and says what would be taken; `blank` says if empty is."""
    key = (stated.least, stated.most, stated.whole, stated.shown)
    if key not in limits:
        scale, unit = (100, "%") if stated.percent else (1, stated.shown)
        ends = [f"{x * scale:.6g}" if x is not None else "" for x in (stated.least, stated.most)]
        kind = "a whole number" if stated.whole else "a number"
        said = f"{ends[0]} to {ends[1]}" if all(ends) else f"{ends[0]} or more" if ends[0] else "any amount"
        text = f"Enter {kind}, {said} {unit}".strip() + "."
        rule = DataValidation(
            type="whole" if stated.whole else "decimal", allow_blank=blank, showErrorMessage=True, showInputMessage=True,
            operator="between", formula1=repr(stated.least if stated.least is not None else -1e15),
            formula2=repr(stated.most if stated.most is not None else 1e15), errorTitle="Not possible", error=text[:224],
            promptTitle="Input", prompt=text[:255],
        )  # fmt: skip
        sheet.add_data_validation(rule)
        limits[key] = rule
    return limits[key]


def write_units(book: Workbook, conversions: dict[tuple[str, str], float]) -> Worksheet:
    """Write the Units sheet: what turns the units shown on Inputs into those reckoned in."""
    sheet = book.create_sheet("Units")
    put_text(sheet, 1, 1, "Units", "Headline")
    put_text(
        sheet,
        2,
        1,
        "Inputs show the units stated; the reckoning is metric. Factors after NIST Handbook 44, Appendix C.",
        "Note",
    )
    for i, head in enumerate(("Shown on Inputs", "Unit", "Factor")):
        put_text(sheet, HEAD, i + 1, head, "Head")
        sheet.column_dimensions[get_column_letter(i + 1)].width = (26, 26, 18)[i]
    for i, ((shown, unit), factor) in enumerate(conversions.items()):
        put_text(sheet, HEAD + 1 + i, 1, shown, "Label")
        put_text(sheet, HEAD + 1 + i, 2, unit, "Label")
        put_number(sheet, HEAD + 1 + i, 3, factor, "Data", "0.##########")
    sheet.freeze_panes = sheet.cell(HEAD + 1, 1)
    set_up_page(sheet, head_rows=HEAD, landscape=False)
    return sheet
