"""Commands around the answer: a start, differences, the books, a budget, one page, many scenarios. Each imports as it runs."""

from __future__ import annotations

from pathlib import Path

import click

from roi.cli.options import FILE, json_option, language_option
from roi.cli.question_options import by_option, question_options


@click.command()
@click.argument("folder", type=FILE)
@click.option(
    "--workbook", is_flag=True, help="Write a workbook to fill in, shop.xlsx, instead of shop.toml."
)
@click.option("--ask/--no-ask", default=True, help="Whether what is not given is asked for, at a terminal.")
@language_option("the workbook to fill in (with --workbook)")
@question_options
@click.pass_context
def new(
    context: click.Context, /, folder: Path, workbook: bool, ask: bool, language: str, **answers: str
) -> None:
    """Ask ten questions and write a scenario to start with into FOLDER.

    Each question comes in a part or more, with an example; press Enter where you don't know. All can be given as
    options instead. What is not answered stays a default, and is called one. Nothing is written over.
    """
    from roi.cli.new import run

    context.exit(run(folder, by_option(answers), workbook, ask, language))


@click.command()
@click.argument("first", metavar="A", type=FILE)
@click.argument("second", metavar="B", type=FILE)
@json_option("Write everything that differs, unrounded, as JSON too.")
@click.pass_context
def diff(context: click.Context, first: Path, second: Path, json_output: Path | None) -> None:
    """Tell what differs between the scenarios or workbooks A and B.

    Inputs with what each says of them, texts and structure, and what comes of it: the verdict, and each method's
    present cost, equivalent annual cost and first cost. Exits 0 when nothing differs, 1 when something does.
    """
    from roi.cli.diff import run

    context.exit(run(first, second, json_output))


@click.command()
@click.argument("scenario", type=FILE)
@click.argument("ledger", type=FILE, required=False)
@click.option(
    "--year",
    metavar="FROM..TO",
    help="The ledger's year, such as 2025-08..2026-07; else that of [ledger] in SCENARIO, or of its log.",
)
@json_option()
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


@click.command()
@click.argument("scenario", type=FILE)
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
@click.option("-o", "--output", type=FILE, metavar="OUT.xlsx", required=True, help="The workbook to write.")
@click.option(
    "--template",
    default="owner",
    show_default=True,
    metavar="NAME-or-FILE",
    help="Whose colours, font, paper and language it has, and what is kept out of it: owner, budget_holder, "
    "consultant, or a .toml file of your own.",
)
@language_option("the workbook's labels, sentences and charts, in place of the template's")
@json_option("Write every figure, unrounded, as JSON too.")
@click.pass_context
def budget(
    context: click.Context,
    scenario: Path,
    year: int,
    switch_month: int | None,
    method: str | None,
    output: Path,
    template: str,
    language: str,
    json_output: Path | None,
) -> None:
    """Write a year's budget of SCENARIO, month by month.

    Staying with the method in use beside switching to another: in cash and in profit and loss, with quarters, a
    year with less work, the year's dates, and a sheet to type what has been paid. A plan before tax on profit, not tax
    or accounting advice.

    Exits 1 when a check of the figures against each other fails, 2 when SCENARIO, the template or the language can't be used.
    """
    from roi.cli.budget import run

    context.exit(run(scenario, year, switch_month, method, output, json_output, template, language))


@click.command()
@click.argument("scenario", type=FILE)
@click.option(
    "-o",
    "--output",
    type=FILE,
    metavar="OUT.html",
    required=True,
    help="The page to write: one file, whole in itself.",
)
@click.option(
    "--charts",
    type=FILE,
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
@language_option("the page and its charts, in place of the template's")
@click.pass_context
def brief(
    context: click.Context, scenario: Path, output: Path, charts: Path | None, template: str, language: str
) -> None:
    """Write the answer for SCENARIO as one page that opens anywhere.

    The verdict, the measures of each method, cost against volume, what the answer depends on, what is still a
    default, likely mistakes and cautions. It opens in any browser without a network, reads on a telephone, and
    prints on one sheet. Needs matplotlib and jinja2, which come with the package's extra "page".
    """
    from roi.cli.brief import run

    context.exit(run(scenario, output, charts, template, language))


@click.command()
@click.argument("folder", type=FILE)
@click.option(
    "-o",
    "--output",
    type=FILE,
    metavar="OUT.csv",
    help="Write a line a scenario: verdict, present costs, problems.",
)
@json_option("Write the same as JSON too.")
@click.option(
    "--workers",
    type=click.IntRange(1, 61),
    metavar="N",
    help="Processes to share the work; else one for up to twenty scenarios, and one a core for more.",
)
@click.pass_context
def batch(
    context: click.Context, folder: Path, output: Path | None, json_output: Path | None, workers: int | None
) -> None:
    """Reckon every scenario in FOLDER and in the folders below it.

    Scenarios are .toml files that state a currency, a method in use or what they are based on; others are left out, and
    named. Workbooks are left out too, and counted. One that can't be used is told and stops no other.

    Exits 1 when a scenario is not reckoned or a check of its figures fails, 2 when none is reckoned.
    """
    from roi.cli.batch import run

    context.exit(run(folder, output, json_output, workers))


COMMANDS = (
    new,
    diff,
    reconcile,
    budget,
    brief,
    batch,
)
