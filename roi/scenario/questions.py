"""The ten questions a shop starts with, each in plain words with an example, and where in a scenario its answer belongs.

Data only, and light: the command line makes its options of it. Reading an answer and writing the scenario is in `starter`.
In tables and units stand {now}, {quoted}, {currency} and what the two methods call their machine, station and cleaning.
"""

from __future__ import annotations

from dataclasses import dataclass

NOT_KNOWN = ""

TITLES = (
    "Before the ten: the shop, its money, its methods",
    "Plates a month by size",
    "Shares of forms by run, and how much is uncoated",
    "Fine and difficult work",
    "Plate prices: now and as quoted",
    "Last year's totals for chemistry, waste and service",
    "The all-in quote, and how long the machine owned today will last",
    "Hands-on minutes, cleaning, and what freed time turns into",
    "Is the press full, and what an hour of it is worth",
    "Plates made again",
    "Days down, and plates bought in",
)


@dataclass(frozen=True)
class Facts:
    """What a shipped method calls its parts: machine, the station that images, further stations, and cleaning by its unit."""

    machine: str
    station: str
    others: tuple[str, ...]
    task: str
    task_unit: str
    chemistry: bool


# What an all-in quote holds besides the price: not counted once more.
IN_THE_QUOTE = ("freight", "installation", "training")
# Methods a starter can begin from, today's or quoted.
METHODS = {
    "polyester": Facts("line", "imager", (), "daily", "min/day", True),
    "processed": Facts("setter", "imager", ("processor",), "weekly", "min/week", True),
    "direct": Facts("line", "imager", ("curing",), "daily", "min/day", False),
    "bought_in": Facts("", "", (), "", "", False),
}
MACHINES = tuple(name for name, facts in METHODS.items() if facts.machine)


@dataclass(frozen=True)
class Question:
    """One thing asked.

    option : its name as an option;  number : which of the ten it belongs to, 0 before them
    words, example : as asked;  kind : how an answer is read (see `starter`)
    table, key, unit : where the answer goes, and the unit it is taken in where it names none
    status : what the answer is called there: a quote or an invoice where it asks for one, else an estimate
    only : "machine" where today's method has one, "chemistry" where it has baths
    choices : what may be answered, of a choice
    """

    option: str
    number: int
    words: str
    example: str
    kind: str
    table: str = ""
    key: str = ""
    unit: str = ""
    status: str = "estimate"
    only: str = ""
    choices: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The option's name as a Python name."""
        return self.option.replace("-", "_")


