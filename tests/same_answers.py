"""The same answers before and after a change of the house: what ten shipped records say, as text.

    python -m tests.same_answers write before.json      # with the old code
    python -m tests.same_answers compare before.json    # with the new code

Sentences must be the same. Numbers in them may differ by one in their last place, or by a millionth part: a
rounding edge is no other answer. The exit code says whether anything differs.
"""

import html
import json
import re
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import labkit
from labkit.errors import LabkitError
from labkit.record.bench import Bench
from labkit.resources import shipped

RECORDS = (
    "demo",
    "demo_short_circuit",
    "demo_unmarked",
    "on_the_board",
    "three_windings",
    "choke_sweeps",
    "frequency",
    "meter_check",
    "class/own_parts/group-01.jsonl",
    "class/round_robin/group-07.jsonl",
)

ANSWERS: dict[str, Callable[[Bench], object]] = {
    name: getattr(labkit, name)
    for name in (
        "predict",
        "compare",
        "explain",
        "next_reading",
        "amounts",
        "inductance_matrix",
        "modes",
        "characterise",
        "meter_check",
    )
}

NUMBER = re.compile(r"(?<![\w.])\d+(?:\.\d+)?(?:e[+-]?\d{1,2})?(?!\w)")
ONLY_HERE = re.compile(r"\d{4}-\d{2}-\d{2}[T ][\d:.]+(?:Z| UTC)?|/\S*tmp\S*|labkit \d[\w.]*")


def opened(name: str, folder: Path) -> Bench:
    """A copy of a shipped record, as a bench of its own."""
    source, target = shipped("data", *name.split("/")), folder / Path(name).stem
    if source.is_dir():
        shutil.copytree(source, target)
    else:
        target.mkdir()
        shutil.copy(source, target / "record.jsonl")
    return labkit.open_bench(target)


def report_text(bench: Bench, folder: Path) -> str:
    """The report's words and numbers, without its marks."""
    labkit.report(bench, folder / "report.html")
    page = (folder / "report.html").read_text("utf-8")
    page = re.sub(r"<(style|script|svg|math)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def answers() -> Iterator[tuple[str, str]]:
    """Each record's answers, under `record: question`; a refusal counts as an answer."""
    for name in RECORDS:
        with tempfile.TemporaryDirectory() as folder:
            bench = opened(name, Path(folder))
            asked = ANSWERS | {"report": lambda bench, folder=folder: report_text(bench, Path(folder))}

            for question, ask in asked.items():
                try:
                    text = str(ask(bench))
                except LabkitError as refusal:
                    text = f"{type(refusal).__name__}: {refusal}"
                yield f"{name}: {question}", ONLY_HERE.sub("…", text.replace(folder, "…"))


def alike(before: str, after: str) -> bool:
    """Whether two texts have the same words, and numbers that differ by no more than a rounding edge."""
    if NUMBER.split(before) != NUMBER.split(after):
        return False
    return all(map(_near, NUMBER.findall(before), NUMBER.findall(after)))


def _near(a: str, b: str) -> bool:
    mantissa, _, exponent = a.partition("e")
    step = 10.0 ** (int(exponent or 0) - len(mantissa.partition(".")[2]))
    within = max(1.001 * step if a != b and "." in a else 0.0, 1e-6 * abs(float(a)))
    return abs(float(a) - float(b)) <= within


def main() -> int:
    """Write what is answered now, or compare it with what was written."""
    what, file = sys.argv[1], Path(sys.argv[2])
    now = dict(answers())
    if what == "write":
        file.write_text(json.dumps(now, ensure_ascii=False, indent=1), encoding="utf-8")
        print(f"{len(now)} answers of {len(RECORDS)} records written")
        return 0
    before = json.loads(file.read_text("utf-8"))
    names = sorted(before.keys() | now.keys())
    differing = [name for name in names if not alike(before.get(name, ""), now.get(name, ""))]
    for name in differing:
        print(f"differs: {name}\n  before: {before.get(name)!r:.600}\n  now:    {now.get(name)!r:.600}")
    print(f"{len(now) - len(differing)} of {len(before)} answers of {len(RECORDS)} records are the same")
    return bool(differing)


if __name__ == "__main__":
    sys.exit(main())
