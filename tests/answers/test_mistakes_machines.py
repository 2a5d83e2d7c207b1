"""Rules about machines and what staying costs: each fires on a shop that makes the mistake, and is silent without it.

Thresholds are conventions of the tool; the figures in messages are worked out by hand beside the test. Shipped lives are 5
years (direct) and 7 (polyester), the horizon is 7 years, and the polyester line has 4 years left.
"""

import pytest

from roi.answers import mistakes_machines as rules
from tests.answers.mistaken_shop import LINE, OWNED, POLYESTER, check_fires, told

USED = LINE + 'price = "6000 USD"\nbought = "used"\n'
PAID = '\n[methods.direct.plates.price]\nsmall = { best = "4 USD/plate", status = "%s" }\n'
COUNTED = '[methods.direct.life]\ncoated = { best = "20000 impression", status = "%s" }\n'
BATHS = "\n[methods.polyester.baths]\n"
PROCESSED = "\n[methods.processed]\n"

FIRES = [
    # Shipped: freight 450, installation 1,200, training 300.
    (
        rules.quote_and_defaults,
        '\n[methods.direct.equipment.line]\nprice = "18500 USD"',
        (),
        "to this price USD 1,950 of defaults are added",
    ),
    (
        rules.bought_again,
        "",
        (('[methods.polyester.equipment.line]\nyears_left = "4 year"', "[methods.polyester]"),),
        "today's machine is bought again in year 0",
    ),
    (rules.residual_too_high, LINE + 'resale = "30 %"', (), "30% of the price after 5 years"),
    # Bought at 0, life 10, horizon 7: 3 of 10 years left, 10 % + 90 % x 0.3 = 37 %.
    (
        rules.residual_too_high,
        LINE + 'life = "10 year"',
        (),
        "7 years old and still counted at 37% of its price",
    ),
    (
        rules.stay_without_replacement,
        "",
        (('years_left = "4 year"', 'years_left = "9 year"'),),
        "not replaced within the 7 years",
    ),
    (
        rules.stay_without_replacement,
        POLYESTER + "equipment = false",
        (('[methods.polyester.equipment.line]\nyears_left = "4 year"', ""),),
        "has no machine to replace",
    ),
    (
        rules.stay_without_upkeep,
        "",
        (('years_left = "4 year"', 'years_left = "4 year"\ncontract = "0 USD/year"'),),
        "no contract and no repairs",
    ),
    (
        rules.used_with_new_life,
        USED,
        (),
        "bought used, with the 5 years of life shipped for a new one",
    ),
    (
        rules.used_with_new_life,
        USED + 'life = "8 year"\nnew_life = "8 year"',
        (),
        "bought used, and to last 8 years, where a new one lasts 8",
    ),
    (
        rules.beyond_support,
        LINE + 'support_left = "3 year"',
        (),
        "support ends after 3 years, and the machine is counted on for 5",
    ),
    (
        rules.beyond_support,
        LINE + 'life = "12 year"\nsupport_left = "6 year"',
        (),
        "support ends after 6 years, and the machine is counted on for 7",
    ),
    (
        rules.beyond_support,
        "",
        ((OWNED, OWNED + '\nsupport_left = "0 year"'),),
        "support ends after 0 years, and the machine is counted on for 4",
    ),
    (
        rules.sellers_life,
        PAID % "invoice" + COUNTED % "quote",
        (),
        "plate life is a seller's word (quote), while the price is your own (invoice)",
    ),
    (
        rules.sellers_life,
        LINE + 'price = "15000 USD"\nlife = { best = "8 year", status = "quote" }',
        (),
        "Imager and curing unit life is a seller's word (quote), while the price is your own (estimate)",
    ),
    (
        rules.stay_without_baths,
        BATHS + "stabiliser = false",
        (),
        "runs without Stabiliser, which its kind has",
    ),
    (
        rules.stay_without_baths,
        POLYESTER + "baths = false\ntasks.bath_change = false",
        (),
        "runs without Activator, Stabiliser, which its kind has",
    ),
    (
        rules.stay_without_baths,
        BATHS + 'activator.price = "0 USD/L"',
        (),
        "Activator of the method in use costs nothing",
    ),
    (
        rules.invoice_not_counted,
        '\n[methods.direct.last_year]\nchemistry = "500 USD/year"',
        (),
        "what was invoiced for chemistry is counted nowhere: Direct has no bath",
    ),
    (
        rules.invoice_not_counted,
        '\n[methods.direct.last_year]\nwaste = "300 USD/year"',
        (),
        "what was invoiced for waste is counted nowhere: Direct has no waste stream",
    ),
    (
        rules.rival_on_shipped_figures,
        "[methods.polyester_dry]\n[methods.polyester_new]\n",
        (),
        "Dry polyester runs on shipped figures where your own are stated for Polyester, such as equipment.line.years_left, and "
        "pays for leaving that method (so does New polyester line)",
    ),
    (
        rules.rival_on_shipped_figures,
        '[methods.ours]\nuse = "polyester_new"\n',
        (),
        "New polyester line runs on shipped figures where your own are stated for Polyester",
    ),
]

SILENT = [
    (rules.used_with_new_life, USED.replace("used", "new"), ()),
    (rules.used_with_new_life, USED + 'life = "3 year"', ()),
    (rules.used_with_new_life, USED + 'life = "5 year"\nnew_life = "8 year"', ()),
    # Shipped as bought used: 5 years, of 10 when new.
    (rules.used_with_new_life, PROCESSED, ()),
    (rules.beyond_support, LINE + 'support_left = "5 year"', ()),
    (rules.beyond_support, LINE + 'life = "12 year"\nsupport_left = "7 year"', ()),
    (rules.beyond_support, "", ((OWNED, OWNED + '\nsupport_left = "4 year"'),)),
    (rules.sellers_life, PAID % "invoice" + COUNTED % "measured", ()),
    (rules.sellers_life, PAID % "quote" + COUNTED % "quote", ()),
    (rules.stay_without_baths, BATHS + 'activator.price = "4 USD/L"', ()),
    # A method that isn't in use may leave out what it likes.
    (rules.stay_without_baths, PROCESSED + "baths.gum = false", ()),
    (rules.rival_on_shipped_figures, '\n[methods.polyester_new]\nsame_as = "polyester"\n', ()),
    # Based on another one than that in use; and where nothing is said of that in use, nothing is lost.
    (rules.rival_on_shipped_figures, "\n[methods.processed_tuned]\n", ()),
    (
        rules.rival_on_shipped_figures,
        "\n[methods.polyester_new]\n",
        ((f"[methods.polyester.equipment.line]\n{OWNED}", "[methods.polyester]"),),
    ),
    (rules.invoice_not_counted, '\n[methods.polyester.last_year]\nchemistry = "500 USD/year"', ()),
]


@pytest.mark.parametrize(
    ("rule", "more", "changes", "says"), FIRES, ids=lambda x: getattr(x, "__name__", None)
)
def test_a_rule_fires_on_its_mistake_and_not_without_it(tmp_path, rule, more, changes, says):
    check_fires(tmp_path, rule, more, changes, says)


@pytest.mark.parametrize(("rule", "more", "changes"), SILENT, ids=lambda x: getattr(x, "__name__", None))
def test_a_rule_keeps_silent_where_the_same_is_stated_rightly(tmp_path, rule, more, changes):
    assert told(tmp_path, rule, more, *changes) == []
