"""`roi new` as a user runs it: asked, by options, or not at all; a file or a workbook, and never over anything."""

import datetime as dt

import pytest
from click.testing import CliRunner

import roi.cli.new
from roi.cli import main
from roi.scenario.questions import METHODS, QUESTIONS
from roi.scenario.scenario import read
from roi.scenario.starter import asked, checked, sizes_of, unclear, write

# The invented shop of scenarios/ten_answers, as its owner would answer.
ANSWERS = {
    "name": "Ten answers, invented shop", "today": "polyester", "plates": "10 in x 15 in: 220; 13 in x 19 3/8 in: 180",
    "runs": "48 40 9 3 0", "uncoated": "60 %", "tight": "5", "fine": "4 %", "uv": "0", "price-now": "1.35; 2.20",
    "price-quoted": "2.70; 4.10", "chemistry": "1900", "waste": "700 USD/year", "service": "1,500", "quote": "18500",
    "years-left": "3", "hands-on": "1.5 min", "cleaning": "12", "freed": "20 %", "press-full": "overtime",
    "press-hour": "60", "remakes": "4 %", "days-down": "2", "bought-in": "12; 15",
}  # fmt: skip
# The same numbers as that scenario's file states them, by key: best in the unit shown, and how known.
STATED = {
    "methods.polyester.plates.price.small": (1.35, "invoice"), "methods.polyester.plates.price.large": (2.20, "invoice"),
    "methods.direct.plates.price.small": (2.70, "quote"), "methods.direct.plates.price.large": (4.10, "quote"),
    "methods.polyester.last_year.chemistry": (1900, "invoice"), "methods.polyester.last_year.waste": (700, "invoice"),
    "methods.polyester.last_year.service": (1500, "invoice"), "methods.direct.equipment.line.price": (18500, "quote"),
    # All in: what the quote holds besides the price is not counted once more.
    "methods.direct.equipment.line.freight": (0, "quote"), "methods.direct.equipment.line.installation": (0, "quote"),
    "methods.direct.equipment.line.training": (0, "quote"), "methods.polyester.equipment.line.years_left": (3, "estimate"),
    "methods.polyester.stations.imager.hands_on": (1.5, "estimate"),
    "methods.polyester.tasks.daily.minutes": (12, "estimate"), "grades.prepress.cash_share": (0.20, "estimate"),
    "presses.press.state": (2, "estimate"), "presses.press.full_rate": (60, "estimate"),
    "shop.base_remakes": (0.04, "estimate"), "methods.polyester.downtime.days": (2, "estimate"),
    "bought_in.price.small": (12, "quote"), "bought_in.price.large": (15, "quote"),
}  # fmt: skip


def run(*words, answers=None):
    return CliRunner().invoke(main, [str(w) for w in words], input=answers, env={"COLUMNS": "80"})


def options(answers):
    return [word for name, answer in answers.items() for word in (f"--{name}", answer)]


def said(done):
    return " ".join(done.output.split())


def test_nothing_answered_leaves_every_number_at_its_default(tmp_path):
    done = run("new", tmp_path / "shop")
    assert done.exit_code == 0, done.output
    assert "0 of 25 questions answered" in said(done) and "An example stands in" in said(done)
    scenario = read(tmp_path / "shop" / "shop.toml")
    assert all(one.default for one in scenario.inputs.values())
    assert "an example taken: plates a month and run lengths" in scenario.note
    text = (tmp_path / "shop" / "shop.toml").read_text("utf-8")
    assert '# chemistry = "____ USD/year" # not answered: default' in text
    # A line filled in as its comment says is read.
    filled = text.replace('# chemistry = "____ USD', 'chemistry = "1900 USD')
    assert checked(filled).inputs["methods", "polyester", "last_year", "chemistry"].best == 1900


def test_answers_as_options_become_the_numbers_of_the_ten_answers_scenario(tmp_path):
    done = run("new", tmp_path / "shop", *options(ANSWERS))
    assert done.exit_code == 0, done.output
    assert "21 of 25 questions answered" in said(done)
    scenario = read(tmp_path / "shop" / "shop.toml")
    by_key = {one.key: one for one in scenario.inputs.values()}
    found = {key: (by_key[key].best, by_key[key].status) for key in STATED}
    assert found == {key: (pytest.approx(best), status) for key, (best, status) in STATED.items()}
    assert {key for key, one in by_key.items() if not one.default} == set(STATED)
    assert all(by_key[key].date and by_key[key].source.startswith("answered to question") for key in STATED)
    work = scenario.work
    # 400 plates a month: twelve months of them; 60 % of forms uncoated.
    assert (work.weight * work.plates).sum() * work.per_year == pytest.approx(4800)
    assert work.weight[work.uncoated].sum() / work.weight.sum() == pytest.approx(0.6)


