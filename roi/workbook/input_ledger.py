"""The sheet Ledger and accounts of an input workbook: how the shop's ledger is to be read, and its codes for a budget.

What the ledger calls its columns, what each account stands for (`roi reconcile`), and the account that each part of a budget
bears (`roi budget`). `read_books` reads it back, by the headings and keys written here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from roi.scenario.catalogue import TEXTS
from roi.scenario.cells import DECIMALS
from roi.scenario.dates import ORDERS
from roi.scenario.ledgerspec import TOLERANCE
from roi.workbook.cells import put_label, put_text
from roi.workbook.input_cells import END, Guards, new_sheet, section, wrapped
from roi.workbook.input_choices import STANDS_FOR, Choices
from roi.workbook.placing import HEAD

BOOKS = "Ledger and accounts"
BOOKS_HEADS = ("What", "In your books", "Stands for", "What it says", "Key")
IN_BOOKS, STANDS = BOOKS_HEADS[1], BOOKS_HEADS[2]
_WIDTHS = (34, 34, 28, 62, 26)
ACCOUNT_ROWS, PATTERN_ROWS = 24, 8
_COLUMNS = (
    ("date", "Date", "day of the booking or invoice"),
    ("account", "Account", "number or name of the account; empty where the supplier says it"),
    ("supplier", "Supplier", "who was paid"),
    ("text", "Text", "further words of a row"),
    ("amount", "Amount", "what was charged, in the currency of this workbook"),
)
USUAL = (
    "date",
    "account",
    "supplier",
    "amount",
)  # what a ledger's columns are called until somebody says otherwise
_CODES = {
    "equipment": "Equipment: service, repairs, parts", "consumables": "Plates and consumables", "waste": "Waste disposal",
    "energy": "Energy", "labour": "Wages", "press": "Press time", "room": "Room", "capital": "Equipment bought",
    "one_offs": "One-off costs of the switch", "unrecovered_vat": "Tax on purchases that is not recovered",
    "depreciation": "Depreciation",
}  # fmt: skip


@dataclass(frozen=True)
class BooksRow:
    """A row: what it is, its key ("" for a section), what it says, what stands there; `choices` where few are possible."""

    what: str
    key: str = ""
    says: str = ""
    value: str = ""
    choices: tuple[str, ...] = ()
    kind: str = "text"


def books_rows() -> Iterator[BooksRow]:
    """The rows, in order."""
    yield BooksRow("What the ledger calls its columns")
    for name, label, says in _COLUMNS:
        yield BooksRow(label, f"ledger.columns.{name}", says, name if name in USUAL else "")
    yield BooksRow("How to read it")
    yield BooksRow(
        "Order of day and month", "ledger.date_order", "where dates are text; empty: found out", "", ORDERS
    )
    yield BooksRow(
        "Decimal mark", "ledger.decimal", "of amounts that are text; empty: point", "", tuple(DECIMALS)
    )
    yield BooksRow("Charges are", "ledger.charges", "amounts above or below nought; empty: positive", "",
                   ("positive", "negative"))  # fmt: skip
    yield BooksRow("Rows that can't be used", "ledger.bad_rows", "refuse tells them all, skip leaves them out; empty: refuse", "",
                   ("refuse", "skip"))  # fmt: skip
    yield BooksRow(
        "First day of the year",
        "ledger.from",
        "of the ledger; empty: the job log's first day if stated, else its own first month",
        kind="date",
    )
    yield BooksRow(
        "Last day of the year",
        "ledger.to",
        "of the ledger; empty: the job log's last day if stated, else its own last month",
        kind="date",
    )
    yield BooksRow("Agrees within", "ledger.tolerance", f"how far books and reckoning may differ; empty: {TOLERANCE:.0%}",
                   kind="share")  # fmt: skip
    yield BooksRow("What each account stands for: needed by roi reconcile")
    for number in range(1, ACCOUNT_ROWS + 1):
        says = (
            "an account as the ledger writes it, such as 5010; then choose what it stands for"
            if number == 1
            else ""
        )
        yield BooksRow(f"Account {number}", f"ledger.account.{number}", says, kind="meaning")
    yield BooksRow("What rows with certain words stand for: they go before accounts")
    for number in range(1, PATTERN_ROWS + 1):
        says = "words in a row's account, supplier or text, such as internal recharge" if number == 1 else ""
        yield BooksRow(f"Words {number}", f"ledger.pattern.{number}", says, kind="meaning")
    yield BooksRow("Account codes of a budget; empty: none is shown")
    for name in TEXTS["accounts"]:
        yield BooksRow(_CODES[name], f"accounts.{name}", "the code that roi budget writes beside these lines")
    yield BooksRow(END)


def write_books(book: Workbook, choices: Choices) -> Worksheet:
    """Write the sheet."""
    sheet = new_sheet(book, BOOKS, BOOKS, BOOKS_HEADS, _WIDTHS, (
        "For roi reconcile shop.xlsx ledger.csv: what the accounts of your ledger stand for. Leave all of it empty if you don't.",
        "For roi budget: the account codes at the end of the list.",
    ))  # fmt: skip
    guards = Guards(sheet)
    for row, one in enumerate(books_rows(), HEAD + 1):
        if not one.key:
            section(sheet, row, one.what, len(BOOKS_HEADS))
            continue
        put_label(sheet, row, one.what, _WIDTHS[0])
        if one.choices:
            guards.choice(row, 2, one.value, one.choices, one.what[:32], one.says[:250])
        elif one.kind == "date":
            guards.date(row, 2, "", one.what, one.says)
        elif one.kind == "share":
            guards.number(row, 2, None, "0%", 0, 1, one.what, "A share, 0 % to 100 %: type 10 %.")
        else:
            guards.text(row, 2, one.value, "In your books", "As it stands in your books.")
        if one.kind == "meaning":
            guards.listed(
                row, 3, "", choices.cells[STANDS_FOR], "Stands for", "The costs that are booked there."
            )
        wrapped(sheet, row, 4, one.says, "Label", _WIDTHS[3])
        put_text(sheet, row, 5, one.key, "Label")
    sheet.freeze_panes = sheet.cell(HEAD + 1, 2)
    return sheet


__all__ = ["BOOKS", "BOOKS_HEADS", "BooksRow", "IN_BOOKS", "STANDS", "books_rows", "write_books"]