QUESTIONS = (
    Question("name", 0, "What is the shop called?", "Corner Press", "text"),
    Question("currency", 0, "Which currency, as its ISO code?", "USD", "currency"),
    Question(
        "per-dollar", 0, "How many {currency} is one US dollar? Default prices are in dollars. Type ? if you don't know.",
        "0.92", "rate",
    ),
    Question("today", 0, "How are plates made today?", "polyester", "choice", choices=tuple(METHODS)),
    Question("quoted", 0, "Which method have you been quoted, or do you weigh?", "direct", "choice", choices=MACHINES),
    Question(
        "plates", 1, "Which plate sizes, and how many plates of each a month?",
        "10 in x 15 in: 220; 13 in x 19 3/8 in: 180", "sizes",
    ),
    Question(
        "runs", 2, "Of 100 forms (one side of one press sheet), how many run under 1,000 impressions, 1,000 to 5,000, "
        "5,000 to 15,000, 15,000 to 50,000, and more?", "48 40 9 3 0", "runs",
    ),
    Question("uncoated", 2, "How much of the work is on uncoated stock?", "60 %", "work", key="uncoated"),
    Question("tight", 3, "How much is four-colour work in tight register?", "5 %", "work", key="tight"),
    Question("fine", 3, "How much has a screen above 150 lpi?", "4 %", "work", key="above_150_lpi"),
    Question("uv", 3, "How much is printed with UV ink?", "0 %", "work", key="uv"),
    Question(
        "price-now", 4, "What does a plate cost today, a price for each size, in the order of the sizes?", "1.35; 2.20", "each",
        "methods.{now}.plates.price", unit="{currency}/plate", only="machine",
    ),
    Question(
        "price-quoted", 4, "What is a plate of the other method quoted at, a price for each size?", "2.70; 4.10", "each",
        "methods.{quoted}.plates.price", unit="{currency}/plate", status="quote",
    ),
    Question(
        "chemistry", 5, "What did chemistry cost last year in all, by your invoices?", "1900", "amount",
        "methods.{now}.last_year", "chemistry", "{currency}/year", "invoice", "chemistry",
    ),
    Question(
        "waste", 5, "What did it cost last year to have spent chemistry taken away, by your invoices?", "700", "amount",
        "methods.{now}.last_year", "waste", "{currency}/year", "invoice", "chemistry",
    ),
    Question(
        "service", 5, "What did service and repairs of the plate equipment cost last year, by your invoices?", "1500", "amount",
        "methods.{now}.last_year", "service", "{currency}/year", "invoice", "machine",
    ),
    Question(
        "quote", 6, "What is the other method's equipment quoted at, with freight, installation and training?", "18500", "amount",
        "methods.{quoted}.equipment.{quoted_machine}", "price", "{currency}", "quote",
    ),
    Question(
        "years-left", 6, "How many years will the plate equipment you own still last (0: replace it now)?", "3", "amount",
        "methods.{now}.equipment.{now_machine}", "years_left", "year", only="machine",
    ),
    Question(
        "support-left", 6, "For how many years will its maker still support it?", "4", "amount",
        "methods.{now}.equipment.{now_machine}", "support_left", "year", only="machine",
    ),
    Question(
        "contract", 6, "What does its service contract cost a year (0 for none)?", "1200", "amount",
        "methods.{now}.equipment.{now_machine}", "contract", "{currency}/year", only="machine",
    ),
    Question(
        "hands-on", 7, "How many minutes of somebody's hands does a plate take?", "1.5", "amount",
        "methods.{now}.stations.{now_station}", "hands_on", "min/plate", only="machine",
    ),
    Question(
        "cleaning", 7, "How many minutes does cleaning the plate equipment take ({now_task_unit})?", "12", "amount",
        "methods.{now}.tasks.{now_task}", "minutes", "{now_task_unit}", only="machine",
    ),
    Question(
        "freed", 7, "Of prepress time that is freed, how much turns into money (overtime cut, paid work)?", "20 %", "share",
        "grades.prepress", "cash_share",
    ),
    Question(
        "press-full", 8, "Has the press hours to spare, does it run overtime, or is it sold out?", "overtime", "state",
        "presses.press", "state", choices=("spare", "overtime", "sold out"),
    ),
    Question(
        "press-hour", 8, "What is an hour of the press charged at?", "60", "amount", "presses.press", "full_rate",
        "{currency}/h",
    ),
    Question(
        "press-extra", 8, "How many more minutes of make-ready would a plate of the other method take?", "0", "amount",
        "methods.{quoted}.press", "loose_minutes", "min/plate",
    ),
    Question(
        "remakes", 9, "Of 100 plates, how many are made again, whatever the method?", "4 %", "share", "shop", "base_remakes",
    ),
    Question("failures", 9, "Of 100 sets of plates, how many fail early on the press?", "2 %", "share", "shop", "early_failure"),
    Question(
        "days-down", 10, "On how many days a year does the plate equipment stand?", "2", "amount", "methods.{now}.downtime",
        "days", "day/year", only="machine",
    ),
    Question(
        "bought-in", 10, "What does a plate cost bought in, a price for each size?", "12; 15", "each", "bought_in.price",
        unit="{currency}/plate",
    ),
)  # fmt: skip

__all__ = ["IN_THE_QUOTE", "MACHINES", "METHODS", "NOT_KNOWN", "QUESTIONS", "TITLES", "Facts", "Question"]
