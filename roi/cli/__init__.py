"""The command line's entry: the commands and their help. What a command does is loaded when it runs.

Exit codes: 0 done; 1 found wanting (`check` found mistakes, a check of `compare` failed, `diff` found a difference); 2 bad
input.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

import click

from roi import __version__
from roi.cli.question_options import by_option, question_options

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

    A workbook that roi compare or roi new --workbook wrote is read wherever a scenario file is.

    Exit codes: 0 done, 1 found wanting, 2 bad input or usage. Set NO_COLOR to print without emphasis.
    """
    if os.environ.get("NO_COLOR"):
        context.color = False


@main.command()
@click.argument("scenarios", metavar="SCENARIO...", type=_FILE, nargs=-1, required=True)
@click.option(
    "-o",
    "--output",
    type=_FILE,
    metavar="OUT.xlsx",
    help="The workbook to write. An old one is replaced only when the new one is whole. One scenario needs it; "
    "several are printed without.",
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
@click.option(
    "--language",
    default="",
    metavar="NAME-or-FILE",
    help="The language of the workbook's labels, sentences and charts: en, de, or a .toml file of your own, in "
    "place of the template's.",
)
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
    method; ">7" means not within 7 years.

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
@click.argument("scenario", type=_FILE)
@click.option(
    "-o", "--output", type=_FILE, metavar="OUT.html", required=True, help="The page to write: one file, whole in itself."
)
@click.option(
    "--charts",
    type=_FILE,
    metavar="FOLDER",
    help="Write its charts, and those of cost by year and by family, as SVG and PNG files too. The folder is made "
    "where there is none.",
)
@click.option(
    "--template",
    default="owner",
    show_default=True,
    metavar="NAME-or-FILE",
    help="Whose heading, colours, font, logo and paper it has: owner, budget_holder, consultant, or a .toml file "
    "of your own.",
)
@click.pass_context
def brief(context: click.Context, scenario: Path, output: Path, charts: Path | None, template: str) -> None:
    """Write the answer for SCENARIO as one page that opens anywhere.

    The verdict, the measures of each method, cost against volume, what the answer depends on, what is still a
    default, likely mistakes and cautions. It opens in any browser without a network, reads on a telephone, and
    prints on one sheet. Needs matplotlib and jinja2, which come with the package's extra "page".
    """
    from roi.cli.brief import run

    context.exit(run(scenario, output, charts, template))


@main.command()
@click.argument("folder", type=_FILE)
@click.option("--workbook", is_flag=True, help="Write a workbook to fill in, shop.xlsx, instead of shop.toml.")
@click.option("--ask/--no-ask", default=True, help="Whether what is not given is asked for, at a terminal.")
@question_options
@click.pass_context
def new(context: click.Context, /, folder: Path, workbook: bool, ask: bool, **answers: str) -> None:
    """Ask ten questions and write a scenario to start with into FOLDER.

    Each question comes in a part or more, with an example; press Enter where you don't know. All can be given as
    options instead. What is not answered stays a default, and is called one. Nothing is written over.
    """
    from roi.cli.new import run

    context.exit(run(folder, by_option(answers), workbook, ask))


@main.command()
@click.argument("first", metavar="A", type=_FILE)
@click.argument("second", metavar="B", type=_FILE)
@click.option(
    "--json",
    "json_output",
    type=_FILE,
    metavar="OUT.json",
    help="Write everything that differs, unrounded, as JSON too.",
)
@click.pass_context
def diff(context: click.Context, first: Path, second: Path, json_output: Path | None) -> None:
    """Tell what differs between the scenarios or workbooks A and B.

    Inputs with what each says of them, texts and structure, and what comes of it: the verdict, and each method's
    present cost, equivalent annual cost and first cost. Exits 0 when nothing differs, 1 when something does.
    """
    from roi.cli.diff import run

    context.exit(run(first, second, json_output))


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
@click.argument("ledger", type=_FILE, required=False)
@click.option(
    "--year",
    metavar="FROM..TO",
    help="The ledger's year, such as 2025-08..2026-07; else that of [ledger] in SCENARIO, or of its log.",
)
@click.option(
    "--json",
    "json_output",
    type=_FILE,
    metavar="OUT.json",
    help="Write everything found, unrounded, as JSON too.",
)
@click.pass_context
def reconcile(
    context: click.Context, scenario: Path, ledger: Path | None, year: str | None, json_output: Path | None
) -> None:
    """Set the shop's LEDGER (.csv or .xlsx) against SCENARIO.

    The ledger's invoices by family against what the method in use costs at today's prices, what is not explained, and
    the least move of inputs within their ranges that would close it. [ledger] in SCENARIO says which columns are date,
    account, supplier and amount and what each account stands for; its file is read when LEDGER is left out.

    Exits 1 when the two differ by more than the tolerance stated, 2 when either can't be used.
    """
    from roi.cli.reconcile import run

    context.exit(run(scenario, ledger, year, json_output))


@main.command()
@click.argument("scenario", type=_FILE)
@click.option(
    "--year",
    type=int,
    metavar="YYYY",
    required=True,
    help="The year in which the budget year begins, in the month that money.year_begins states, else January.",
)
@click.option(
    "--switch-month",
    type=int,
    metavar="M",
    help="How many months of the year the old method still runs, 0 to 11; as leaving.month in SCENARIO says, else 0.",
)
@click.option(
    "--method",
    metavar="ID",
    help="The method that is switched to; else the cheapest of those that are not in use.",
)
@click.option("-o", "--output", type=_FILE, metavar="OUT.xlsx", required=True, help="The workbook to write.")
@click.option(
    "--json",
    "json_output",
    type=_FILE,
    metavar="OUT.json",
    help="Write every figure, unrounded, as JSON too.",
)
@click.pass_context
def budget(
    context: click.Context,
    scenario: Path,
    year: int,
    switch_month: int | None,
    method: str | None,
    output: Path,
    json_output: Path | None,
) -> None:
    """Write a year's budget of SCENARIO, month by month.

    Staying with the method in use beside switching to another: in cash and in profit and loss, with quarters, a
    year with less work, the year's dates, and a sheet to type what has been paid. A plan before tax on profit, not tax
    or accounting advice.

    Exits 1 when a check of the figures against each other fails, 2 when SCENARIO can't be used.
    """
    from roi.cli.budget import run

    context.exit(run(scenario, year, switch_month, method, output, json_output))


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


@main.command()
@click.argument("scenario", type=_FILE)
@click.option(
    "--json",
    "json_output",
    type=_FILE,
    metavar="OUT.json",
    help="Write everything found, unrounded, as JSON too.",
)
@click.pass_context
def stress(context: click.Context, scenario: Path, json_output: Path | None) -> None:
    """Try harsh things on SCENARIO, one at a time.

    Each group of prices dearer, less work and more, plates that wear out early, presses with hours to spare or sold out,
    a sole supplier that stops: whether another method is the cheapest then, and what staying costs above it.
    """
    from roi.cli.stresses import run

    context.exit(run(scenario, json_output))


@main.command()
@click.argument("scenario", type=_FILE)
@click.option(
    "--owned",
    metavar="METHOD,METHOD",
    help="The methods owned together, by their ids, such as polyester,processed. Without it: those that [plan] in "
    "SCENARIO states, else every two and three of its methods.",
)
@click.option("--names", is_flag=True, help="Show the job numbers of forms, on the screen and in JSON.")
@click.option(
    "--json",
    "json_output",
    type=_FILE,
    metavar="OUT.json",
    help="Write everything found, unrounded, as JSON too.",
)
@click.pass_context
def mix(
    context: click.Context, scenario: Path, owned: str | None, names: bool, json_output: Path | None
) -> None:
    """Try owning several methods of SCENARIO, each press with one of them.

    Each press gets the owned method whose variable cost is least for its work; the plan is then costed whole, with
    every owned method's fixed costs and the switching of presses for forms out of reach, and set against one method
    for all presses and against staying as you are. Costs are after tax.
    """
    from roi.cli.mix import run

    context.exit(run(scenario, owned, names, json_output))


@main.command()
@click.argument("scenario", type=_FILE)
@click.option("--full", is_flag=True, help="Compare at full cost instead of in cash.")
@click.option(
    "--json",
    "json_output",
    type=_FILE,
    metavar="OUT.json",
    help="Write every input, unrounded, as JSON too.",
)
@click.pass_context
def switching(context: click.Context, scenario: Path, full: bool, json_output: Path | None) -> None:
    """Find how far each input of SCENARIO alone must go to turn the answer.

    For every input the value nearest to its best at which another method is the cheapest, and the change that
    takes: in per cent of best, and of the input's own range. Inputs that don't switch it are counted.
    """
    from roi.cli.switching import run

    context.exit(run(scenario, json_output, full))


@main.command()
@click.argument("scenario", type=_FILE)
@click.option(
    "-o",
    "--output",
    type=_FILE,
    metavar="OUT.toml",
    help="Write the list as a scenario with blanks to fill in, beside SCENARIO.",
)
@click.option(
    "--json",
    "json_output",
    type=_FILE,
    metavar="OUT.json",
    help="Write the list, unrounded, as JSON too.",
)
@click.option(
    "--most", default=25, show_default=True, type=click.IntRange(1), help="How many inputs to list at most."
)
@click.option(
    "--drawn", is_flag=True, help="Rank by what knowing each is worth by joint draws, as roi risk does."
)
@click.pass_context
def confirm(
    context: click.Context,
    scenario: Path,
    output: Path | None,
    json_output: Path | None,
    most: int,
    drawn: bool,
) -> None:
    """Say what to check next in SCENARIO, and how.

    Inputs that are still a default or an estimate, ranked by what it would cost to be wrong about them, each
    with the way to confirm it. The list written with -o can be filled in and read as a scenario of its own.
    """
    from roi.cli.confirm import run

    context.exit(run(scenario, json_output, output, most, drawn))


@main.command()
@click.argument("scenario", type=_FILE)
@click.argument("text", metavar="CLAIM")
@click.option(
    "--method", metavar="NAME", help="The method it is about; else the one named, or the cheapest other one."
)
@click.option(
    "--json",
    "json_output",
    type=_FILE,
    metavar="OUT.json",
    help="Write every input, unrounded, as JSON too.",
)
@click.option(
    "--most", default=15, show_default=True, type=click.IntRange(1), help="How many inputs to show at most."
)
@click.pass_context
def claim(
    context: click.Context, scenario: Path, text: str, method: str | None, json_output: Path | None, most: int
) -> None:
    """Say what would have to be true for a CLAIM about SCENARIO.

    \b
    Understood, with or without a method's name before it:
      pays back in 18 months            (or years; against today's method)
      saves 5,000 a year                (level, over the years looked ahead)
      is the cheapest
      costs no more than 6.50 a plate
      breaks even at 400 plates a month (with today's method)

    For each input alone the value that would make it so; then the least part of the way to the ends of their
    ranges that all inputs together would have to go. Where it is so as stated: what would end it.
    """
    from roi.cli.claim import run

    context.exit(run(scenario, text, method, json_output, most))


@main.command()
@click.argument("scenario", type=_FILE)
@click.option(
    "--draws",
    type=click.IntRange(100, 2_000_000),
    metavar="N",
    help="How many draws; as [risk] in SCENARIO says, else 4096.",
)
@click.option(
    "--seed",
    type=click.IntRange(0, 2**32 - 1),
    metavar="S",
    help="Which draws: the same seed, the same draws.",
)
@click.option(
    "--shape", type=click.Choice(["pert", "triangular"]), help="How inputs spread over their ranges."
)
@click.option(
    "--json",
    "json_output",
    type=_FILE,
    metavar="OUT.json",
    help="Write every figure, unrounded, as JSON too.",
)
@click.pass_context
def risk(
    context: click.Context,
    scenario: Path,
    draws: int | None,
    seed: int | None,
    shape: str | None,
    json_output: Path | None,
) -> None:
    """Tell how sure the answer for SCENARIO is.

    Draws every input that has a range at once, many times: how often each method is the cheapest, what it saves
    in 10, 50 and 90 % of the draws, the regret of choosing it, what the saving varies with, and what knowing an
    input before choosing is worth. [risk] in SCENARIO states draws, seed, shape, and together: the share of the
    draws in which prices of one group move together.
    """
    from roi.cli.risk import run

    context.exit(run(scenario, draws, seed, shape, json_output))
