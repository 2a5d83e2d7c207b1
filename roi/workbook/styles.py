"""How cells look: three named styles by what a cell is (input, formula, data), and number formats by unit."""

from __future__ import annotations

from functools import cache

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Protection, Side
from openpyxl.worksheet.worksheet import Worksheet

from roi.units.quantity import currencies
from roi.units.unit import Unit
from roi.workbook.house import OWN, House
from roi.workbook.palette import PAPER

_THIN = Side(style="thin", color="B8C4C8")


def add_styles(book: Workbook, house: House = OWN) -> None:
    """Register the project's named styles in a workbook, in a house style. Inputs wear a border beside their colour."""

    def letters(size: int, colour: str = house.ink, bold: bool = False) -> Font:
        return Font(name=house.font, size=size, bold=bold, color=colour)

    plain, small, head = letters(10), letters(9, house.quiet), letters(10, PAPER, bold=True)
    top = Alignment(vertical="top")
    wrapped = Alignment(wrap_text=True, vertical="top")
    boxed = Border(_THIN, _THIN, _THIN, _THIN)
    for style in (
        NamedStyle("Input", plain, _fill(house.inputs), boxed, top, protection=Protection(locked=False)),
        NamedStyle("Figure", plain, alignment=top),
        NamedStyle("Data", plain, _fill(house.data), alignment=top),
        NamedStyle("Label", plain, alignment=wrapped),
        NamedStyle("Right", plain, alignment=Alignment(horizontal="right", vertical="top")),
        NamedStyle("Prose", letters(11), alignment=wrapped),
        NamedStyle("Said", letters(11)),
        NamedStyle("Strong", letters(12, bold=True), alignment=top),
        NamedStyle("Small", small, alignment=wrapped),
        NamedStyle("Note", small),
        NamedStyle(
            "Head", head, _fill(house.heading), alignment=Alignment(wrap_text=True, vertical="center")
        ),
        NamedStyle(
            "Heads", head, _fill(house.heading), alignment=Alignment(wrap_text=True, horizontal="right")
        ),
        NamedStyle("Section", letters(10, bold=True), _fill(house.section), alignment=wrapped),
        NamedStyle("Aside", letters(9), _fill(house.section), alignment=wrapped),
        NamedStyle("Headline", letters(16, house.heading, bold=True)),
    ):
        book.add_named_style(style)


def _fill(colour: str) -> PatternFill:
    return PatternFill("solid", fgColor=colour)


@cache
def number_format(unit: Unit, currency: str, *, percent: bool = False, flag: bool = False) -> str:
    """The format of a figure in this unit; a negative shows its minus."""
    if flag:
        return "0"
    if percent:
        return "0.0%"
    if unit == Unit.read("year"):
        return "0.0"
    if unit in (Unit.read("currency"), Unit.read("currency/year")):
        return "#,##0;-#,##0"
    if unit.has("currency"):
        places = currencies().get(currency, 2)
        return "#,##0." + "0" * max(places, 2) if places else "#,##0.0##"
    if unit.is_number:
        return "#,##0.0###"
    if any(
        unit == Unit.read(f"{what}/year")
        for what in ("plate", "form", "pass", "sheet", "impression", "job", "min", "kWh")
    ):
        return "#,##0"
    if unit in (Unit.read("impression"), Unit.read("plate/month"), Unit.read("impression/form")):
        return "#,##0"
    return "#,##0.0##"


def set_up_page(sheet: Worksheet, *, head_rows: int = 0, landscape: bool = True) -> None:
    """One page wide, headings repeated, page numbers at the foot. The paper is set for all sheets at once."""
    sheet.page_setup.orientation = "landscape" if landscape else "portrait"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.oddFooter.left.text, sheet.oddFooter.right.text = "&A", "Page &P of &N"
    sheet.page_margins.left = sheet.page_margins.right = 0.5
    sheet.page_margins.top, sheet.page_margins.bottom, sheet.page_margins.footer = 0.6, 0.7, 0.3
    sheet.sheet_view.showGridLines = False
    if head_rows:
        sheet.print_title_rows = f"1:{head_rows}"
