"""Makes one of every product there is into the folder `out` beside the scenario: python make_products.py FOLDER.

FOLDER holds shop.toml, other.toml, mine.toml (a method) and look.toml (a template).
"""

from __future__ import annotations

import os
import sys
import warnings
from pathlib import Path

COMMANDS = (
    "compare shop.toml -o out/shop.xlsx --json out/shop.json --template look.toml",
    "budget shop.toml --year 2027 -o out/budget.xlsx --json out/budget.json",
    "brief shop.toml -o out/page.html --charts out/charts",
    "new out/fresh --no-ask --workbook",
    "new out/text --no-ask",
    "compare shop.toml other.toml -o out/both.xlsx --json out/both.json",
)


def main(folder: Path) -> None:
    """Run every command in this one process."""
    warnings.simplefilter("error")
    from roi.cli import main as roi

    (folder / "out").mkdir()
    for command in COMMANDS:
        name, *words = command.split()
        named = [
            str(folder / word) if word.endswith((".toml", ".xlsx", ".json", ".html")) or "/" in word else word
            for word in words
        ]
        if "both.json" in command:  # which names the files as they were typed
            os.chdir(folder)
            named = words
        code = roi([name, *named], standalone_mode=False)
        if code not in (0, None):
            sys.exit(f"{command}: exit code {code}")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
