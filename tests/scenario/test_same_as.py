"""`same_as`: which layers a method stands on, whose its numbers are, and what is refused, by file, key and mend."""

from __future__ import annotations

from pathlib import Path

import pytest

from roi.scenario.problems import BadInput
from roi.scenario.scenario import Scenario, read
from tests.small_shop import SHOP

METAL = SHOP.replace('current = "polyester"', 'current = "processed"').replace(
    "[methods.polyester.equipment.line]", "[methods.processed.equipment.setter]"
)
OWN = """
[methods.processed.plates.price]
small = { best = "3 USD/plate", low = "2 USD/plate", high = "4 USD/plate", status = "invoice", source = "ours" }
[methods.processed.baths.developer]
price = "4 USD/L"
volume = "30 L/change"
[methods.processed]
items.water = false
"""
NAMED = 'label = "Ours"\nshort = "Ours"\n'


def scenario(folder: Path, more: str, shop: str = METAL) -> Scenario:
    (folder / "shop.toml").write_text(shop + more, encoding="utf-8")
    return read(folder / "shop.toml")


def best(made: Scenario, *key: str) -> float | None:
    found = made.stated("methods", *key)
    return None if found is None else found.best


def test_the_layers_of_a_rival(tmp_path: Path) -> None:
    """The shop's own for `processed`, then what `processed_tuned` itself says, then what the shop says of the rival."""
    rival = '[methods.processed_tuned]\nsame_as = "processed"\ntasks.starting.minutes = "9 min/week"\n'
    made = scenario(tmp_path, OWN + rival)
    name = "processed_tuned"
    assert best(made, name, "plates", "price", "small") == 3  # the shop's, of the method it is the same as
    assert best(made, name, "baths", "developer", "price") == 4
    assert best(made, name, "baths", "developer", "volume") == 10  # the rival's own file above the shop's 30
    assert best(made, name, "stations", "processor", "hours_on") == 1.6
    assert best(made, name, "tasks", "starting", "minutes") == 9  # what is stated for the rival itself
    assert best(made, name, "equipment", "setter", "years_left") == 4
    assert "water" not in made.names("methods", name, "items")
    assert made.method(name).short == "Tuned metal" and made.bases(name) == ("processed",)
    # A number taken over is the same input, told of where it stands, and asked for once.
    mine, theirs = (made.input("methods", m, "plates", "price", "small") for m in (name, "processed"))
    assert mine is theirs and mine.key == "methods.processed.plates.price.small"
    assert ("methods", name, "plates", "price", "small") not in made.inputs
    assert made.input("methods", name, "baths", "developer", "volume").key.startswith(
        "methods.processed_tuned."
    )


def test_a_replacement_is_bought(tmp_path: Path) -> None:
    """The shop's machine is owned, with what goes with that; the rival's isn't, and its file's prices stand."""
    owned = (
        'tax_book = "900 USD"\ntax_years_left = "2 year"\nresale_now = "700 USD"\nresale_fall = "20 %/year"\n'
    )
    owned += 'repairs = "300 USD/year"\nrepair_growth = "10 %/year"\nsupport_left = "4 year"\nfreight = "650 USD"\n'
    shop = METAL.replace('years_left = "4 year"\n', f'years_left = "4 year"\n{owned}')
    service = '[methods.processed.last_year]\nservice = "2000 USD/year"\n'
    rivals = "".join(f'[methods.{m}]\nsame_as = "processed"\n' for m in ("processed_new", "processed_used"))
    made = scenario(tmp_path, service + rivals, shop)
    for name, price in (("processed_new", 70000), ("processed_used", 25000)):
        setter = (name, "equipment", "setter")
        gone = (
            "years_left",
            "tax_book",
            "tax_years_left",
            "resale_now",
            "resale_fall",
            "repair_growth",
            "support_left",
        )
        assert [best(made, *setter, key) for key in gone] == [None] * len(gone)
        assert best(made, *setter, "price") == price and best(made, *setter, "freight") == 650
        assert best(made, *setter, "repairs") == 300 and best(made, name, "last_year", "service") is None
    rented = METAL.replace('years_left = "4 year"\n', 'rental = "300 USD/month"\nrental_left = "9 month"\n')
    made = scenario(tmp_path, rivals, rented)
    assert not made.has("methods", "processed", "equipment", "setter", "price")
    new = ("processed_new", "equipment", "setter")
    assert (
        best(made, *new, "rental") is None
        and best(made, *new, "price") == 70000
        and best(made, *new, "life") == 10
    )


