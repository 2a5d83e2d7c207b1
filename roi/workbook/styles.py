"""How cells look: three named styles by what a cell is (input, formula, data), and number formats by unit."""

from __future__ import annotations

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Protection, Side
from openpyxl.worksheet.worksheet import Worksheet

from roi.units.quantity import currencies
from roi.units.unit import Unit
from roi.workbook.palette import INK

FONT = "Calibri"
INPUT_FILL, DATA_FILL, HEAD_FILL, SECTION_FILL = "FFF6DC", "E8EEF2", "23404F", "DCE6E4"
_THIN = Side(style="thin", color="B8C4C8")


def add_styles(book: Workbook) -> None:
    """Register the project's named styles in a workbook."""
    plain = Font(name=FONT, size=10, color=INK)
    small = Font(name=FONT, size=9, color="4A5A60")
    head = Font(name=FONT, size=10, bold=True, color="FFFFFF")
    top = Alignment(vertical="top")
    wrapped = Alignment(wrap_text=True, vertical="top")
    boxed = Border(_THIN, _THIN, _THIN, _THIN)
    for style in (
        NamedStyle("Input", plain, _fill(INPUT_FILL), boxed, top, protection=Protection(locked=False)),
        NamedStyle("Figure", plain, alignment=top),
        NamedStyle("Data", plain, _fill(DATA_FILL), alignment=top),
        NamedStyle("Label", plain, alignment=top),
        NamedStyle("Right", plain, alignment=Alignment(horizontal="right", vertical="top")),
        NamedStyle("Prose", Font(name=FONT, size=11, color=INK), alignment=wrapped),
        NamedStyle("Said", Font(name=FONT, size=11, color=INK)),
        NamedStyle("Strong", Font(name=FONT, size=12, bold=True, color=INK), alignment=top),
        NamedStyle("Small", small, alignment=wrapped),
        NamedStyle("Note", small),
        NamedStyle("Head", head, _fill(HEAD_FILL), alignment=Alignment(wrap_text=True, vertical="center")),
        NamedStyle("Heads", head, _fill(HEAD_FILL), alignment=Alignment(wrap_text=True, horizontal="right")),
        NamedStyle("Section", Font(name=FONT, size=10, bold=True, color=INK), _fill(SECTION_FILL)),
        NamedStyle("Aside", Font(name=FONT, size=9, color=INK), _fill(SECTION_FILL), alignment=wrapped),
        NamedStyle("Headline", Font(name=FONT, size=16, bold=True, color=HEAD_FILL)),
    ):
        book.add_named_style(style)


def _fill(colour: str) -> PatternFill:
    return PatternFill("solid", fgColor=colour)


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
    if unit == Unit.read("impression"):
        return "#,##0"
    return "#,##0.0##"


def set_up_page(sheet: Worksheet, *, head_rows: int = 0, landscape: bool = True, paper: int = 9) -> None:
    """One page wide, headings repeated, page numbers at the foot. Paper 9 is A4, 1 is Letter."""
    sheet.page_setup.orientation = "landscape" if landscape else "portrait"
    sheet.page_setup.paperSize = paper
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.oddFooter.left.text, sheet.oddFooter.right.text = "&A", "Page &P of &N"
    sheet.page_margins.left = sheet.page_margins.right = 0.5
    sheet.page_margins.top = sheet.page_margins.bottom = 0.6
    sheet.sheet_view.showGridLines = False
    if head_rows:
        sheet.print_title_rows = f"1:{head_rows}"
