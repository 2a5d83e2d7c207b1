"""Putting text, numbers and formulas into cells, safely: text from outside can never act as a formula.

Here, too, texts turn into the workbook's language: `speak` says which, and every text put into a cell, its row fitted to it,
goes through `spoken` once.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Collection, Sequence
from copy import copy
from weakref import WeakKeyDictionary

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles.cell_style import StyleArray
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.scenario.catalogue import STATUSES
from roi.scenario.words import spelled
from roi.workbook.tongue import Spoken, Tongue

Results = dict[str, dict[str, float | str]]
GAP = 5  # points, a low row between two blocks
HERE = "\0"  # stands for the cell's own column in a formula that is written once for a row
_STARTS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


# Looks are found by name in a list, which for a hundred thousand cells takes a second: each is found once a workbook.
_LOOKS: WeakKeyDictionary[Workbook, dict[tuple[str, str], StyleArray]] = WeakKeyDictionary()

# What holds the language of a workbook, where it isn't English, and what says that a sheet stays as it is. Plain attributes:
# they are asked for every text.
_TONGUE, _AS_IT_IS = "roi_tongue", "roi_as_it_is"
_QUOTED = re.compile(r'"((?:[^"]|"")*)"')
# XML 1.0, 2.2: what is no character there.
_NO_SIGN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_NO_WORDS = re.compile(r"[-+0-9.,%\s]*")


def speak(book: Workbook, tongue: Tongue | None, names: Collection[str] = ()) -> None:
    """Say what is put into a workbook from now on in a language (None: English), but for these names."""
    if tongue is not None:
        tongue.keep(names)
        setattr(book, _TONGUE, tongue)


def keep_as_it_is(sheet: Worksheet) -> None:
    """Leave a sheet's texts in English: the program reads them back."""
    setattr(sheet, _AS_IT_IS, True)


def tongue_of(sheet: Worksheet) -> Tongue | None:
    """The language of a sheet; None for English."""
    tongue: Tongue | None = getattr(sheet.parent, _TONGUE, None)
    return None if tongue is None or hasattr(sheet, _AS_IT_IS) else tongue


def spoken(sheet: Worksheet, text: str) -> str:
    """A text in the language of a sheet, and without signs that a cell can't hold."""
    if not text.isprintable() and _NO_SIGN.search(text):
        bare = _NO_SIGN.sub(" ", spelled(text))
        text = Spoken(bare) if isinstance(text, Spoken) else bare
    tongue = tongue_of(sheet)
    return text if tongue is None else tongue.say(text, sheet.title)


def spoken_lines(
    sheet: Worksheet, text: str, width: int, indent: str = "", *, hyphens: bool = True
) -> list[str]:
    """A text in the language of a sheet, in lines of at most so many characters; `indent` begins all but the first."""
    lines = textwrap.wrap(spoken(sheet, text), width, subsequent_indent=indent, break_on_hyphens=hyphens)
    return lines if tongue_of(sheet) is None else [Spoken(line) for line in lines]


def put_kept(sheet: Worksheet, row: int, column: int, text: str, style: str) -> Cell:
    """A text as it is in every language: a name, a key, what somebody stated."""
    return put_text(sheet, row, column, Spoken(text), style)


def _look(cell: Cell, style: str, shown: str) -> StyleArray:
    """The look of a named style with a number format; shared, so not to be changed."""
    looks = _LOOKS.setdefault(cell.parent.parent, {})
    if (style, shown) not in looks:
        cell.style, cell.number_format = style, shown
        looks[style, shown] = copy(cell._style)
    return looks[style, shown]


def acts_as_formula(text: str) -> bool:
    """Whether a program might take a text for a formula."""
    return text.startswith(_STARTS_FORMULA)


def style_number(sheet: Worksheet, style: str, shown: str, text: str = "") -> int:
    """The number a saved cell of that look bears in a sheet's workbook; a text that looks like a formula is marked as none."""
    look = _look(Cell(sheet, 1, 1), style, shown)
    if text.startswith(_STARTS_FORMULA):
        look = copy(look)
        look.quotePrefix = 1
    return int(sheet.parent._cell_styles.add(look))


def _dress(cell: Cell, style: str, shown: str = "General") -> None:
    """Give a cell a named style and a number format of its own."""
    cell._style = copy(_look(cell, style, shown))


def put_text(sheet: Worksheet, row: int, column: int, text: str, style: str) -> Cell:
    """A text, whatever it begins with."""
    cell = sheet.cell(row, column)
    _dress(cell, style)
    if not text:
        return cell
    text = spoken(sheet, text)
    cell.value = text
    cell.data_type = "s"
    if text.startswith(_STARTS_FORMULA):
        cell.quotePrefix = True
    return cell


def dress_anew(cell: Cell, style: str) -> None:
    """Give a cell another named style; a text stays marked as none that acts."""
    marked = cell.quotePrefix
    cell.style = style
    if marked:
        cell.quotePrefix = True


def put_number(sheet: Worksheet, row: int, column: int, number: float, style: str, shown: str) -> Cell:
    """A typed number."""
    cell = sheet.cell(row, column)
    cell.value = number
    _dress(cell, style, shown)
    return cell


