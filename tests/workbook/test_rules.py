"""Each rule can fail: a small workbook that keeps them all is spoilt in one way, and the breach is named."""

import io
import re
import zipfile

import pytest
from openpyxl import Workbook
from openpyxl.chart import PieChart, Reference
from openpyxl.comments import Comment
from openpyxl.styles import Font, NamedStyle, PatternFill
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.formula import ArrayFormula

from roi.workbook.charts import line_chart, stacked_bars
from roi.workbook.finish import finish
from tests.workbook.opened import shape
from tests.workbook.rules import RULES, broken_rules

SHEETS = ("About", "Summary", "Inputs", "Units", "Cash flow", "Checks")


def good_book():
    book = Workbook()
    book.remove(book.active)
    for name, fill in (("Input", "FFF4D6"), ("Data", "EAF1F4"), ("Formula", "FFFFFF")):
        style = NamedStyle(name, font=Font(color="1F2430"), fill=PatternFill("solid", fgColor=fill))
        style.number_format = "#,##0.00"
        book.add_named_style(style)
    for title in SHEETS:
        sheet = book.create_sheet(title)
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
        sheet.page_setup.fitToHeight, sheet.page_setup.paperSize = 0, 9
        sheet.page_setup.orientation = "landscape"
        sheet.oddFooter.center.text = "&P"
    put(book, "About", A1="Version 1, currency USD, limits below", A2="input and data cells")
    put(book, "About", A3=", ".join(SHEETS))
    put(
        book,
        "Inputs",
        A1="Input",
        B1="Value",
        C1="Unit",
        D1="Source",
        E1="Key",
        A2="plates a month",
        B2=600,
        C2="plate/month",
        D2="log",
        E2="plates",
        A3="plate price",
        B3=2.1,
        C3="USD/plate",
        D3="invoice",
        E3="price",
    )
    book["Inputs"].freeze_panes = "B2"
    guard = DataValidation("decimal", operator="between", formula1="0", formula2="100000")
    guard.showErrorMessage = True
    guard.error, guard.prompt = "From 0 to 100,000.", "From 0 to 100,000."
    guard.add("B2:B3")
    book["Inputs"].add_data_validation(guard)
    put(book, "Units", A1="weeks in a year", B1=52)
    put(book, "Cash flow", A1="Line", B1="Unit", C1=0, D1=1, E1=2, F1=3)
    yearly = "=Inputs!$B$2*Inputs!$B$3*12"
    put(book, "Cash flow", A2="plates", B2="USD", C2=yearly, A3="running total", B3="USD", C3="=C2")
    for before, column in zip("CDE", "DEF", strict=True):
        put(book, "Cash flow", **{f"{column}2": yearly, f"{column}3": f"={before}3+{column}2"})
    book["Cash flow"].freeze_panes = "C2"
    put(book, "Checks", A1="totals agree", B1="=IF(ABS('Cash flow'!F3-'Cash flow'!C3)>=0,1,0)")
    put(book, "Summary", A1="Cost rises steadily", A2="checks", B2='=IF(Checks!B1=1,"pass","look")')
    for row in book["Inputs"]["B2:B3"]:
        row[0].style = "Input"
    flow = book["Cash flow"]
    years, *cells = (
        Reference(flow, range_string=f"'Cash flow'!{span}")
        for span in ("C1:F1", "A2", "C2:F2", "A3", "C3:F3")
    )
    lines = list(zip(cells[::2], cells[1::2], strict=True))
    book["Summary"].add_chart(line_chart("Cost rises", "year", "USD", years, lines))
    book["Summary"].add_chart(stacked_bars("Cost rises", "USD", "year", years, lines), "A30")
    book.active = 1
    return book


def put(book, sheet, **cells):
    for cell, value in cells.items():
        book[sheet][cell] = value
        if book[sheet][cell].data_type == "f":
            book[sheet][cell].style = "Formula"


def broken(folder, spoil=None, describe=True):
    """What is broken in the good book after `spoil(book)`; formulas get the result 1 or "pass"."""
    book = good_book()
    if spoil:
        spoil(book)
    held = io.BytesIO()
    book.save(held)
    given = {
        sheet.title: {
            cell.coordinate: "pass" if sheet.title == "Summary" else 1
            for row in sheet.iter_rows()
            for cell in row
            if cell.data_type == "f"
        }
        for sheet in book.worksheets
    }
    charts = {("Summary", place): "Cost by year" for place in range(2)} if describe else {}
    finish(held, folder / "book.xlsx", given, alt_text=charts)
    return broken_rules(folder / "book.xlsx")


