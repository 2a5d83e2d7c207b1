"""A page in a real browser without a window: what its script-free layout comes to, what it prints, what the console says.

Chromium does the work, poppler counts the pages. Each call starts a browser of its own, in a folder of its own, that ends by
itself. Lengths are CSS pixels.
"""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

NAMES = ("chromium", "chromium-browser", "google-chrome")
SECONDS = 60
# Sizes, and every piece of text with its colour and what it stands on, of the page in each frame.
MEASURE = """
const found = [];
function ground(element) {
  for (let e = element; e; e = e.parentElement) {
    const colour = getComputedStyle(e).backgroundColor;
    if (colour !== 'rgba(0, 0, 0, 0)' && !(e instanceof SVGElement)) return colour;
  }
  return 'rgb(255, 255, 255)';
}
for (const frame of document.querySelectorAll('iframe')) {
  const page = frame.contentDocument, root = page.documentElement, view = frame.contentWindow;
  const wide = [...page.querySelectorAll('body *')].filter(e => !e.closest('.scroll, thead, svg'))
    .filter(e => e.getBoundingClientRect().right > root.clientWidth + 0.5).map(e => e.outerHTML.slice(0, 80));
  const letters = [...page.querySelectorAll('svg text')].map(e => parseFloat(view.getComputedStyle(e).fontSize)
    * e.ownerSVGElement.getBoundingClientRect().width / e.ownerSVGElement.viewBox.baseVal.width);
  const texts = [], walker = page.createTreeWalker(page.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const e = walker.currentNode.parentElement, style = view.getComputedStyle(e), inSvg = e.namespaceURI.endsWith('svg');
    if (!walker.currentNode.data.trim() || ['title', 'desc', 'style'].includes(e.localName)) continue;
    texts.push([inSvg ? style.fill : style.color, ground(e), walker.currentNode.data.trim().slice(0, 40)]);
  }
  found.push({width: frame.width, scroll: root.scrollWidth, client: root.clientWidth, wide, letters, texts});
}
document.body.innerHTML = '';
const told = document.createElement('pre');
told.id = 'found';
told.textContent = JSON.stringify(found);
document.body.append(told);
"""


@dataclass(frozen=True)
class Measured:
    """A page at one width.

    scroll, client : how wide its content is and how wide the window is
    wide : elements that reach beyond the window and don't scroll inside something
    letters : sizes of letters in charts as seen; texts : (colour, colour behind, text)
    """

    width: int
    scroll: float
    client: float
    wide: list[str]
    letters: list[float]
    texts: list[tuple[str, str, str]]


def missing() -> str | None:
    """Why no page can be looked at and how to mend it, or None."""
    absent = [] if program() else ["chromium"]
    absent += [] if shutil.which("pdfinfo") else ["pdfinfo (poppler-utils)"]
    if not absent:
        return None
    return f"not on the path: {', '.join(absent)}. Mend: apt-get install chromium poppler-utils, or the like elsewhere"


def program() -> str | None:
    """The browser."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


def measured(page: str, folder: Path, widths: list[int]) -> list[Measured]:
    """A page as it is laid out in windows of these widths."""
    frames = "".join(
        f'<iframe width="{width}" height="900" srcdoc="{html.escape(page)}"></iframe>' for width in widths
    )
    outer = folder / "frames.html"
    outer.write_text(
        f"<!DOCTYPE html><body>{frames}<script>onload = () => {{ {MEASURE} }};</script>", encoding="utf-8"
    )
    done = _run(folder, "--dump-dom", outer.as_uri())
    found = re.search(r'<pre id="found">(.*?)</pre>', done.stdout, re.DOTALL)
    assert found is not None, done.stderr
    rows = json.loads(html.unescape(found[1]))
    return [
        Measured(
            int(r["width"]), r["scroll"], r["client"], r["wide"], r["letters"], [tuple(t) for t in r["texts"]]
        )
        for r in rows
    ]


def console(page: str, folder: Path) -> list[str]:
    """What the browser's console says of a page: errors and warnings, one a line."""
    file = folder / "page.html"
    file.write_text(page, encoding="utf-8")
    done = _run(folder, "--enable-logging=stderr", "--v=0", "--dump-dom", file.as_uri())
    assert "<html" in done.stdout, done.stderr
    return [line for line in done.stderr.splitlines() if "CONSOLE" in line]


def printed(page: str, folder: Path) -> tuple[int, tuple[float, float]]:
    """How many sheets a page prints on, and their width and height in points."""
    file, paper = folder / "page.html", folder / "page.pdf"
    file.write_text(page, encoding="utf-8")
    paper.unlink(missing_ok=True)
    _run(folder, "--no-pdf-header-footer", f"--print-to-pdf={paper}", file.as_uri())
    told = subprocess.run(
        ["pdfinfo", paper], capture_output=True, text=True, check=True, timeout=SECONDS
    ).stdout
    pages, size = re.search(r"Pages:\s+(\d+)", told), re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", told)
    assert pages is not None and size is not None, told
    return int(pages[1]), (float(size[1]), float(size[2]))


def _run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    found = program()
    assert found is not None
    usual = ["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--disable-dev-shm-usage"]
    usual.append(f"--user-data-dir={folder / 'browser'}")
    return subprocess.run([found, *usual, *words], capture_output=True, text=True, timeout=SECONDS)
