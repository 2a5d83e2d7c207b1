"""Many mutants of every input, judged on two cores: `python -m tests.fuzz --mutants 20000 --seed 1`.

Prints a table and every failure; failures are kept in build/fuzz, one folder each. `--replay FOLDER` judges one again, as does
`--replay "family:seed:number"`, which makes it anew. Ctrl-C stops it early, with the table of what was done. Exits 1 when
anything is wrong.
"""

from __future__ import annotations

import argparse
import json
import signal
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path

from tests.fuzz.worker import MEMORY, SECONDS, Report, Task, run

KEPT = Path(__file__).parents[2] / "build" / "fuzz"
RECALCULATED = 200


def main() -> int:
    options = _options()
    if options.replay:
        return _replay(options.replay)
    from tests.fuzz.judge import FAMILIES

    # Ctrl-C and a request to end are the same, also where the shell has it run in the background.
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.default_int_handler)
    counts = {family: round(options.mutants * of.share) for family, of in FAMILIES.items()}
    reports: list[Report] = []
    begun = time.monotonic()
    total = sum(counts.values())
    try:
        for report in run(_tasks(counts, options.seed), options.workers):
            reports.append(report)
            if report.outcome == "wrong":
                print("\n" + _told(report) + f"\n  kept in {_keep(report)}", flush=True)
            if len(reports) % 100 == 0:
                _progress(len(reports), total, begun)
    except KeyboardInterrupt:
        print(f"\nStopped after {len(reports):,} of {total:,} mutants, evenly of every kind.")
    print()
    _print(reports, options.seed)
    again = list(_recalculate(reports, options))
    wrong = [r for r in reports if r.outcome == "wrong"]
    different = [r for r in again if r.outcome != "equal"]
    print(
        f"\nRecalculated by IronCalc: {len(again)} accepted mutants, {len(different)} differ from the engine"
    )
    for report in different:
        print(_told(report))
    print(f"\n{len(wrong)} of {len(reports):,} mutants wrong; {(time.monotonic() - begun) / 60:.1f} minutes")
    return 1 if wrong or different else 0


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--mutants", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument(
        "--recalculate", type=int, default=RECALCULATED, help="how many accepted ones IronCalc works out"
    )
    parser.add_argument("--replay", metavar="FOLDER or FAMILY:SEED:NUMBER")
    return parser.parse_args()


def _tasks(counts: dict[str, int], seed: int) -> Iterator[Task]:
    """All families evenly mixed, so that progress says when the end is near."""
    places = sorted(((i + 0.5) / count, family, i) for family, count in counts.items() for i in range(count))
    return (("judge", family, seed, number) for _, family, number in places)


