"""The house style: font, colours as RRGGBB, paper and logo. Plain values; cells and charts take them from here.

Letters on `heading` are white, all others are `ink`, small notes `quiet`. Input cells also wear a border, and series
differ in dash, marker and outline, so that colour is never the only cue.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.workbook.logo import Logo
from roi.workbook.palette import INK, SERIES

PAPERS = {"Letter": 1, "A4": 9}  # numbers of the file format (ECMA-376, pageSetup)
AUTO = "auto"
_LETTER_CURRENCIES = ("USD", "CAD")


@dataclass(frozen=True)
class House:
    """How a workbook looks; left alone, the look of the project itself."""

    font: str = "Calibri"
    ink: str = INK
    quiet: str = "4A5A60"
    heading: str = "23404F"
    section: str = "DCE6E4"
    inputs: str = "FFF6DC"
    data: str = "E8EEF2"
    series: tuple[str, ...] = SERIES
    paper: str = AUTO
    logo: Logo | None = None

    def paper_code(self, currency: str, system: str) -> int:
        """The paper's number in the file; "auto" is Letter for US customary units with US or Canadian dollars, else A4."""
        if self.paper in PAPERS:
            return PAPERS[self.paper]
        return PAPERS["Letter" if system == "us" and currency in _LETTER_CURRENCIES else "A4"]


OWN = House()
