"""The command line. Every command is a few lines over the public face; nothing heavy loads for `--help`."""

import argparse
import os
import signal
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from labkit.errors import LabkitError, printable
from labkit.resources import NOTEBOOKS
from labkit.words import report as words

if TYPE_CHECKING:
    from labkit.record.bench import Bench

NICE = 10  # of a class that packs at once, nobody's form shall wait


def say(text: object, stream: TextIO | None = None) -> None:
    """Print at once; everything that this command line says goes through here."""
    print(printable(str(text)), file=stream, flush=True)


class Parser(argparse.ArgumentParser):
    """A parser whose refusals repeat nothing that a terminal would obey."""

    def _print_message(self, message: str, file: Any = None) -> None:
        super()._print_message(printable(message), file)


def demo(args: argparse.Namespace) -> None:
    """The main job on the demo record."""
    from labkit import demo_bench
    from labkit.analysis.results import summary

    bench = demo_bench()
    say(summary(bench))
    _write_report(bench, args.report)


def summary(args: argparse.Namespace) -> None:
    """What a record says, on the terminal."""
    from labkit import open_bench
    from labkit.analysis.results import summary as text

    say(text(open_bench(args.folder)))


def report(args: argparse.Namespace) -> None:
    """The report of a bench folder, and beside it the characterisation if there are sweeps."""
    import labkit

    bench, file = labkit.open_bench(args.folder), args.out or args.folder / "report.html"
    if bench.readings or not bench.sweeps:
        _write_report(bench, file)
    if bench.sweeps:
        beside = file.with_name(f"{file.stem}-characterisation.html") if bench.readings else file
        labkit.characterisation_report(bench, beside)
        say(words.CHARACTERISED.format(file=beside))


def new(args: argparse.Namespace) -> None:
    """A new bench folder from the template."""
    from labkit.faces.start import in_hub, start_folder

    notebook = start_folder(args.folder, args.part, args.card, args.notebook)
    how = in_hub(notebook) or words.OPEN_IT.format(folder=args.folder)
    say(words.CREATED.format(part=args.part, folder=args.folder, how=how))


def open_(args: argparse.Namespace) -> None:
    """JupyterLab at the notebook of a bench folder."""
    from labkit.faces.start import open_folder

    open_folder(args.folder, args.notebook, args.port, browser=not args.no_browser)


def pack(args: argparse.Namespace) -> None:
    """One file to hand in, from a bench folder."""
    from labkit.handin.pack import pack as packed

    _give_way()
    say(words.PACKING if not args.quick else words.PACKING_QUICK, sys.stderr)
    say(packed(args.folder, args.out, run=not args.quick))


def check(args: argparse.Namespace) -> int:
    """What stands in one bundle, computed anew; the exit code says whether there is anything to remark."""
    from labkit.handin.check import check as checked

    found = checked(args.bundle)
    say(found)
    if found.outcome("opens") == "no":
        return 2
    return 1 if found.feedback else 0


def review(args: argparse.Namespace) -> None:
    """All bundles of a folder, in one table."""
    from labkit.handin.review import review as reviewed

    options = {"jobs": args.jobs, "timeout": args.timeout, "cluster": args.cluster}
    with _until_terminated():
        say(reviewed(args.folder, args.out, **options))


def _give_way() -> None:
    """Let everybody else on this machine go first, where the system can say so."""
    if hasattr(os, "nice"):
        os.nice(NICE)


@contextmanager
def _until_terminated() -> Iterator[None]:
    """Let a request to terminate end the command as Ctrl+C does, so that its processes are ended too."""

    def stop(number: int, frame: object) -> None:  # noqa: ARG001 - the signature of a handler
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _write_report(bench: "Bench", file: Path) -> None:
    import labkit

    labkit.report(bench, file)
    say(words.CLI_WRITTEN.format(file=file))


def parser() -> Parser:
    """All commands and their options."""
    top = Parser(prog="labkit", description=words.DESCRIPTION)
    commands = top.add_subparsers(required=True, metavar="COMMAND")

    command = commands.add_parser("demo", help=words.CLI_DEMO, description=words.CLI_DEMO)
    command.add_argument("--report", type=Path, default=Path("demo-report.html"), help=words.OUT)
    command.set_defaults(run=demo)

    command = commands.add_parser("new", help=words.NEW, description=words.NEW)
    command.add_argument("folder", type=Path, help=words.NEW_FOLDER)
    command.add_argument("--part", required=True, help=words.PART)
    command.add_argument("--card", type=Path, help=words.CLI_CARD)
    command.add_argument("--notebook", choices=NOTEBOOKS, default=NOTEBOOKS[0], help=words.NEW_NOTEBOOK)
    command.set_defaults(run=new)

    command = commands.add_parser("open", help=words.OPEN, description=words.OPEN)
    command.add_argument("folder", type=Path, help=words.FOLDER)
    command.add_argument("--notebook", metavar="NAME", help=words.NOTEBOOK)
    command.add_argument("--port", type=int, help=words.PORT)
    command.add_argument("--no-browser", action="store_true", help=words.NO_BROWSER)
    command.set_defaults(run=open_)

    command = commands.add_parser("summary", help=words.SUMMARY, description=words.SUMMARY)
    command.add_argument("folder", type=Path, help=words.FOLDER)
    command.set_defaults(run=summary)

    command = commands.add_parser("report", help=words.REPORT, description=words.REPORT)
    command.add_argument("folder", type=Path, help=words.FOLDER)
    command.add_argument("--out", type=Path, help=words.OUT)
    command.set_defaults(run=report)

    command = commands.add_parser("pack", help=words.PACK, description=words.PACK)
    command.add_argument("folder", type=Path, nargs="?", default=Path(), help=words.FOLDER)
    command.add_argument("--out", type=Path, help=words.PACK_OUT)
    command.add_argument("--quick", action="store_true", help=words.QUICK)
    command.set_defaults(run=pack)

    command = commands.add_parser("check", help=words.CHECK, description=words.CHECK, epilog=words.CHECK_EXIT)
    command.add_argument("bundle", type=Path, help=words.BUNDLE)
    command.set_defaults(run=check)

    command = commands.add_parser("review", help=words.REVIEW, description=words.REVIEW)
    command.add_argument("folder", type=Path, help=words.BUNDLES)
    command.add_argument("--out", type=Path, help=words.REVIEW_OUT)
    command.add_argument("--jobs", type=int, default=-1, help=words.JOBS)
    command.add_argument("--timeout", type=float, default=60.0, help=words.TIMEOUT)
    command.add_argument("--cluster", metavar="ADDRESS", help=words.CLUSTER)
    command.set_defaults(run=review)
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; 0 if it did its job, 2 with one sentence if it could not, 130 if it was stopped.

    `check` also has 1, for a bundle with remarks.
    """
    args = parser().parse_args(arguments)
    try:
        code = args.run(args)
    except (LabkitError, OSError) as error:
        say(error, sys.stderr)
        return 2
    except KeyboardInterrupt:
        say(words.STOPPED, sys.stderr)
        return 130
    return int(code or 0)


if __name__ == "__main__":
    sys.exit(main())