def test_bad_answers_are_refused_together_and_nothing_is_written(tmp_path):
    bad = {
        "uncoated": "lots",
        "price-now": "1.35",
        "quote": "$18500",
        "remakes": "0.4",
        "years-left": "3 USD",
    }
    done = run("new", tmp_path / "shop", *options({**ANSWERS, **bad}))
    assert done.exit_code == 2 and not (tmp_path / "shop").exists()
    words = said(done)
    for option, problem in (
        ("uncoated", "is not a share"), ("price-now", "1 price for 2 sizes"), ("quote", "$"), ("remakes", 'write "40 %"'),
        ("years-left", "years_left"),
    ):  # fmt: skip
        assert f'--{option} "{bad[option]}"' in words
        assert problem in words or option == "years-left", words
    assert "5 problems to mend." in words


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ({"plates": "10 in x 15 in"}, "is not a size and a number"),
        ({"plates": "10 in x 15: 5; a = 10 in x 15 in: x"}, "has no unit"),
        ({"runs": "50 40"}, "is not 5 numbers"),
        ({"runs": "50 40 9 3 0"}, "the shares add up to 102"),
        ({"today": "offset"}, "is none of the choices"),
        ({"today": "direct", "quoted": "direct"}, "direct is what is done today"),
        ({"currency": "EUR"}, "what one is worth is not stated"),
        ({"currency": "EURO", "per-dollar": "0.9"}, "is no ISO 4217 code"),
        ({"today": "bought_in", "chemistry": "100"}, "means nothing for the way plates are made today"),
        ({"press-full": "half"}, "is none of the choices"),
    ],
)
def test_what_cannot_be_is_said_with_a_mend(tmp_path, answers, words):
    done = run("new", tmp_path / "shop", *options(answers))
    assert done.exit_code == 2 and words in said(done) and "mend:" in done.output, done.output
    assert not (tmp_path / "shop").exists()


@pytest.mark.parametrize("today", METHODS)
def test_every_example_is_a_good_answer_whatever_is_done_today(today):
    answers = {"today": today, "currency": "EUR", "per-dollar": "0.92"}
    answers |= {q.option: q.example for q in QUESTIONS if q.number > 0}
    for question in asked(answers):
        assert unclear(question, answers) == [], question.option
    kept = {q.option: answers[q.option] for q in asked(answers) if q.option in answers}
    scenario = checked(write(kept, today=dt.date(2026, 10, 12)))
    assert scenario.current == today and len(scenario.methods) >= 2


def test_sizes_get_plain_names_by_their_area_and_may_be_named():
    names = [s.id for s in sizes_of({"plates": "13 in x 19 in: 1; 8 in x 10 in: 2; 10 in x 15 in: 3"})]
    assert names == ["large", "small", "medium"]
    assert [s.id for s in sizes_of({"plates": "web = 13 in x 19 in: 1; 8 in x 10 in: 2"})] == ["web", "small"]


def test_questions_are_asked_one_after_another_and_again_where_an_answer_cannot_be(tmp_path, monkeypatch):
    monkeypatch.setattr(roi.cli.new, "at_terminal", lambda: True)
    typed = ["Corner shop", "", "", "", "13 x 19: 100", "13 in x 19 in: 100", "100 0 0 0 0"] + [""] * 40
    done = run("new", tmp_path / "shop", "--uncoated", "30 %", answers="\n".join(typed) + "\n")
    assert done.exit_code == 0, done.output
    assert done.output.count("Which plate sizes") == 2 and "That can't be used" in done.output
    assert "uncoated stock?" not in done.output  # given as an option already
    scenario = read(tmp_path / "shop" / "shop.toml")
    assert (scenario.name, [s.id for s in scenario.sizes]) == ("Corner shop", ["plate"])
    assert scenario.work.weight[scenario.work.uncoated].sum() / scenario.work.weight.sum() == pytest.approx(
        0.3
    )


@pytest.mark.parametrize("more", [(), ("--workbook",)])
def test_nothing_is_ever_written_over(tmp_path, more):
    name = "shop.xlsx" if more else "shop.toml"
    (tmp_path / name).write_text("mine", "utf-8")
    done = run("new", tmp_path, *more)
    assert done.exit_code == 2 and "is there already" in said(done)
    assert (tmp_path / name).read_text("utf-8") == "mine"
    assert run("new", tmp_path / name).exit_code == 2
    assert "does not exist" in said(run("new", tmp_path / "no" / "folder"))


def test_the_help_names_every_question():
    done = run("new", "--help")
    assert all(f"--{question.option}" in done.output for question in QUESTIONS)
