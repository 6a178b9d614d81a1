"""A class on one hub: `python -m tests.hub` tells the story of two users, `--users 12` measures more.

Everybody does each step at the same moment, which is the worst case. Each user has an account where this may
make one (as root, in a namespace that ends with it); elsewhere all servers are one account's, and what only
accounts can keep apart is said to be left out.
"""

import argparse
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

import psutil

from tests.hub.memory import own
from tests.hub.server import HERE, Hub, in_namespace, install, raise_loopback, running
from tests.hub.student import Student

BENCH = "my-choke"
OPENED = f"doc/tree/{BENCH}/coupled_pair.ipynb"


class Class:
    """Students who do each step together, how long it took them, and what was found to hold or not."""

    def __init__(self, hub: Hub, logins: Sequence[str]) -> None:
        self.hub = hub
        self.students = [Student(login, hub.address) for login in logins]
        self.failed: list[str] = []

    def all(self, step: str, do: Callable[[Student], object]) -> list[str]:
        """What each student's step gave, as text; prints the median and the longest time."""

        def timed(student: Student) -> tuple[float, str]:
            begin = time.perf_counter()
            given = str(do(student) or "")
            return time.perf_counter() - begin, given

        with ThreadPoolExecutor(len(self.students)) as threads:
            done = list(threads.map(timed, self.students))
        times = [seconds for seconds, _ in done]
        print(f"{step:34} {statistics.median(times):6.1f} s median {max(times):6.1f} s longest", flush=True)
        return [given for _, given in done]

    def claim(self, what: str, holds: bool, seen: object = "") -> None:
        """Print whether a claim holds, with what was seen if it does not."""
        print(f"{'holds' if holds else 'FAILS'}: {what}{'' if holds else f' ({seen})'}", flush=True)
        self.failed += [] if holds else [what]

    def memory(self, when: str) -> None:
        """Print the memory of servers, kernels and all of the hub, in MB."""
        processes = [self.hub.process, *psutil.Process(self.hub.process.pid).children(recursive=True)]
        found: dict[str, list[psutil.Process]] = {"server": [], "kernel": []}
        for process in processes[1:]:
            line = " ".join(process.cmdline())
            kind = "kernel" if "ipykernel_launcher" in line else "server" if "singleuser" in line else ""
            if kind:
                found[kind].append(process)
        for kind, those in found.items():
            if those:
                used = statistics.median(map(own, those))
                print(f"{when}: {len(those)} {kind}s, {used:.0f} MB of its own each (median)")
        whole = sum(psutil.Process(p.pid).memory_full_info().pss for p in processes) / 1e6
        print(f"{when}: {whole:.0f} MB for everything (PSS)", flush=True)


def story(group: Class) -> None:
    """From the log-in to the review, and what nobody may do."""
    group.all("log in", Student.log_in)
    group.all("start the server", Student.start)
    new = f"labkit new {BENCH} --part sample-12"
    made = group.all("labkit new in the terminal", lambda s: s.terminal(new))
    told = group.all("labkit open in the terminal", lambda s: s.terminal(f"labkit open {BENCH}"))
    for student, *printed in zip(group.students, made, told, strict=True):
        address = f"/user/{student.login}/{OPENED}"
        both = all(address in each for each in printed)
        group.claim(f"{student.login} is told {address}, by new and by open", both, printed)
        group.claim("there the notebook is", student.status(address) == 200)
        group.claim("no server was started", "127.0.0.1" not in printed[1], printed[1])
    shown = group.all("the lesson in a kernel", Student.lesson)
    group.claim("every kernel explains", all("refuted" in each for each in shown), shown[0][-500:])
    group.memory("after the lesson")
    packed = group.all("labkit pack in the terminal", lambda s: s.terminal(f"labkit pack {BENCH}"))
    ran = all("ran from top to bottom" in _flat(each) for each in packed)
    group.claim("every notebook ran from top to bottom", ran, packed)
    first, second = group.students[:2]
    for path in ("/api/status", f"/files/{BENCH}/record.jsonl", f"/{OPENED}"):
        seen = first.status(f"/user/{second.login}{path}")
        group.claim(f"{first.login} gets 403 at {second.login}'s {path}", seen == 403, seen)
    _handed_in(group)
    if group.hub.accounts:
        _apart(group, first, second)
    else:
        print("left out: what accounts keep apart, since this may not make any")


def _handed_in(group: Class) -> None:
    """The lecturer's one command."""
    homes = group.hub.homes
    out = homes / ".hub" / "review"
    review = [HERE / "bin" / "labkit", "review", homes, "--out", out, "--jobs", "2"]
    done = subprocess.run(review, capture_output=True, text=True, check=False)
    rows = (out / "review.csv").read_text(encoding="utf-8-sig").splitlines()[1:] if out.exists() else []
    names = [row.split(",")[0] for row in rows]
    wanted = [f"{student.login}/{BENCH}/{BENCH}.bundle.zip" for student in group.students]
    group.claim("the review has one row for each, with the login in it", names == sorted(wanted), done)


def _apart(group: Class, first: Student, second: Student) -> None:
    """What an account of one's own keeps from everybody else, tried in a terminal of the hub."""
    homes = group.hub.homes
    said = first.terminal(f"cat {homes}/{second.login}/{BENCH}/record.jsonl")
    group.claim(f"{first.login} cannot read {second.login}'s record", "Permission denied" in said, said)
    box = homes / "handin"
    subprocess.run(["install", "-d", "-o", "root", "-g", "lecturers", "-m", "3773", box], check=True)
    pack = f"labkit pack {BENCH} --quick --out {box}/"
    group.all("pack into the drop box", lambda s: s.terminal(f"{pack}{s.login}.bundle.zip"))
    again = first.terminal(f"{pack}{first.login}.bundle.zip")
    group.claim("one's own bundle there can be packed again", "Packed" in again, again)
    before = (box / f"{second.login}.bundle.zip").read_bytes()
    said = first.terminal(f"{pack}{second.login}.bundle.zip; ls {box}")
    group.claim("another's is said to be somebody else's", "somebody else's" in _flat(said), said)
    group.claim("and stays as it was", (box / f"{second.login}.bundle.zip").read_bytes() == before)
    group.claim("nobody sees what lies there", "cannot open directory" in said, said)


def _flat(text: str) -> str:
    """Text as it was before the terminal broke its lines."""
    return " ".join(text.split())


def main() -> int:
    """Set up, tell the story, sum up; 1 if anything did not hold."""
    options = argparse.ArgumentParser(prog="python -m tests.hub", description=__doc__)
    options.add_argument("--users", type=int, default=2, help="how many; 2 or more")
    options.add_argument("--apart", action="store_true", help=argparse.SUPPRESS)
    chosen = options.parse_args()
    if not chosen.apart:
        install()
        code = in_namespace("tests.hub", ["--users", str(chosen.users)])
        if code is not None:
            return code
    else:
        raise_loopback()
    logins = [f"p{number:02}" for number in range(1, max(chosen.users, 2) + 1)]
    with running(logins, accounts=chosen.apart) as hub:
        group = Class(hub, logins)
        story(group)
    print(f"{'FAILED: ' + '; '.join(group.failed) if group.failed else 'all of it holds'}")
    return int(bool(group.failed))


if __name__ == "__main__":
    sys.exit(main())
