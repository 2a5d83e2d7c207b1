"""What formulas may be: short, plain, portable, without typed numbers, with a result, one along a row."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator

from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token
from openpyxl.utils.cell import range_boundaries
from openpyxl.worksheet.formula import ArrayFormula, DataTableFormula

from tests.workbook.opened import FRONT, REFERENCE, Formula, Opened, is_number, role, without_text

LONGEST = 150
DEEPEST_IF = 2
PORTABLE = frozenset(
    {
        "ABS",
        "AND",
        "AVERAGE",
        "CHOOSE",
        "COUNT",
        "COUNTA",
        "COUNTIF",
        "COUNTIFS",
        "CUMPRINC",
        "DATE",
        "DB",
        "DDB",
        "EDATE",
        "EFFECT",
        "EOMONTH",
        "EXP",
        "FIXED",
        "HLOOKUP",
        "IF",
        "IFERROR",
        "INDEX",
        "INT",
        "IPMT",
        "IRR",
        "ISNUMBER",
        "LARGE",
        "LN",
        "MATCH",
        "MAX",
        "MEDIAN",
        "MIN",
        "MIRR",
        "MOD",
        "MONTH",
        "NOT",
        "NPER",
        "NPV",
        "OR",
        "PMT",
        "POWER",
        "PPMT",
        "PV",
        "RATE",
        "ROUND",
        "ROUNDDOWN",
        "ROUNDUP",
        "SIGN",
        "SLN",
        "SMALL",
        "SQRT",
        "SUM",
        "SUMIF",
        "SUMIFS",
        "SUMPRODUCT",
        "VLOOKUP",
        "YEAR",
    }
)
VOLATILE = frozenset({"OFFSET", "INDIRECT", "NOW", "TODAY", "RAND", "RANDBETWEEN", "CELL", "INFO"})
FREE_NUMBERS = frozenset({0, 1, 2, 12, 24, 60, 100} | {1000.0**power for power in range(-3, 5)})
# Arguments, counted from 1, that are a number of digits or a position and not a quantity.
DIGITS_OR_POSITION = {
    "ROUND": {2},
    "ROUNDUP": {2},
    "ROUNDDOWN": {2},
    "FIXED": {2},
    "INDEX": {2, 3},
    "MATCH": {3},
    "CHOOSE": {1},
    "LARGE": {2},
    "SMALL": {2},
    "VLOOKUP": {3},
    "HLOOKUP": {3},
}
ERROR = re.compile(r"#(DIV/0!|N/A|NAME\?|NULL!|NUM!|REF!|VALUE!|SPILL!|CALC!)")
SUMMING_UP = re.compile(r"\b(total|sum|summe|average|mean|change|difference|check)\b", re.IGNORECASE)


def formulas_are_short(opened: Opened) -> Iterator[str]:
    for formula in opened.shapes:
        if len(formula.text) > LONGEST:
            yield f"{formula.where}: {len(formula.text)} characters, at most {LONGEST}"


def formulas_are_plain(opened: Opened) -> Iterator[str]:
    """No array formulas, what-if tables, array constants, names, structured or outside references."""
    for title, cell in opened.cells():
        if isinstance(cell.value, ArrayFormula | DataTableFormula):
            yield f"{title}!{cell.coordinate}: array formula or what-if table"
    for formula in opened.shapes:
        for token, functions in _walk(formula):
            if token.type == Token.ARRAY:
                yield f"{formula.where}: array constant {token.value}"
            elif token.type == Token.OP_IN and "SUMPRODUCT" in functions:
                yield f"{formula.where}: arithmetic inside SUMPRODUCT"
            elif token.subtype == Token.RANGE and not REFERENCE.fullmatch(token.value):
                yield f"{formula.where}: {token.value} is no plain reference"
            elif token.subtype == Token.ERROR:
                yield f"{formula.where}: {token.value} in the formula"


def ifs_are_shallow(opened: Opened) -> Iterator[str]:
    for formula in opened.shapes:
        depth = max((functions.count("IF") for _, functions in _walk(formula)), default=0)
        if depth > DEEPEST_IF:
            yield f"{formula.where}: IF {depth} deep, at most {DEEPEST_IF}"


def functions_are_portable(opened: Opened) -> Iterator[str]:
    for formula in opened.shapes:
        for name in {functions[-1] for _, functions in _walk(formula) if functions} - PORTABLE - {"("}:
            why = "recomputes at every touch or builds references" if name in VOLATILE else "is not portable"
            yield f"{formula.where}: {name} {why}"


def no_changeable_number_in_a_formula(opened: Opened) -> Iterator[str]:
    for formula in opened.shapes:
        for name, argument, number in _numbers(formula):
            if argument not in DIGITS_OR_POSITION.get(name, ()) and (
                number.endswith("%") or float(number) not in FREE_NUMBERS
            ):
                yield f"{formula.where}: the number {number} is typed in a formula"


def every_formula_has_a_result(opened: Opened) -> Iterator[str]:
    for formula in opened.formulas:
        stored = opened.results[formula.sheet].get(formula.where.rpartition("!")[2])
        if stored is None:
            yield f"{formula.where}: no stored result"
        elif isinstance(stored, str) and ERROR.match(stored):
            yield f"{formula.where}: the stored result is {stored}"


def references_lead_to_filled_cells(opened: Opened) -> Iterator[str]:
    """A single cell holds something; a range holds something in its first and in its last cell."""
    for formula in opened.formulas:
        for found in REFERENCE.finditer(without_text(formula.text)):
            title = found["sheet"].strip("'").replace("''", "'") if found["sheet"] else formula.sheet
            if title not in opened.book.sheetnames:
                yield f"{formula.where}: no sheet {title!r}"
                continue
            for end in {found["first"], found["last"] or found["first"]}:
                column, row, _, _ = range_boundaries(end.replace("$", ""))
                if (row, column) not in opened.filled[title]:
                    yield f"{formula.where}: {title}!{end.replace('$', '')} is empty"


def one_formula_along_a_row(opened: Opened) -> Iterator[str]:
    """On sheets of workings; cells that only fetch, the first of a row and summing-up columns are free."""
    rows: dict[tuple[str, int], list[Formula]] = defaultdict(list)
    for formula in opened.formulas:
        if role(formula.sheet) not in FRONT and not formula.only_fetches:
            rows[formula.sheet, formula.row].append(formula)
    for (title, _), found in rows.items():
        along = [one for one in found if not SUMMING_UP.search(_heading(opened, title, one.column))]
        usual = Counter(one.shape for one in along).most_common(1)
        for one in along[1:]:
            if one.shape != usual[0][0]:
                yield f"{one.where}: differs from the other formulas in its row"


def no_typed_number_in_a_formula_row(opened: Opened) -> Iterator[str]:
    several = Counter((one.sheet, one.row) for one in opened.formulas if role(one.sheet) not in FRONT)
    for title, cell in opened.cells(*opened.workings):
        if is_number(cell.value) and several[title, cell.row] > 1 and opened.style(cell) != "Data":
            yield f"{title}!{cell.coordinate}: {cell.value} is typed among formulas"


def _heading(opened: Opened, title: str, column: int) -> str:
    sheet = opened.book[title]
    return " ".join(str(sheet.cell(row, column).value) for row in range(1, opened.heading_rows(title) + 1))


def _walk(formula: Formula) -> Iterator[tuple[Token, tuple[str, ...]]]:
    """Every token with the names of the functions around it, outermost first; "(" for bare parentheses."""
    around: list[str] = []
    for token in Tokenizer(formula.text).items:
        if token.subtype == Token.OPEN:
            around.append(token.value[:-1].upper() if token.type == Token.FUNC else "(")
        yield token, tuple(around)
        if token.subtype == Token.CLOSE:
            around.pop()


def _numbers(formula: Formula) -> Iterator[tuple[str, int, str]]:
    """(function just around it or "", argument from 1, the number) of every number typed in the formula."""
    arguments = [1]
    tokens = list(_walk(formula))
    for place, (token, functions) in enumerate(tokens):
        if token.subtype == Token.OPEN:
            arguments.append(1)
        elif token.subtype == Token.CLOSE:
            arguments.pop()
        elif token.type == Token.SEP:
            arguments[-1] += 1
        elif token.subtype == Token.NUMBER:
            percent = place + 1 < len(tokens) and tokens[place + 1][0].type == Token.OP_POST
            yield functions[-1] if functions else "", arguments[-1], token.value + "%" * percent


RULES = (
    formulas_are_short,
    formulas_are_plain,
    ifs_are_shallow,
    functions_are_portable,
    no_changeable_number_in_a_formula,
    every_formula_has_a_result,
    references_lead_to_filled_cells,
    one_formula_along_a_row,
    no_typed_number_in_a_formula_row,
)
