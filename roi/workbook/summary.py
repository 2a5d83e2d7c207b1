"""The Summary, page one: headline and logo, then the blocks that the template chooses, in its order."""

from __future__ import annotations

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

import roi
from roi.workbook.block_parts import FIGURE, LABEL
from roi.workbook.blocks import BLOCKS
from roi.workbook.cells import put_text
from roi.workbook.front import Front
from roi.workbook.picture import place_logo
from roi.workbook.styles import set_up_page

_COLUMNS = 5  # that the page is wide at least
_HEADLINE = 21  # points of the headline's row
_BESIDE_LOGO = 40  # characters of a headline that end before the logo


def write_summary(sheet: Worksheet, front: Front) -> None:
    """Write the Summary; sheets whose figures it shows are written before."""
    scenario = front.study.scenario
    headline = front.template.title(sheet.title, front.facts, False)
    headline = headline or f"{scenario.name}: how should plates be made?"
    put_text(sheet, 1, 1, headline, "Headline")
    basis = "after tax unless said otherwise"
    day = front.made.date().isoformat()
    columns = max(_COLUMNS, len(scenario.methods) + 1)
    text = f"{day}, roi version {roi.__version__}, amounts in {scenario.currency}, {basis}"
    put_text(sheet, 2, 1, text, "Note")
    if front.house.logo is not None:
        height = place_logo(sheet, front.house.logo, columns - 1, 1)
        # A long headline goes below the logo rather than under it.
        below = _HEADLINE if len(headline) > _BESIDE_LOGO else 0
        sheet.row_dimensions[1].height = max(height + below, _HEADLINE)
    row = 4
    for block in front.template.blocks:
        row = BLOCKS[block](sheet, front, row)
    sheet.column_dimensions["A"].width = LABEL
    for i in range(2, columns + 1):
        sheet.column_dimensions[get_column_letter(i)].width = FIGURE
    set_up_page(sheet, head_rows=3, landscape=False)