def saved(folder, spoil=None):
    """What is broken in the good book as saved, without the finishing pass."""
    book = good_book()
    if spoil:
        spoil(book)
    book.save(folder / "book.xlsx")
    return broken_rules(folder / "book.xlsx")


def formula(text, cell="C5", **more):
    """A spoiler that adds one formula, in a row with label and unit."""
    return lambda book: put(book, "Cash flow", **{"A5": "extra", "B5": "USD", cell: text, **more})


def guard(**change):
    def spoil(book):
        for name, value in change.items():
            setattr(book["Inputs"].data_validations.dataValidation[0], name, value)

    return spoil


def cell(sheet, where, /, **change):
    def spoil(book):
        for name, value in change.items():
            setattr(book[sheet][where], name, value)

    return spoil


def of(kind, sheet, /, **change):
    """A spoiler that sets attributes of a sheet, or of something that belongs to it."""

    def spoil(book):
        thing = book[sheet]
        for name in filter(None, kind.split(".")):
            thing = getattr(thing, name)
        for name, value in change.items():
            setattr(thing, name, value)

    return spoil


def chart(change, place=0):
    return lambda book: change(book["Summary"]._charts[place])


def paint(colour, series=0):
    def change(one):
        one.series[series].graphicalProperties.line.solidFill = colour

    return chart(change)


def axis_gone(one):
    one.x_axis.delete = True


def loose_title(one):
    one.title.overlay = True


def seventh(one):
    one.series.extend([one.series[0]] * 5)


def from_ten(one):
    one.y_axis.scaling.min = 10


def untitled(one):
    one.title = None


def axis_untitled(one):
    one.y_axis.title = None


def nameless(one):
    one.series[0].tx = None


def gap(book):
    put(book, "Cash flow", D1=None)


def pie(book):
    drawn = PieChart()
    drawn.add_data(Reference(book["Cash flow"], range_string="'Cash flow'!C2:F2"), from_rows=True)
    book["Summary"].add_chart(drawn, "A60")


def hide_row(book):
    book["Cash flow"].row_dimensions[2].hidden = True


def hide_column(book):
    book["Cash flow"].column_dimensions["D"].hidden = True


def name_a_range(book):
    book.defined_names["price"] = DefinedName("price", attr_text="Inputs!$B$3")


def link_out(book):
    book["About"]["A1"].hyperlink = "https://example.org"


def comment(book):
    book["About"]["A1"].comment = Comment("only here", "us")


def rename(title):
    def spoil(book):
        book["Units"].title = title
        book["About"]["A3"] = f"{', '.join(SHEETS)}, {title}"

    return spoil


def imported(book):
    put(book, "Cash flow", A6="=cmd")
    book["Cash flow"]["A6"].data_type = "s"


def fifty_rows(book):
    put(book, "Cash flow", A50="end")


def twice_selected(book):
    for title in ("About", "Summary"):
        book[title].sheet_view.tabSelected = True


def calculates(**change):
    def spoil(book):
        for name, value in change.items():
            setattr(book.calculation, name, value)

    return spoil