def _recalculate(reports: list[Report], options: argparse.Namespace) -> Iterator[Report]:
    """Accepted scenarios and workbooks with something changed, evenly spread, written and worked out again."""
    small = ("small", "full", "own method", "answered", "with a log", "ten answers")
    plain = (
        "rewritten, same meaning",
        "packed again",
        "saved again",
        "shared strings",
        "wrong extent",
        "sheet hidden",
    )
    able = [
        r for r in reports
        if r.outcome == "accepted" and r.task[1] in ("scenario", "decision workbook", "input workbook")
        and r.base in small and r.kind not in plain
    ]  # fmt: skip
    able.sort(key=lambda r: r.task[1:])
    chosen = able[:: max(1, len(able) // max(1, options.recalculate))][: options.recalculate]
    tasks: Iterator[Task] = (("recalculate", *r.task[1:]) for r in chosen)
    for done, report in enumerate(run(tasks, options.workers), 1):
        if done % 10 == 0:
            print(f"\rrecalculated {done} of {len(chosen)}", end="", file=sys.stderr, flush=True)
        yield report


def _print(reports: list[Report], seed: int) -> None:
    limits = f"Processor seconds a mutant: {SECONDS} at most. Address space of a worker: {MEMORY / 1e9:.1f} GB at most."
    print(f"Seed {seed}. {limits}\n")
    rows: dict[tuple[str, str], list[Report]] = defaultdict(list)
    for report in sorted(reports, key=lambda r: r.task[1]):
        rows[report.task[1], report.kind].append(report)
    head = f"{'what was done':<32}{'mutants':>8}{'refused':>9}{'accepted':>9}{'wrong':>6}{'mean ms':>9}{'slowest s':>10}"
    for family in dict.fromkeys(name for name, _ in rows):
        print(f"{family}\n{head}")
        mine = {kind: found for (name, kind), found in sorted(rows.items()) if name == family}
        for kind, those in [*mine.items(), ("all", [r for found in mine.values() for r in found])]:
            said = Counter(r.outcome for r in those)
            spent = [r.seconds for r in those]
            print(
                f"  {kind:<30}{len(those):>8,}{said['refused']:>9,}{said['accepted']:>9,}{said['wrong']:>6,}"
                f"{1000 * sum(spent) / len(spent):>9.1f}{max(spent):>10.2f}"
            )
        print()
    said = Counter(r.outcome for r in reports)
    print(
        f"{len(reports):,} mutants: {said['refused']:,} refused, {said['accepted']:,} accepted, {said['wrong']:,} wrong"
    )
    slowest = max(reports, key=lambda r: r.seconds)
    print(f"Slowest: {slowest.seconds:.2f} s, {_name(slowest.task)}, {slowest.kind}")
    print(f"Most memory a worker held: {max(r.memory for r in reports) / 1e6:,.0f} MB")
    for note, count in Counter(r.note for r in reports if r.note).most_common():
        print(f"Accepted with {note}: {count:,}")
    print(f"Refused with a problem told twice: {sum(r.why.startswith('(told twice)') for r in reports):,}")


def _progress(done: int, total: int, begun: float) -> None:
    left = (time.monotonic() - begun) / done * (total - done)
    print(f"\r{done:,} of {total:,}, {left / 60:.0f} min left   ", end="", file=sys.stderr, flush=True)


def _name(task: Task) -> str:
    return f"{task[1]}:{task[2]}:{task[3]}"


def _told(report: Report) -> str:
    return f"WRONG {_name(report.task)} ({report.base}, {report.kind}): {report.why}"


def _keep(report: Report) -> Path:
    """The mutant's file, and what was made of which, so that it can be looked at and judged again."""
    from tests.fuzz.judge import FAMILIES, made

    _, family, seed, number = report.task
    mutant = made(family, seed, number)
    base = next(b for b in FAMILIES[family].bases() if b.name == mutant.base)
    folder = KEPT / _name(report.task).replace(", ", "-").replace(" ", "-").replace(":", "-")
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in {**base.files, base.target: mutant.content}.items():
        (folder / name).write_bytes(content)
    about = {
        "task": report.task,
        "base": base.name,
        "kind": mutant.kind,
        "why": report.why,
        "target": base.target,
    }
    (folder / "mutant.json").write_text(json.dumps(about, indent=2), "utf-8")
    return folder


def _replay(wanted: str) -> int:
    """Judge a kept mutant as it was saved, or one made anew from its name."""
    from dataclasses import replace

    from tests.fuzz.judge import WRONG, Judge, made

    folder = Path(wanted)
    content = None
    if folder.is_dir():
        about = json.loads((folder / "mutant.json").read_text("utf-8"))
        _, family, seed, number = about["task"]
        content = (folder / about["target"]).read_bytes()
    else:
        family, seed, number = wanted.rsplit(":", 2)
    mutant = made(family, int(seed), int(number))
    if content is not None:
        mutant = replace(mutant, content=content)
    with tempfile.TemporaryDirectory(prefix="fuzz-") as name:
        judged = Judge(Path(name)).judge(mutant, int(number))
    print(f"{family}, {mutant.base}, {mutant.kind}, {mutant.claim}\n{judged}")
    return 1 if judged.outcome == WRONG else 0


if __name__ == "__main__":
    sys.exit(main())
