"""What of a workbook is for paper: sheets to be read print whole, workings only their first page.

A workbook printed as a whole ran to hundreds of pages, nearly all of them lines there to be traced. Which sheets are workings
the template's order says: those behind the sign-off, where there is one; always those of cases and what the program reads back.
"""

from __future__ import annotations

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from roi.scenario.things import CASES
from roi.workbook.template import SIGN_OFF

TRACED = ("Scenario", "Forms", "Cases", "Volumes", "Ranges", "Stressed")
FIRST_PAGE = 40  # rows that a page holds, at least


def workings(titles: list[str]) -> list[str]:
    """The sheets that are there to be traced, of those in this order."""
    last = titles.index(SIGN_OFF) if SIGN_OFF in titles else len(titles)
    return [t for i, t in enumerate(titles) if i > last or t in TRACED or t.endswith(CASES)]


def set_paper(book: Workbook) -> None:
    """Have workings print their first page alone."""
    for title in workings(book.sheetnames):
        sheet = book[title]
        last = get_column_letter(max(sheet.max_column, 1))
        sheet.print_area = f"A1:{last}{min(max(sheet.max_row, FIRST_PAGE), FIRST_PAGE)}"


def to_print(titles: list[str]) -> str:
    """How to print what is meant to be read."""
    if SIGN_OFF in titles:
        return (
            f"The report is the sheets from {titles[0]} to {SIGN_OFF}: click the first tab, hold Shift, click the last, and "
            "print the selected sheets. The sheets behind it are workings, and print their first page only."
        )
    return (
        "Print the sheets you want to read. Those that end in 'cases', and those that the program reads back, are there to be "
        "traced, and print their first page only."
    )


__all__ = ["FIRST_PAGE", "set_paper", "to_print", "workings"]