# rule, what is done to the good book, words of the breach
SPOILT = [
    ("formulas are short", formula("=" + "+".join(["C2"] * 60)), "Cash flow!C5: 180 characters"),
    ("formulas are plain", formula("=SUM({1,2})"), "array constant"),
    ("formulas are plain", formula("=SUMPRODUCT(C2:D2*C3:D3)"), "arithmetic inside SUMPRODUCT"),
    ("formulas are plain", formula("=price*2"), "price is no plain reference"),
    ("formulas are plain", formula("=Table1[price]"), "Table1[price] is no plain reference"),
    ("formulas are plain", formula("=[1]Prices!A1"), "[1]Prices!A1 is no plain reference"),
    ("formulas are plain", formula("=#REF!+1"), "#REF! in the formula"),
    ("ifs are shallow", formula("=IF(C2>0,IF(C2>1,IF(C2>2,1,0),0),0)"), "IF 3 deep"),
    ("functions are portable", formula("=XLOOKUP(C2,C2:D2,C3:D3)"), "XLOOKUP is not portable"),
    ("functions are portable", formula("=SUM(OFFSET(C2,1,1))"), "OFFSET recomputes"),
    ("no changeable number in a formula", formula("=C2*1.07"), "the number 1.07"),
    ("no changeable number in a formula", formula("=C2*12%"), "the number 12%"),
    ("no changeable number in a formula", formula("=ROUND(9,C2)"), "the number 9"),
    ("references lead to filled cells", formula("=C2+Z9"), "Cash flow!Z9 is empty"),
    ("references lead to filled cells", formula("=SUM(C2:C8)"), "Cash flow!C8 is empty"),
    ("references lead to filled cells", formula("=Nowhere!A1"), "no sheet 'Nowhere'"),
    ("one formula along a row", formula("=C2+1", D5="=D2+1", E5="=E2+2"), "Cash flow!E5: differs"),
    ("no typed number in a formula row", formula("=C2+1", D5="=D2+1", E5=7), "!E5: 7 is typed among"),
    ("package is plain", name_a_range, "price: a defined name"),
    ("package is plain", link_out, "leads out of the workbook"),
    ("package is plain", comment, "comments have no place"),
    ("nothing is hidden", of("", "Units", sheet_state="hidden"), "Units: hidden sheet"),
    ("nothing is hidden", hide_row, "Cash flow!2:2: hidden row"),
    ("nothing is hidden", hide_column, "Cash flow!D:D: hidden column"),
    ("sheet names are plain", rename("Taxes & fees"), "plain characters"),
    ("sheet names are plain", rename("Q1"), "looks like a cell"),
    ("no merged cells", lambda book: book["Units"].merge_cells("A3:B4"), "Units!A3:B4"),
    ("typed numbers are inputs or data", formula(7), "Cash flow!C5: 7 is typed"),
    ("input style is for inputs", cell("Cash flow", "C2", style="Input"), "a formula in the style of inputs"),
    ("input style is for inputs", cell("Inputs", "B2", value="=1+1"), "a formula among the inputs"),
    ("input style is for inputs", cell("Inputs", "B2", style="Formula"), "600 is not in the style of inputs"),
    ("input style is for inputs", of("protection", "Inputs", sheet=True), "the input is locked"),
    ("inputs reject what cannot be", guard(sqref="B3"), "Inputs!B2: no validation"),
    ("inputs reject what cannot be", guard(showErrorMessage=False), "does not reject"),
    ("inputs reject what cannot be", guard(errorStyle="warning"), "does not reject"),
    ("inputs reject what cannot be", guard(prompt=None), "no message"),
    ("inputs reject what cannot be", guard(error="x" * 225), "longer than 224"),
    ("inputs reject what cannot be", guard(formula2="599"), "600 breaks its own validation"),
    ("inputs stand once with their source", cell("Inputs", "E3", value="plates"), "plates stands twice"),
    ("inputs stand once with their source", cell("Inputs", "D3", value=None), "Inputs!3: no source"),
    ("inputs stand once with their source", cell("Inputs", "E1", value="Path"), "no column headed key"),
    ("numeric rows have label and unit", cell("Cash flow", "B2", value=None), "!2: numbers without a unit"),
    ("numeric rows have label and unit", cell("Cash flow", "B1", value="Per"), "no column headed Unit"),
    ("numeric rows have label and unit", formula("=C2", A5=None, B5=None), "numbers without a label"),
    ("numbers have a format", cell("Cash flow", "C2", number_format="General"), "!C2: no number format"),
    ("text contrasts with its ground", cell("About", "A1", font=Font(color="999999")), "FFFFFF is 2.8 : 1"),
    (
        "text contrasts with its ground",
        cell("About", "A1", fill=PatternFill("solid", fgColor="333333")),
        "000000 on 333333 is 1.7 : 1",
    ),
    (
        "headings stay in view",
        lambda book: (fifty_rows(book), of("", "Cash flow", freeze_panes=None)(book)),
        "Cash flow: headings are not frozen",
    ),
    ("sheets print well", of("sheet_properties.pageSetUpPr", "Units", fitToPage=False), "Units: not set to"),
    ("sheets print well", of("page_setup", "Units", fitToHeight=1), "Units: squeezed"),
    ("sheets print well", of("page_setup", "Units", paperSize=None), "Units: paper"),
    ("sheets print well", of("oddFooter.center", "Units", text="page"), "Units: no page number"),
    ("sheets print well", fifty_rows, "Cash flow: headings do not repeat"),
    ("opens on a front page and calculates", lambda book: setattr(book, "active", 3), "Units: opens there"),
    ("opens on a front page and calculates", twice_selected, "About, Summary: more than one"),
    ("opens on a front page and calculates", calculates(fullCalcOnLoad=False), "does not calculate"),
    ("opens on a front page and calculates", calculates(calcMode="manual"), "does not calculate"),
    ("opens on a front page and calculates", calculates(iterate=True), "iterates"),
    ("text cannot act as a formula", imported, "Cash flow!A6: text that starts like a formula"),
    ("about and summary say what they must", cell("About", "A3", value="Summary"), "the sheet Units"),
    ("about and summary say what they must", cell("About", "A1", value="About"), "nothing about Version"),
    ("about and summary say what they must", cell("Summary", "B2", value="pass"), "whether the checks pass"),
    ("about and summary say what they must", cell("Checks", "B1", value="pass"), "Checks: holds no formula"),
    ("charts say what they show", chart(untitled), "chart1.xml: no title"),
    ("charts say what they show", chart(axis_untitled), "chart1.xml: valAx without a title"),
    ("charts say what they show", chart(axis_gone), "chart1.xml: catAx does not say that it shows"),
    ("charts say what they show", chart(loose_title), "a title may lie over"),
    ("charts say what they show", chart(nameless), "a series without a name"),
    ("charts are simple", chart(seventh), "7 series"),
    ("charts are simple", chart(from_ten, 1), "chart2.xml: bars are not set to start at zero"),
    ("charts are simple", pie, "chart3.xml: pie"),
    ("series have their own colours", paint("C0C0C0"), "C0C0C0 has 1.8 : 1"),
    ("series have their own colours", paint("B28C01"), "two series of one colour"),
    ("series have their own colours", paint(None), "a series without its own colour"),
    ("charts hold their values", gap, "'Cash flow'!$C$1:$F$1 has empty cells"),
]


