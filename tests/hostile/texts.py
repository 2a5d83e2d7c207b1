"""A small invented shop whose every text tries to be something else: a formula, a script, a terminal's command."""

from __future__ import annotations

import json
from pathlib import Path

# OWASP, "CSV Injection": = + - @, tab, carriage return, line feed, and the full-width signs some programs take for them.
STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
# A tag; the end of a text inside a formula; a formula of a typesetter; a change of colour; a turn of the writing's direction.
TAIL = '<b>"&HYPERLINK("http://x.invalid")&"|cmd<script>alert(1)</script></svg>$\\frac{a}{$\x1b[31m\x07\x9b\u202e'


class Texts:
    """Texts to be put into TOML, each beginning with the next sign and bearing its own number."""

    def __init__(self) -> None:
        self.count = 0

    def __str__(self) -> str:
        self.count += 1
        return json.dumps(f"{STARTS[self.count % len(STARTS)]}H{self.count}{TAIL}")


def write_shop(folder: Path) -> Path:
    """shop.toml, its job log and its ledger, in a folder. Every way in which a text of a scenario reaches a cell is in it."""
    t = Texts()
    (folder / "shop.toml").write_text(
        f"""
schema = 1
name = {t}
currency = "USD"
units = "metric"
current = "polyester"
note = {t}
prepared_for = {t}
claims = ["pays back in 18 months"]
[accounts]
equipment = {t}
consumables = {t}
waste = {t}
energy = {t}
labour = {t}
[grades.prepress]
label = {t}
[sizes]
small = {{ format = "330 mm x 492 mm", label = {t} }}
[sizes.big]
format = "400 mm x 510 mm"
label = {t}
[presses.main]
label = {t}
printing_units = 2
[methods.polyester]
label = {t}
note = {t}
[methods.polyester.equipment.line]
years_left = "4 year"
[methods.polyester.equipment.extra]
label = {t}
price = {{ best = "100 USD", low = "90 USD", high = "120 USD", status = "quote", source = {t}, by = {t}, note = {t} }}
life = "5 year"
[methods.polyester.tasks.extra]
label = {t}
driver = "work day"
grade = "prepress"
minutes = {{ best = "2 min/day", source = {t} }}
[methods.polyester.items."=cmd|'/c'!A0"]
label = {t}
driver = "month"
family = "consumables"
cost = {{ best = "300 USD/month", low = "10 USD/month", high = "900 USD/month" }}
[methods.direct]
label = {t}
note = {t}
[methods."=1+1"]
use = "processed"
label = {t}
short = "ok"
[log]
file = "=jobs.csv"
date_order = "year-first"
bad_rows = "skip"
[log.columns]
job = "=Job"
date = "+Printed"
size = "@Plate"
plates = "-Plates"
impressions = "＝Impressions"
stock = "=Stock"
[log.words.size]
small = ["=S"]
big = ["=B"]
[ledger]
file = "ledger.csv"
[ledger.accounts]
"=5010" = "consumables"
[ledger.patterns]
"=internal" = "leave out: =cmd"
""",
        "utf-8",
    )
    rows = [f"=cmd|{n},2025-{n % 12 + 1:02}-10,=S,2,{500 + 40 * n},coated" for n in range(40)]
    bad = ['"=cmd|\x1b[31m",2025-03-03,=HYPERLINK(1),2,100,coated', "@SUM(1),no date,=B,2,100,=1+1"]
    head = "=Job,+Printed,@Plate,-Plates,＝Impressions,=Stock"
    (folder / "=jobs.csv").write_text("\n".join([head, *rows, *bad]), "utf-8")
    (folder / "ledger.csv").write_text(
        "date,account,supplier,amount\n"
        "2025-01-15,=5010,\"=cmd|'/c calc'!A0\",3600\n"
        '2025-11-20,+paint,"\tPainter \x1b[31m\u202e",75\n'
        '2025-12-31,@other,"=HYPERLINK(1)",75\n',
        "utf-8",
    )
    return folder / "shop.toml"


def write_template(folder: Path) -> Path:
    """template.toml: texts and a title of its own; all sheets but the two that hold most of the formulas."""
    t = Texts()
    # Braces are placeholders in a template.
    said = [str(t).replace("{", "(").replace("}", ")") for _ in range(6)]
    (folder / "template.toml").write_text(
        f"""
schema = 1
[workbook]
reader = {said[0]}
prepared_for = {said[1]}
prepared_by = {said[2]}
sheets = [
  {{ sheet = "Summary", title = {said[3]} }}, {{ sheet = "Inputs" }}, {{ sheet = "Switching" }}, {{ sheet = "To check" }},
  {{ sheet = "Claims" }}, {{ sheet = "Risk" }}, {{ sheet = "Stresses" }}, {{ sheet = "Mixed plan" }},
]
[summary]
opening = [{said[4]}]
closing = [{said[5]}]
""",
        "utf-8",
    )
    return folder / "template.toml"


def write_language(folder: Path, shipped: Path) -> Path:
    """language.toml: a shipped language, each of its translations made to begin with a sign and to end a text."""
    lines = []
    for line in shipped.read_text("utf-8").splitlines():
        english, parted, said = line.partition('" = "')
        if parted and said.endswith('"'):
            start = STARTS[len(english) % 4]
            line = f'{english}{parted}{start}Z\\"&WEBSERVICE(1)&\\"{said}'
        lines.append(line)
    (folder / "language.toml").write_text("\n".join(lines), "utf-8")
    return folder / "language.toml"
