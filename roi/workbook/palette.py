"""The colours of charts, as RRGGBB, and the contrast between two colours.

The six series colours were found by a search around six chosen by eye: the widest smallest difference between
any two, seen with usual sight and with each kind of colour blindness, all at 3 : 1 or more on white.
Their order keeps lighter beside darker, so that neighbours in a stacked bar also differ on a grey print. Cell
styles have their own colours.
"""

from __future__ import annotations

SERIES = (
    "381871",  # deep indigo
    "B28C01",  # ochre
    "AF5148",  # brick
    "2C9AB3",  # lagoon
    "580E30",  # claret
    "8D55EA",  # violet
)
INK = "1F2430"
GRID = "D9DCE1"
PAPER = "FFFFFF"


def relative_luminance(colour: str) -> float:
    """How light a colour is, 0 (black) to 1 (white). Source: WCAG 2.2, "relative luminance"; sRGB curve."""
    red, green, blue = (linear(int(colour[place : place + 2], 16) / 255) for place in (0, 2, 4))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def linear(channel: float) -> float:
    """A channel of sRGB, 0 to 1, as linear light, 0 to 1. Source: IEC 61966-2-1."""
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 (the same) to 21 (black on white). Source: WCAG 2.2, "contrast ratio"."""
    dark, light = sorted((relative_luminance(one), relative_luminance(other)))
    return (light + 0.05) / (dark + 0.05)
