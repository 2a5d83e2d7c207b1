"""The command line's entry: the commands and their help. What a command does is loaded when it runs.

Exit codes: 0 done; 1 found wanting (`check` found mistakes, a check of `compare` failed); 2 bad input.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

import click

from roi import __version__

_SETTINGS = {"help_option_names": ["-h", "--help"], "max_content_width": 80}
_FILE = click.Path(path_type=Path)


class _Commands(click.Group):
    """The group of commands. Help is printed by click itself, which lets a full disk end in a traceback."""

    def main(self, *args: Any, **more: Any) -> Any:
        try:
            return super().main(*args, **more)
        except OSError as wrong:
            if wrong.filename is not None:  # some file's trouble, not that of stdout
                raise
            from roi.cli.reading import Unheard, drop_stdout

            drop_stdout()
            unheard = Unheard(f"fails ({wrong.strerror or wrong})")
            unheard.show()
            sys.exit(unheard.exit_code)


@click.group(cls=_Commands, context_settings=_SETTINGS)
@click.version_option(__version__, prog_name="roi")
@click.pass_context
def main(context: click.Context) -> None:
    """What each way of making offset plates costs a shop, over years.

    A SCENARIO is a TOML file that states the shop: its presses, plate sizes, prices, the methods to compare
    and the job log. What it leaves out is taken from shipped defaults, and shown as such.

    \b
    Start with
      roi check shop.toml                   what is wrong or doubtful in it
      roi compare shop.toml -o shop.xlsx    the answer, and the workbook behind it
      roi breakeven shop.toml               where another method costs less
      roi sensitivity shop.toml             what the answer depends on
      roi explain shop.toml "direct.Present cost"

    Exit codes: 0 done, 1 found wanting, 2 bad input or usage. Set NO_COLOR to print without emphasis.
    """
    if os.environ.get("NO_COLOR"):
        context.color = False


@main.command()
@click.argument("scenario", type=_FILE)
@click.option(
    "-o",
    "--output",
    required=True,
    type=_FILE,
    metavar="OUT.xlsx",
    help="The workbook to write. An old one is replaced only when the new one is whole.",
)
@click.option(
    "--json",
    "json_output",
    type=_FILE,
    metavar="OUT.json",
    help="Write every figure, unrounded, as JSON too.",
)
@click.option(
    "--template",
    default="owner",
    show_default=True,
    metavar="NAME-or-FILE",
    help="What the workbook shows, in which order and look: owner, budget_holder, consultant, or a .toml "
    "file of your own. Figures are the same in all.",
)
@click.pass_context
def compare(
    context: click.Context, scenario: Path, output: Path, json_output: Path | None, template: str
) -> None:
    """Compare the methods of SCENARIO: print the verdict, write the workbook.

    Costs are after tax and in the scenario's currency. "Payback" is simple payback against the current
    method; ">7" means not within 7 years.

    Exits 1 when a check of the figures against each other fails, 2 when SCENARIO or the template can't be used.
    """
    from roi.cli.compare import run

    context.exit(run(scenario, output, json_output, template))


@main.command()
@click.argument("scenario", type=_FILE)
@click.pass_context
def check(context: click.Context, scenario: Path) -> None:
    """Report what is wrong or doubtful in SCENARIO, all at once.

    Each finding says where it stands, what is wrong and how to mend it. Exits 0 when nothing was found,
    1 when the scenario can be used but has likely mistakes, 2 when it can't be used.
    """
    from roi.cli.check import run

    context.exit(run(scenario))


@main.command()
@click.argument("scenario", type=_FILE)
@click.argument("line")
@click.option(
    "--depth",
    default=3,
    show_default=True,
    type=click.IntRange(0, 50),
    help="How many steps down to follow the figure.",
)
@click.option(
    "--row",
    type=click.IntRange(1),
    metavar="N",
    help="Follow row N, counted from 1, of a figure that has rows, such as years.",
)
@click.pass_context
def explain(context: click.Context, scenario: Path, line: str, depth: int, row: int | None) -> None:
    """Show how a figure of SCENARIO comes about, down to what was stated.

    LINE is a line's key ("direct.Present cost"), its label ("Present cost"), or the key of an input
    ("shop.work_days"). A label that several sheets use needs the key; the choices are printed.
    """
    from roi.cli.explain import run

    context.exit(run(scenario, line, depth, row))


@main.command()
@click.argument("scenario", type=_FILE)
@click.option(
    "--by",
    metavar="KEY",
    help="Vary this input instead of plates a month, such as grades.prepress.wage.",
)
@click.option(
    "--json",
    "json_output",
    type=_FILE,
    metavar="OUT.json",
    help="Write every crossing, unrounded, as JSON too.",
)
@click.pass_context
def breakeven(context: click.Context, scenario: Path, by: str | None, json_output: Path | None) -> None:
    """Find where one method of SCENARIO becomes cheaper than another.

    For each pair of methods, every volume in plates a month at which the cheaper one changes: where both
    cost the same, or where a step ("jump" in JSON) such as one more pickup passes one over the other. With
    --by, every such value of an input, from a quarter to four times what is stated, within its limits.
    """
    from roi.cli.breakeven import run

    context.exit(run(scenario, by, json_output))


@main.command()
@click.argument("scenario", type=_FILE)
@click.option(
    "--json",
    "json_output",
    type=_FILE,
    metavar="OUT.json",
    help="Write every figure, unrounded, as JSON too.",
)
@click.pass_context
def sensitivity(context: click.Context, scenario: Path, json_output: Path | None) -> None:
    """Show what the answer for SCENARIO depends on.

    Inputs one at a time over their own ranges, ranked by how far they move the lead of the cheapest method;
    two inputs together; and the cheapest method by plates a month and run length. In cash, after tax, a year.
    """
    from roi.cli.sensitivity import run

    context.exit(run(scenario, json_output))