def put_formula(
    sheet: Worksheet,
    row: int,
    column: int,
    text: str,
    result: float | str,
    shown: str,
    results: Results,
    style: str = "Figure",
) -> Cell:
    """A formula with the result it must have."""
    tongue = tongue_of(sheet)
    if tongue is not None and (isinstance(result, str) or '"' in text):
        text, result = _formula_spoken(tongue, sheet.title, text, result)
    cell = sheet.cell(row, column)
    cell.value = text
    _dress(cell, style, shown)
    results.setdefault(sheet.title, {})[cell.coordinate] = result
    return cell


def _formula_spoken(tongue: Tongue, place: str, text: str, result: float | str) -> tuple[str, float | str]:
    """A formula with the texts in it said in a language, and a text that it gives."""
    if isinstance(result, Spoken):
        return text, result
    pairs: list[tuple[str, str]] = []

    def say(found: re.Match[str]) -> str:
        if found[1] in STATUSES:  # compared with what a list on Inputs offers
            return found[0]
        said = tongue.say(found[1].replace('""', '"'), place)
        pairs.append((found[1].replace('""', '"'), said))
        return '"' + said.replace('"', '""') + '"'

    if '"' in text:
        text = _QUOTED.sub(say, text)
    if not isinstance(result, str) or _NO_WORDS.fullmatch(result):
        return text, result
    given, at = "", 0
    # What a formula gives holds the texts of it in their order, but those of branches not taken.
    for english, said in pairs:
        start = result.find(english, at) if english.strip() else -1
        if start >= 0:
            given, at = given + result[at:start] + said, start + len(english)
    return text, given + result[at:] if at else tongue.say(result, place)


def fit_row(sheet: Worksheet, row: int, text: str, width: int, points: float = 13.0) -> None:
    """Make a row high enough for a text wrapped in a column this many characters wide: not every program does so itself."""
    _heighten(sheet, row, text_height(spoken(sheet, text), width, points))


def text_height(said: str, width: int, points: float = 13.0) -> float:
    """Points that a wrapped text takes, 0.0 for the usual height."""
    lines = -(-len(said) // width)
    return points * lines + 2 if lines > 1 else 0.0


def put_label(sheet: Worksheet, row: int, text: str, width: int) -> None:
    """A row's label in column A, which is this many characters wide; a long one makes the row higher."""
    text = spoken(sheet, text)
    put_text(sheet, row, 1, text, "Label")
    fit_label(sheet, row, text, width)


def fit_label(sheet: Worksheet, row: int, text: str, width: int) -> None:
    """Make a row high enough for its label."""
    _heighten(sheet, row, label_height(spoken(sheet, text), width))


def label_height(said: str, width: int) -> float:
    """Points that a label takes, 0.0 for the usual height. Fonts differ between machines: a fifth of the width is spare."""
    lines = -(-len(said) * 6 // (width * 5))
    return 13.0 * lines + 2 if lines > 1 else 0.0


def _heighten(sheet: Worksheet, row: int, points: float) -> None:
    if points:
        sheet.row_dimensions[row].height = max(sheet.row_dimensions[row].height or 0.0, points)


class QuickCells:
    """Cells of a sheet of many, written past the library's checks: they cost more than all else about a cell.

    Texts never act as formulas here; formulas are those of lines. results : where each formula's is entered, by cell
    """

    def __init__(self, sheet: Worksheet, results: dict[str, float | str]) -> None:
        self._sheet, self._results = sheet, results

    def text(self, row: int, column: int, text: str, style: str) -> None:
        """A text, whatever it begins with."""
        text = spoken(self._sheet, text)
        if text.startswith(_STARTS_FORMULA):
            put_text(self._sheet, row, column, text, style)
        else:
            self._put(row, column, text, "s", style, "General")

    def number(self, row: int, column: int, number: float, style: str, shown: str) -> None:
        """A typed number."""
        self._put(row, column, number, "n", style, shown)

    def label(self, row: int, text: str, width: int) -> None:
        """A row's label in column A, which is this many characters wide; a long one makes the row higher."""
        self.text(row, 1, text, "Label")
        fit_label(self._sheet, row, text, width)

    def note(self, row: int, column: int, text: str, width: int) -> None:
        """A small text wrapped in a column this many characters wide; a long one makes the row higher."""
        self.text(row, column, text, "Small")
        fit_row(self._sheet, row, text, width)

    def gap(self, row: int) -> None:
        """A row with nothing in it, low."""
        self._sheet.row_dimensions[row].height = GAP

    def across(self, row: int, first: int, text: str, shown: str, values: Sequence[float]) -> None:
        """Formulas along a row from a column on, HERE standing for each one's own column, with their results."""
        for column, value in enumerate(values, first):
            letter = get_column_letter(column)
            self._put(row, column, text.replace(HERE, letter), "f", "Figure", shown)
            self._results[f"{letter}{row}"] = value

    def _put(self, row: int, column: int, value: str | float, kind: str, style: str, shown: str) -> None:
        cell = Cell(self._sheet, row, column)
        cell._style = _look(cell, style, shown)
        cell._value, cell.data_type = value, kind
        self._sheet._add_cell(cell)