def test_one_on_another_and_in_a_variant(tmp_path: Path) -> None:
    """A chain, whichever stands first in the file; and a variant's own words for the base reach all of it."""
    chain = f'[methods.both]\nsame_as = "processed_tuned"\n{NAMED}[methods.processed_tuned]\nsame_as = "processed"\n'
    scenario(tmp_path, OWN + chain)
    variant = 'schema = 1\nbased_on = "shop.toml"\n[methods.processed.plates]\nprice.small = "5 USD/plate"\n'
    (tmp_path / "variant.toml").write_text(variant, encoding="utf-8")
    made = read(tmp_path / "variant.toml")
    assert made.bases("both") == ("processed_tuned", "processed")
    order = [m.id for m in made.methods]
    assert order.index("processed") < order.index("processed_tuned") < order.index("both")
    for name in ("processed_tuned", "both"):
        assert best(made, name, "plates", "price", "small") == 5
        assert best(made, name, "baths", "developer", "volume") == 10
    assert made.input("methods", "both", "baths", "developer", "volume").key.startswith(
        "methods.processed_tuned."
    )


def test_files_of_ones_own(tmp_path: Path) -> None:
    """A file based on the same shipped one counts with what it says, and so does one that says only what differs."""
    (tmp_path / "two_days.toml").write_text(
        'schema = 1\nuse = "processed_tuned"\n[baths.gum]\nvolume = "2 L/change"\n', "utf-8"
    )
    (tmp_path / "cheap.toml").write_text('schema = 1\n[baths.gum]\nvolume = "1 L/change"\n', "utf-8")
    for file, gum, developer in (("two_days.toml", 2, 10), ("cheap.toml", 1, 30)):
        made = scenario(tmp_path, OWN + f'[methods.ours]\nuse = "{file}"\nsame_as = "processed"\n{NAMED}')
        assert best(made, "ours", "baths", "gum", "volume") == gum
        assert best(made, "ours", "baths", "developer", "volume") == developer
        assert best(made, "ours", "plates", "price", "small") == 3


@pytest.mark.parametrize(
    ("text", "where", "what", "mend"),
    [
        (
            f'[methods.ours]\nsame_as = "processd"\n{NAMED}',
            "methods.ours.same_as",
            "'processd' is not among the methods",
            'was "processed" meant?',
        ),
        (
            f"[methods.ours]\nsame_as = 3\n{NAMED}",
            "methods.ours.same_as",
            "3 is not among the methods",
            "one of processed, direct",
        ),
        (
            f'[methods.ours]\nsame_as = "ours"\n{NAMED}',
            "methods.ours.same_as",
            "names the method itself",
            "one of processed, direct",
        ),
        (
            f'[methods.ours]\nsame_as = "theirs"\n{NAMED}[methods.theirs]\nsame_as = "ours"\nlabel = "T"\nshort = "T"\n',
            "methods.ours.same_as",
            "leads back to itself: ours -> theirs -> ours",
            "let one of them stand on its own",
        ),
        (
            f'[methods.ours]\nuse = "polyester_new"\nsame_as = "processed"\n{NAMED}',
            "methods.ours.same_as",
            "starts from the shipped method polyester_new too, which is no variant of processed",
            "take same_as out, or write use = the name of a file based on what processed starts from",
        ),
        (
            '[methods.processed]\nsame_as = "direct"\n',
            "methods.processed.same_as",
            "the current method is what the others start from",
            "state processed itself, and let direct be the same as it",
        ),
    ],
)
def test_what_can_not_be_is_refused(tmp_path: Path, text: str, where: str, what: str, mend: str) -> None:
    with pytest.raises(BadInput) as bad:
        scenario(tmp_path, text)
    assert (f"shop.toml, {where}", what, mend) in [(p.where, p.what, p.mend) for p in bad.value.problems]


def test_what_is_wrong_with_a_number_taken_over_is_told_once(tmp_path: Path) -> None:
    rival = '[methods.processed_tuned]\nsame_as = "processed"\n'
    with pytest.raises(BadInput) as bad:
        scenario(tmp_path, '[methods.processed.plates]\nprice.small = "3 L/plate"\n' + rival)
    told = [p.where for p in bad.value.problems if "plates.price" in p.where]
    assert told == ["shop.toml, methods.processed.plates.price.small"]


def test_without_a_label_it_has_no_name(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as bad:
        scenario(tmp_path, '[methods.ours]\nsame_as = "processed"\n')
    assert ("shop.toml, methods.ours.label", "is missing") in [(p.where, p.what) for p in bad.value.problems]
