"""The colours of charts, as RRGGBB, the contrast between two colours, and how far apart they look.

The six series colours were found by a search around six chosen by eye: the widest smallest difference between
any two, seen with usual sight and with each kind of colour blindness, all at 3 : 1 or more on white.
Their order keeps lighter beside darker, so that neighbours in a stacked bar also differ on a grey print. Cell
styles have their own colours.
"""

from __future__ import annotations

from collections.abc import Iterator

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

Triple = tuple[float, float, float]
# What is left of linear red, green and blue. Source: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, IEEE Transactions
# on Visualization and Computer Graphics 15 (6), 2009, severity 1.0.
_SIGHTS: dict[str, tuple[Triple, Triple, Triple]] = {
    "usual sight": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
# Linear sRGB to X, Y, Z with white at D65. Source: IEC 61966-2-1.
_XYZ = ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))


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


def how_far_apart(one: str, other: str) -> Iterator[tuple[str, float]]:
    """Kind of sight, and how far apart two colours look with it: 0 the same, 2.3 just noticeable, 100 black to white.

    The difference is that of CIE 1976 L*a*b* (CIE 15, Colorimetry).
    """
    for sight in _SIGHTS:
        pairs = zip(_lab(one, sight), _lab(other, sight), strict=True)
        yield sight, sum((a - b) ** 2 for a, b in pairs) ** 0.5


def _lab(colour: str, sight: str) -> Triple:
    light = [linear(int(colour[place : place + 2], 16) / 255) for place in (0, 2, 4)]
    seen = [min(max(_dot(row, light), 0), 1) for row in _SIGHTS[sight]]
    ratios = [_dot(row, seen) / sum(row) for row in _XYZ]
    x, y, z = (r ** (1 / 3) if r > 216 / 24389 else (24389 / 27 * r + 16) / 116 for r in ratios)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def _dot(row: Triple, numbers: list[float]) -> float:
    return sum(a * b for a, b in zip(row, numbers, strict=True))


def tint(colour: str) -> str:
    """A colour so thinned with white that dark words stand out on it."""
    return "".join(f"{round(255 - (255 - int(colour[i : i + 2], 16)) * 0.22):02X}" for i in (0, 2, 4))