def names(rule, words, breaches):
    return any(breach.startswith(f"{rule}: ") and words in breach for breach in breaches)


def test_a_book_that_keeps_the_rules_breaks_none(tmp_path):
    assert broken(tmp_path) == []


@pytest.mark.parametrize("rule, spoil, words", SPOILT, ids=[f"{rule}, {words}" for rule, _, words in SPOILT])
def test_a_spoilt_book_is_found_out(tmp_path, rule, spoil, words):
    breaches = broken(tmp_path, spoil)
    assert names(rule, words, breaches), breaches


def test_what_the_finishing_pass_would_refuse_is_found_in_other_files(tmp_path):
    def array(book):
        book["Cash flow"]["C7"] = ArrayFormula("C7:C8", "=C2:C3")

    breaches = saved(tmp_path, array)
    assert names("every formula has a result", "Cash flow!C2: no stored result", breaches)
    assert names("formulas are plain", "Cash flow!C7: array formula", breaches)
    assert names("charts hold their values", "'Cash flow'!$C$2:$F$2 holds no values", breaches)


def test_stored_errors_are_found(tmp_path):
    broken(tmp_path)
    source, spoilt = tmp_path / "book.xlsx", tmp_path / "spoilt.xlsx"
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(spoilt, "w") as new:
        for name in old.namelist():
            new.writestr(
                name,
                re.sub(rb'(<c r="C3" s="[0-9]+")(><f>C2</f><v>)1<', rb'\1 t="e"\2#DIV/0!<', old.read(name)),
            )
    assert names("every formula has a result", "!C3: the stored result is #DIV/0!", broken_rules(spoilt))


def test_missing_descriptions_and_a_wrong_ending_are_found(tmp_path):
    assert names("drawings have alternative text", "drawing1.xml: Chart 1", broken(tmp_path, describe=False))
    (tmp_path / "book.xlsx").rename(tmp_path / "book.xlsm")
    assert names("package is plain", "not an .xlsx file", broken_rules(tmp_path / "book.xlsm"))


def test_every_rule_is_shown_to_fail():
    elsewhere = {"every formula has a result", "drawings have alternative text"}
    assert {rule for rule, _, _ in SPOILT} | elsewhere == {rule.__name__.replace("_", " ") for rule in RULES}


def test_copies_along_a_row_share_a_shape_and_others_do_not():
    assert shape("=B$2*'Cash flow'!C3+SUM(D$4:D5)", 7, 3) == shape("=C$2*'Cash flow'!D3+SUM(E$4:E5)", 7, 4)
    assert shape("=B2", 2, 3) != shape("=B2", 2, 4)
    assert shape("=$B2", 2, 3) == shape("=$B2", 2, 4)
    assert shape('=IF(B2>0,"B2","C2")', 2, 3) == '=IF(R[0]C[-1]>0,"B2","C2")'
    assert shape("=LOG10(B2)", 2, 3) == "=LOG10(R[0]C[-1])"
