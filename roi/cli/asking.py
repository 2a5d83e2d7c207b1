"""Commands that ask a scenario one more question. Each imports what it needs when it runs."""

from __future__ import annotations

from pathlib import Path

import click

from roi.cli.options import FILE, json_option


@click.command()
@click.argument("scenario", type=FILE)
@click.option(
    "--by",
    metavar="KEY",
    help="Vary this input instead of plates a month, such as grades.prepress.wage.",
)
@json_option("Write every crossing, unrounded, as JSON too.")
@click.pass_context
def breakeven(context: click.Context, scenario: Path, by: str | None, json_output: Path | None) -> None:
    """Find where one method of SCENARIO becomes cheaper than another.

    For each pair of methods, every volume in plates a month at which the cheaper one changes: where both
    cost the same, or where a step ("jump" in JSON) such as one more pickup passes one over the other. With
    --by, every such value of an input, from a quarter to four times what is stated, within its limits.
    """
    from roi.cli.breakeven import run

    context.exit(run(scenario, by, json_output))


@click.command()
@click.argument("scenario", type=FILE)
@json_option("Write every figure, unrounded, as JSON too.")
@click.pass_context
def sensitivity(context: click.Context, scenario: Path, json_output: Path | None) -> None:
    """Show what the answer for SCENARIO depends on.

    Inputs one at a time over their own ranges, ranked by how far they move the lead of the cheapest method;
    two inputs together; and the cheapest method by plates a month and run length. In cash, after tax, a year.
    """
    from roi.cli.sensitivity import run

    context.exit(run(scenario, json_output))


@click.command()
@click.argument("scenario", type=FILE)
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
@json_option("Write every figure, unrounded, as JSON too.")
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


@click.command()
@click.argument("scenario", type=FILE)
@json_option()
@click.pass_context
def stress(context: click.Context, scenario: Path, json_output: Path | None) -> None:
    """Try harsh things on SCENARIO, one at a time.

    Each group of prices dearer, less work and more, plates that wear out early, presses with hours to spare or sold out,
    a sole supplier that stops: whether another method is the cheapest then, and what staying costs above it.
    """
    from roi.cli.stresses import run

    context.exit(run(scenario, json_output))


@click.command()
@click.argument("scenario", type=FILE)
@click.option("--full", is_flag=True, help="Compare at full cost instead of in cash.")
@json_option("Write every input, unrounded, as JSON too.")
@click.pass_context
def switching(context: click.Context, scenario: Path, full: bool, json_output: Path | None) -> None:
    """Find how far each input of SCENARIO alone must go to turn the answer.

    For every input the value nearest to its best at which another method is the cheapest, and the change that
    takes: in per cent of best, and of the input's own range. Inputs that don't switch it are counted.
    """
    from roi.cli.switching import run

    context.exit(run(scenario, json_output, full))


@click.command()
@click.argument("scenario", type=FILE)
@click.option(
    "-o",
    "--output",
    type=FILE,
    metavar="OUT.toml",
    help="Write the list as a scenario with blanks to fill in, beside SCENARIO.",
)
@json_option("Write the list, unrounded, as JSON too.")
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


@click.command()
@click.argument("scenario", type=FILE)
@click.argument("text", metavar="CLAIM")
@click.option(
    "--method", metavar="NAME", help="The method it is about; else the one named, or the cheapest other one."
)
@json_option("Write every input, unrounded, as JSON too.")
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


@click.command()
@click.argument("scenario", type=FILE)
@click.option(
    "--owned",
    metavar="METHOD,METHOD",
    help="The methods owned together, by their ids, such as polyester,processed. Without it: those that [plan] in "
    "SCENARIO states, else every two and three of its methods.",
)
@click.option("--names", is_flag=True, help="Show the job numbers of forms, on the screen and in JSON.")
@json_option()
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


COMMANDS = (
    breakeven,
    sensitivity,
    risk,
    stress,
    switching,
    confirm,
    claim,
    mix,
)
