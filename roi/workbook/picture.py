"""The logo placed on a sheet. The library's own pictures need an imaging library for their size; ours is known."""

from __future__ import annotations

from openpyxl.drawing.fill import Blip
from openpyxl.drawing.geometry import PresetGeometry2D
from openpyxl.drawing.image import Image
from openpyxl.drawing.picture import PictureFrame
from openpyxl.drawing.spreadsheet_drawing import AnchorMarker, OneCellAnchor
from openpyxl.drawing.xdr import XDRPositiveSize2D
from openpyxl.worksheet.worksheet import Worksheet

from roi.workbook.logo import Logo

WIDEST, HIGHEST = 150, 38  # points: two columns of the Summary, one line of large letters
_POINT = 12_700  # in the units in which drawings are measured
_NUMBER = 1_000  # charts are numbered from 1: out of their way


class Picture(Image):  # type: ignore[misc]
    """A picture with its description, as the library saves it."""

    def __init__(self, logo: Logo, column: int, row: int) -> None:
        scale = min(WIDEST / logo.width, HIGHEST / logo.height)
        self.logo, self.format = logo, logo.kind
        self.width, self.height = logo.width * scale, logo.height * scale
        size = XDRPositiveSize2D(round(self.width * _POINT), round(self.height * _POINT))
        # Against the right edge of the space it may take.
        start = AnchorMarker(col=column - 1, row=row - 1, colOff=round((WIDEST - self.width) * _POINT))
        self.anchor = OneCellAnchor(_from=start, ext=size, pic=_frame())

    def _data(self) -> bytes:
        return self.logo.content


def place_logo(sheet: Worksheet, logo: Logo, column: int, row: int) -> float:
    """Put the logo on a sheet, in the `WIDEST` points from the left edge of a cell. Returns its height in points."""
    picture = Picture(logo, column, row)
    sheet.add_image(picture)
    return float(picture.height)


def _frame() -> PictureFrame:
    frame = PictureFrame()
    frame.nvPicPr.cNvPr.id, frame.nvPicPr.cNvPr.name = _NUMBER, "Logo"
    frame.nvPicPr.cNvPr.descr = "Logo"
    frame.blipFill.blip = Blip(cstate="print")
    frame.spPr.prstGeom = PresetGeometry2D(prst="rect")
    frame.spPr.ln = None
    return frame
