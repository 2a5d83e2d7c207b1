"""A few hundred mutants with fixed seeds, judged as the many are by `python -m tests.fuzz`; it says how to judge one again."""

from __future__ import annotations

import pytest

from tests.fuzz.judge import ACCEPTED, COMMANDS, FAMILIES, RECKONED, REFUSED, WRONG, Judge, made

SEED = 8
# Every sixth is reckoned to the end, which takes longest: these are the others, and one that goes through the command line.
NUMBERS = range(1, 10_000, RECKONED)
COMMANDED = ("job log, CSV", COMMANDS)
# Workbooks cost ten times as much to read as tables of text.
SAMPLE = {
    "scenario": 16, "job log, CSV": 40, "job log, XLSX": 12, "ledger": 16, "decision workbook": 4,
    "input workbook": 4, "template": 30, "language": 30,
}  # fmt: skip


@pytest.fixture(scope="module")
def judge(tmp_path_factory) -> Judge:
    return Judge(tmp_path_factory.mktemp("mutants"))


def test_every_family_is_in_the_sample_and_the_shares_are_a_whole() -> None:
    assert list(SAMPLE) == list(FAMILIES)
    assert sum(family.share for family in FAMILIES.values()) == pytest.approx(1)


@pytest.mark.parametrize("family", SAMPLE)
def test_bad_input_is_refused_in_words_or_read_for_what_it_is(judge, family) -> None:
    numbers = [*NUMBERS[: SAMPLE[family]], *([COMMANDED[1]] if family == COMMANDED[0] else [])]
    judged = {number: judge.judge(made(family, SEED, number), number) for number in numbers}
    wrong = [
        f'{family}:{SEED}:{number}, "{found.why}"'
        for number, found in judged.items()
        if found.outcome == WRONG
    ]
    assert wrong == [], "python -m tests.fuzz --replay " + wrong[0]
    outcomes = {found.outcome for found in judged.values()}
    assert outcomes == {ACCEPTED, REFUSED}, "a sample that is all refused, or all accepted, tests little"


def test_a_mutant_is_the_same_each_time() -> None:
    for family in ("scenario", "job log, CSV", "template"):
        assert made(family, 3, 14) == made(family, 3, 14)
        assert made(family, 3, 14).content != made(family, 3, 15).content


def test_the_judge_sees_what_is_wrong(judge, monkeypatch) -> None:
    """Readers spoilt on purpose: an exception, a lost row and a problem without words must not pass."""
    from roi.scenario.problems import BadInput, Problem
    from tests.fuzz import judge as module

    sound = next(m for n in range(1, 500) if (m := made("job log, CSV", SEED, n)).kind == "rows shuffled")

    def fails(*_, **__):
        raise KeyError("x")

    def says_nothing(*_, **__):
        raise BadInput([Problem("shop.toml", "")])

    assert judge.judge(sound, 1).outcome == ACCEPTED
    kept = module.read_log
    for spoilt, why in (
        (fails, "KeyError"),
        (says_nothing, "doesn't say where and what"),
        (lambda *a, **k: _less(kept(*a, **k)), "rows read"),
    ):
        monkeypatch.setattr(module, "read_log", spoilt)
        found = judge.judge(sound, 1)
        assert found.outcome == WRONG and why in found.why


def _less(work):
    from dataclasses import replace

    return replace(work, rows_read=work.rows_read + 1)
