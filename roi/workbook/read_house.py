"""Reading the house style of a template: colours that can be read and told apart, a known paper, a logo that is one."""

from __future__ import annotations

import re
from itertools import combinations

from roi.scenario.limits import leaves, read_whole
from roi.workbook.house import AUTO, OWN, PAPERS, House
from roi.workbook.logo import LARGEST as LARGEST_LOGO
from roi.workbook.logo import Logo, read_logo
from roi.workbook.palette import PAPER, contrast, how_far_apart
from roi.workbook.toml_lines import TomlLines, meant, short

KEYS = ("font", "ink", "quiet", "heading", "section", "inputs", "data", "series", "paper", "logo")
# WCAG 2.2: 4.5 : 1 for text (1.4.3), 3 : 1 for parts of a graphic (1.4.11).
TEXT_CONTRAST, SERIES_CONTRAST = 4.5, 3.0
# CIE 1976: 2.3 is just noticeable side by side. Lines are thin and apart from their legend; fills are large and touch.
SERIES_APART, FILLS_APART = 12.0, 5.0
_COLOURS = ("ink", "quiet", "heading", "section", "inputs", "data")
# Letters and what they stand on.
_PAIRS = (
    ("ink", PAPER), ("ink", "inputs"), ("ink", "data"), ("ink", "section"), ("quiet", PAPER), ("heading", PAPER),
)  # fmt: skip


def read_house(toml: TomlLines) -> House:
    """The house style stated in [style], the rest as usual; what is wrong is noted, and then the style is no use."""
    return _Reader(toml).house()


class _Reader:
    def __init__(self, toml: TomlLines) -> None:
        self.toml, self.stated = toml, toml.table("style")

    def _wrong(self, key: str, what: str, mend: str, value: object = None, times: int = 0) -> None:
        self.toml.wrong("style", key, what, mend, value, times)

    def house(self) -> House:
        style = self.stated
        font = style.get("font", OWN.font)
        if not isinstance(font, str) or not re.fullmatch(r"[A-Za-z0-9][\w .-]{0,30}", font):
            self._wrong("font", f"{short(font)} is no font's name", 'write font = "Arial"')
        colours = {name: self._colour(name, style.get(name, getattr(OWN, name))) for name in _COLOURS}
        series = self._series(style.get("series", list(OWN.series)))
        paper = style.get("paper", OWN.paper)
        papers = (*PAPERS, AUTO)
        if paper not in papers:
            mend = meant(str(paper), papers) or f"choose {', '.join(papers)}"
            self._wrong("paper", f"{short(paper)} is no paper known here", mend)
        logo = self._logo(style["logo"]) if style.get("logo", "") != "" else None
        self._pairs({**colours, PAPER: PAPER})
        return House(font=font, series=series, paper=paper, logo=logo, **colours)

    def _colour(self, key: str, value: object) -> str:
        """The colour, or "" where it is none, with a problem noted."""
        if isinstance(value, str) and re.fullmatch(r"[0-9A-Fa-f]{6}", value):
            return value.upper()
        near = str(value).lstrip("#")
        mend = "write six of 0-9 and A-F: red, green, blue, such as 23404F"
        if re.fullmatch(r"[0-9A-Fa-f]{6}", near):
            mend = f'write "{near.upper()}"'
        self._wrong(key, f"{short(value)} is not a colour as RRGGBB", mend, value=value)
        return ""

    def _pairs(self, colours: dict[str, str]) -> None:
        for letters, ground in _PAIRS:
            if colours[letters] and colours[ground]:
                ratio = contrast(colours[letters], colours[ground])
                if ratio < TEXT_CONTRAST:
                    # The one that was stated is the one to mend.
                    key = ground if ground in self.stated else letters
                    on = "white" if ground == PAPER else f"{ground} {colours[ground]}"
                    what = f"{letters} {colours[letters]} on {on} has a contrast of {ratio:.1f} : 1"
                    mend = f"letters need {TEXT_CONTRAST} : 1: make one darker or the other lighter"
                    self._wrong(key, what, mend)
        for one, other in (("inputs", "data"), ("inputs", PAPER), ("inputs", "section")):
            if colours[one] and colours[other]:
                apart = next(how_far_apart(colours[one], colours[other]))[1]
                if apart < FILLS_APART:
                    what = f"{colours[one]} can't be told from {'white' if other == PAPER else other}"
                    mend = "what may be changed must show: choose a colour farther away"
                    self._wrong(one if one in self.stated else other, what, mend)

    def _series(self, value: object) -> tuple[str, ...]:
        if not isinstance(value, list) or len(value) != len(OWN.series):
            mend = f"write series = [ ... ] with {len(OWN.series)} colours"
            self._wrong("series", f"does not hold {len(OWN.series)} colours", mend)
            return OWN.series
        series = tuple(self._colour("series", colour) for colour in value)
        good = [colour for colour in series if colour]
        for colour in good:
            if (ratio := contrast(colour, PAPER)) < SERIES_CONTRAST:
                what = f"{colour} has {ratio:.1f} : 1 on white"
                mend = f"series need {SERIES_CONTRAST:.0f} : 1: make it darker"
                self._wrong("series", what, mend, colour)
        for one, other in combinations(good, 2):
            sight, apart = min(how_far_apart(one, other), key=lambda seen: seen[1])
            if apart < SERIES_APART:
                what = f"{one} and {other} are too alike ({sight})"
                mend = "choose one that differs in lightness too"
                self._wrong("series", what, mend, other, int(one == other))
        return series

    def _logo(self, name: object) -> Logo | None:
        def wrong(what: str, mend: str) -> None:
            self._wrong("logo", f"{short(name)} {what}", mend)

        if not isinstance(name, str) or "\0" in name:
            wrong("is no file's name", 'write logo = "logo.png"')
            return None
        path = self.toml.folder / name
        if leaves(self.toml.folder, name):
            wrong("leaves the folder of the template", "copy the picture beside the template")
            return None
        try:
            if path.stat().st_size > LARGEST_LOGO:
                wrong(f"is too large, above {LARGEST_LOGO:,} bytes", "save a smaller picture")
                return None
            return read_logo(read_whole(path, LARGEST_LOGO))
        except OSError as failed:
            wrong(f"can't be read: {failed.strerror or failed}", "put the picture beside the template")
        except ValueError as failed:
            wrong(str(failed), "save it as PNG or JPEG, of fair size")
        return None
