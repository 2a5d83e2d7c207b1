"""The command line's entry: the commands and their help. What a command does is loaded when it runs.

Exit codes: 0 done; 1 found wanting (`check` found mistakes, a check of `compare` failed, `diff` found a difference); 2 bad
input; 128 and more: stopped (`stopping`).
"""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path
from typing import Any

import click

from roi import __version__
from roi.cli.asking import COMMANDS as ASKING
from roi.cli.options import FILE, json_option, language_option
from roi.cli.papers import COMMANDS as PAPERS
from roi.cli.stopping import ended_when_asked, told_when_stopped

_SETTINGS = {"help_option_names": ["-h", "--help"], "max_content_width": 80}


class _Commands(click.Group):
    """The group of commands. Help is printed by click itself, which lets a full disk end in a traceback."""

    def make_context(self, *args: Any, **more: Any) -> click.Context:
        with told_when_stopped():
            return super().make_context(*args, **more)

    def invoke(self, ctx: click.Context) -> Any:
        with told_when_stopped():
            return super().invoke(ctx)

    def main(self, *args: Any, **more: Any) -> Any:
        # Nearly all that a command makes is in use until it ends: collecting after every 700 objects finds nothing.
        gc.set_threshold(500_000, 20, 100)
        try:
            with ended_when_asked():
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
      roi new myshop                        ten questions, and a start
      roi check shop.toml                   what is wrong or doubtful in it
      roi compare shop.toml -o shop.xlsx    the answer, and the workbook behind it
      roi brief shop.toml -o shop.html      the answer on one page, for anyone
      roi breakeven shop.toml               where another method costs less
      roi sensitivity shop.toml             what the answer depends on
      roi risk shop.toml                    how sure the answer is
      roi budget shop.toml --year 2027 -o budget.xlsx
      roi stress shop.toml                  what if things go badly
      roi mix shop.toml                     several methods, each press with one
      roi switching shop.toml               how far an input must go to turn it
      roi confirm shop.toml                 what to check next, and how
      roi claim shop.toml "pays back in 18 months"
      roi reconcile shop.toml ledger.csv    whether the books agree with it
      roi explain shop.toml "direct.Present cost"
      roi diff shop.toml other.xlsx         what differs between two
      roi batch clients -o clients.csv      every scenario in a folder

    A workbook that roi compare or roi new --workbook wrote is read wherever a scenario file is.

    Exit codes: 0 done, 1 found wanting, 2 bad input or usage, 130 stopped by Ctrl-C. Set NO_COLOR to print without emphasis.
    """
    if os.environ.get("NO_COLOR"):
        context.color = False


@main.command()
@click.argument("scenarios", metavar="SCENARIO...", type=FILE, nargs=-1, required=True)
@click.option(
    "-o",
    "--output",
    type=FILE,
    metavar="OUT.xlsx",
    help="The workbook to write. An old one is replaced only when the new one is whole. One scenario needs it; "
    "several are printed without.",
)
@json_option("Write every figure, unrounded, as JSON too.")
@click.option(
    "--template",
    default="owner",
    show_default=True,
    metavar="NAME-or-FILE",
    help="What the workbook shows, in which order and look: owner, budget_holder, consultant, or a .toml "
    "file of your own. Figures are the same in all.",
)
@language_option("the workbook's labels, sentences and charts, in place of the template's")
@click.option(
    "--all-sheets",
    is_flag=True,
    help="Of several scenarios, write all the sheets the template wants of each, ten times as many formulas.",
)
@click.pass_context
def compare(
    context: click.Context,
    scenarios: tuple[Path, ...],
    output: Path | None,
    json_output: Path | None,
    template: str,
    language: str,
    all_sheets: bool,
) -> None:
    """Compare the methods of SCENARIO: print the verdict, write the workbook.

    Costs are after tax and in the scenario's currency. "Payback" is simple payback against the current
    method; "not in 7" means not within 7 years.

    With two to ten scenarios, such as variants of a shop or several clients, they are put side by side: what
    each says, what differs between them, and each one's own sheets behind.

    Exits 1 when a check of the figures against each other fails, 2 when a SCENARIO, the template or the language can't be used.
    """
    if len(scenarios) > 1:
        from roi.cli.side_by_side import run as run_side_by_side

        context.exit(run_side_by_side(scenarios, output, json_output, template, all_sheets, language))
    if output is None:
        raise click.UsageError("Missing option '-o' / '--output'.", context)
    from roi.cli.compare import run

    context.exit(run(scenarios[0], output, json_output, template, language))


@main.command()
@click.argument("scenario", type=FILE)
@click.pass_context
def check(context: click.Context, scenario: Path) -> None:
    """Report what is wrong or doubtful in SCENARIO, all at once.

    Each finding says where it stands, what is wrong and how to mend it. Exits 0 when nothing was found,
    1 when the scenario can be used but has likely mistakes, 2 when it can't be used.
    """
    from roi.cli.check import run

    context.exit(run(scenario))


@main.command()
@click.argument("scenario", type=FILE)
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


for command in (*ASKING, *PAPERS):
    main.add_command(command)
