"""Review a folder of bundles on all cores: one table, one page; a broken bundle stops nothing.

The bundles are looked at one by one in processes that keep nothing, so memory does not grow with their
number: on this computer by default, by the workers of a dask cluster with `cluster`.
"""

import csv
import hashlib
import io
import itertools
import os
import re
import signal
import stat
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any
from urllib.parse import quote

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from tqdm import tqdm

from labkit.errors import EntryError, printable
from labkit.handin.bundle import Place
from labkit.handin.check import COLUMNS, TIMEOUT_S, Examination, Examiner, closed
from labkit.handin.submission import named
from labkit.resources import write_whole
from labkit.show import Part, Shown, Table, Text, spreadsheet_cell
from labkit.words import handin as words

TEMPLATE = "review.html.jinja"
TABLE, PAGE = "review.csv", "review.html"
SEAL = "<!--written-by-labkit page {page} table {table}-->\n"
CHUNK = 10  # bundles that a cluster's worker takes at once, for one start of a process
CLUSTER_S = 20.0  # until a cluster has answered and has a worker
Found = tuple[int, Examination]


@dataclass(frozen=True)
class Reviewed(Shown):
    """What was found in all bundles, in the order of their names."""

    rows: tuple[Examination, ...]
    seconds: float
    table: Path
    page: Path
    unread: int = 0  # folders that could not be read
    kept: tuple[Path, ...] = ()  # what stood there before and says something else

    def parts(self) -> tuple[Part, ...]:
        header = (words.BUNDLE, words.MUTUAL, words.COEFFICIENT, words.FOUND)
        cells = tuple((r.name, r.mutual_inductance, r.coupling_coefficient, _found(r)) for r in self.rows)
        summary = words.REVIEWED.format(seconds=f"{self.seconds:.1f}", **counts(self.rows))
        written = words.WRITTEN.format(table=self.table, page=self.page)
        unread = [Text(said, tone="caution") for said in unread_folders(self.unread)]
        kept = [Text(words.KEPT.format(files=", ".join(map(str, self.kept))))] if self.kept else []
        return Table(header, cells), Text(summary), *unread, Text(written), *kept


def _found(row: Examination) -> str:
    """The columns that are not yes or have a remark, for a terminal; the whole table is in the files."""
    if row.outcome("opens") == "no":
        return words.SHUT
    kinds: dict[str, list[str]] = {
        words.OUTCOME["no"]: [],
        words.OUTCOME["cannot tell"]: [],
        words.REMARKED: [],
    }
    for point in row.points:
        if point.outcome != "yes" or point.sentences:
            kind = words.REMARKED if point.outcome == "yes" else words.OUTCOME[point.outcome]
            kinds[kind].append(words.COLUMN[point.column])
    return "; ".join(f"{kind}: {', '.join(names)}" for kind, names in kinds.items() if names)


def counts(rows: Iterable[Examination]) -> dict[str, int]:
    """How many bundles there are, and how many of them opened without a remark, with one, not at all."""
    kinds = ["shut" if r.outcome("opens") == "no" else "remarks" if r.feedback else "clear" for r in rows]
    return {"count": len(kinds)} | {kind: kinds.count(kind) for kind in ("clear", "remarks", "shut")}


def review(
    source: str | Path,
    out: str | Path | None = None,
    *,
    jobs: int = -1,
    timeout: float = TIMEOUT_S,
    cluster: str | None = None,
    progress: bool = True,
) -> Reviewed:
    """Look at every bundle of a folder, or of an archive of bundles, and write the table and the page.

    Parameters
    ----------
    source : folder with .zip files, at any depth, or one .zip file that holds them
    out : folder for `review.csv` and `review.html`, made if it is not there; else beside the bundles.
        What stands there and says something else is kept under another name
    jobs : how many bundles at once; -1 for all cores
    timeout : seconds for one bundle
    cluster : address of a running dask scheduler that sees the same files; None for this computer
    progress : whether to show a progress bar on the error stream

    Raises
    ------
    EntryError
        if there is no bundle, no such number of jobs, time or cluster, or nowhere to write to.
    """
    place, begin = Path(source), time.perf_counter()
    if jobs != -1 and jobs < 1:
        raise EntryError(
            f"{jobs} is no number of bundles to look at at once; give 1 or more, or -1 for all cores.",
            str(jobs),
        )
    Examiner(timeout)  # refuses what is no time before anything is looked at
    folder = Path(out) if out is not None else (place if place.is_dir() else place.parent)
    places, unread = find(place)
    if not places:
        raise EntryError(
            " ".join(
                [
                    f"There is no bundle in {place}; give a folder of .zip files, or one archive of them.",
                    *unread_folders(unread),
                ]
            ),
            str(place),
        )
    _require_writable(folder)
    rows = tuple(
        row
        for _, row in sorted(look_at(places, jobs, timeout, cluster, progress), key=lambda found: found[0])
    )
    rows = _same_asked(rows)
    cells, page = table(rows), render(rows, [_link(each, folder) for each in places], unread).encode()
    own = _written_before(folder / PAGE)
    kept = [
        _put(folder / name, data, own)
        for name, data in ((TABLE, cells), (PAGE, page + _seal(page, _sha256(cells))))
    ]
    seconds = time.perf_counter() - begin
    return Reviewed(rows, seconds, folder / TABLE, folder / PAGE, unread, tuple(filter(None, kept)))


def _same_asked(rows: tuple[Examination, ...]) -> tuple[Examination, ...]:
    """The rows, each with a question if other bundles hold the same record."""
    called: dict[str, list[str]] = {}
    for row in rows:
        called.setdefault(row.record, []).append(ascii(row.name))

    def asked(row: Examination) -> Examination:
        if not row.record or len(called[row.record]) == 1:
            return row
        said = words.SAME_RECORD.format(names=named(called[row.record]))
        return replace(row, points=(replace(row.points[0], sentences=(said,)), *row.points[1:]))

    return tuple(map(asked, rows))


def _require_writable(folder: Path) -> None:
    """Refuse a folder that cannot be written to, before minutes of work are put into it."""
    while not os.path.lexists(folder):
        folder = folder.absolute().parent
    if not folder.is_dir() or not os.access(folder, os.W_OK | os.X_OK):
        raise EntryError(
            f"Nothing can be written to {folder}; name a folder that you may write to with --out.",
            str(folder),
        )


def _seal(page: bytes, table_hash: str) -> bytes:
    """The last line of a page: the hashes of the page before it and of the table written with it."""
    return SEAL.format(page=_sha256(page), table=table_hash).encode()


def _written_before(file: Path) -> set[str]:
    """Hashes of the table and, if it is as labkit wrote it, of the page; none if the page does not say."""
    try:
        whole = file.read_bytes()
    except OSError:
        return set()
    page, mark, rest = whole.rpartition(SEAL.partition(" ")[0].encode())
    hashes = re.findall("[0-9a-f]{64}", rest.decode(errors="replace"))[:2] if mark else []
    if len(hashes) < 2:
        return set()
    return {hashes[1]} | ({_sha256(whole)} if whole == page + _seal(page, hashes[1]) else set())


def _sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _put(file: Path, data: bytes, own: Iterable[str]) -> Path | None:
    """Write a file whole; where one that labkit did not write so, or a link, was put before that, if any was.

    Somebody may have written remarks into it, which are theirs to keep or to throw away.
    """
    kept = None
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        if file.is_symlink() or (file.exists() and _sha256(file.read_bytes()) not in (*own, _sha256(data))):
            numbered = (file.with_name(f"{file.stem}-earlier-{n}{file.suffix}") for n in itertools.count(1))
            kept = next(path for path in numbered if not os.path.lexists(path))
            file.rename(kept)
        write_whole(file, data)
    except OSError as error:
        raise EntryError(words.CANNOT_WRITE.format(file=file, reason=error.strerror), str(file)) from error
    return kept


def find(source: Path) -> tuple[list[Place], int]:
    """Every bundle of a folder or archive, by name, and how many folders could not be read."""
    if source.is_dir():
        return files_below(source, ".zip")
    if not source.is_file():
        return [], 0
    with Examiner() as examiner:  # a list may be made to fill the memory too
        names = examiner.names(source.absolute())
    if not names:
        return [Place(source)], 0
    return [Place(source, name) for name in sorted(names, key=_counted)], 0


def files_below(folder: Path, suffix: str) -> tuple[list[Place], int]:
    """Plain files at any depth, by name, and how many folders could not be read; links are not followed."""
    unread: list[OSError] = []
    found = [
        path
        for root, _, names in os.walk(folder, onerror=unread.append)
        for name in names
        if name.lower().endswith(suffix) and _may_be_plain(path := Path(root, name))
    ]
    found.sort(key=lambda path: _counted(str(path)))
    return [Place(path, below=path.relative_to(folder).as_posix()) for path in found], len(unread)


def _may_be_plain(path: Path) -> bool:
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except OSError:  # reading it will say why
        return True


def unread_folders(count: int) -> list[str]:
    """What is to be said about folders that could not be read."""
    return [words.UNREAD_FOLDERS.format(count=count)] if count else []


def _counted(name: str) -> list[tuple[int, str]]:
    """A key that puts group-9 before group-10."""
    pieces = re.split(r"([0-9]+)", name)
    return [
        (int(piece[:100]), "") if piece.isascii() and piece.isdigit() else (-1, piece) for piece in pieces
    ]


def look_at(
    places: list[Place], jobs: int, timeout: float, cluster: str | None, progress: bool
) -> Iterator[Found]:
    """Each bundle's place in the list with what was found, in the order in which they are done."""
    numbered = list(enumerate(replace(place, path=place.path.absolute()) for place in places))
    rows = _here(numbered, jobs, timeout) if cluster is None else _there(numbered, timeout, cluster)
    yield from tqdm(rows, words.PROGRESS, len(places), leave=False, disable=not progress)


def _here(places: list[tuple[int, Place]], jobs: int, timeout: float) -> Iterator[Found]:
    """On this computer: a thread a process, which waits for it. A signal is heard when all have ended."""
    todo: SimpleQueue[tuple[int, Place]] = SimpleQueue()
    rows: SimpleQueue[Found | BaseException] = SimpleQueue()
    for each in places:
        todo.put(each)
    examiners = [Examiner(timeout) for _ in range(min(_cores() if jobs == -1 else jobs, len(places)))]

    def work(examiner: Examiner) -> None:
        try:
            while not examiner.stopped:
                number, place = todo.get_nowait()
                rows.put((number, examiner.look(place)))
        except Empty:
            return
        except BaseException as error:  # nobody else would hear of it
            rows.put(error)

    threads = [threading.Thread(target=work, args=(examiner,), daemon=True) for examiner in examiners]
    left = len(places)
    with _kept_back() as signals:
        try:
            for thread in threads:
                thread.start()
            while left and not signals:
                try:
                    row = rows.get(timeout=0.1)
                except Empty:
                    continue
                if isinstance(row, BaseException):
                    raise row
                left -= 1
                yield row
        finally:
            for examiner in examiners:
                examiner.stop()
    if signals:
        signal.raise_signal(signals[0])


@contextmanager
def _kept_back() -> Iterator[list[int]]:
    """A list of the signals that ask this process to end, while it must do something before it does."""
    came: list[int] = []
    before: dict[int, Any] = {}
    if threading.current_thread() is threading.main_thread():
        heeded = [n for n in (signal.SIGINT, signal.SIGTERM) if signal.getsignal(n) != signal.SIG_IGN]
        before = {n: signal.signal(n, lambda number, _: came.append(number)) for n in heeded}
    try:
        yield came
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _cores() -> int:
    """How many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _there(places: list[tuple[int, Place]], timeout: float, cluster: str) -> Iterator[Found]:
    """On a cluster, which gives what a lost worker had to another one."""
    try:
        from distributed import Client
        from distributed import as_completed as completed
    except ImportError:
        raise EntryError(
            "A cluster needs the package distributed, which is not installed; install it, "
            "or leave --cluster out.",
            cluster,
        ) from None
    try:
        client = Client(cluster, timeout=CLUSTER_S)  # type: ignore[no-untyped-call]
        client.wait_for_workers(1, timeout=CLUSTER_S)
    except Exception as error:  # what a wrong address leads to depends on its text
        reason = str(error) or type(error).__name__
        raise EntryError(
            f"No cluster with a worker answers at {cluster!a} ({reason}); give the "
            "address of a running dask scheduler, such as tcp://192.0.2.7:8786, or leave "
            "--cluster out.",
            cluster,
        ) from None
    with client:
        workers = len(client.nthreads())  # type: ignore[no-untyped-call]
        size = max(1, min(CHUNK, len(places) // (4 * workers)))
        chunks = [places[start : start + size] for start in range(0, len(places), size)]
        given = {client.submit(_chunk, chunk, timeout, pure=False): chunk for chunk in chunks}
        for future in completed(given):  # type: ignore[no-untyped-call]
            try:
                yield from future.result()
            except Exception as error:  # its workers were lost again and again, or have no labkit
                said = words.LOST.format(kind=type(error).__name__)
                yield from (
                    (number, closed(place.name, said, words.LOOK_ALONE)) for number, place in given[future]
                )
            future.release()


def _chunk(places: list[tuple[int, Place]], timeout: float) -> list[Found]:
    with Examiner(timeout) as examiner:
        return [(number, examiner.look(place)) for number, place in places]


def table(rows: Iterable[Examination]) -> bytes:
    """The table as CSV in UTF-8; no cell can be taken for a formula by a spreadsheet."""
    heads = [words.BUNDLE, words.PART, *(words.COLUMN[c] for c in COLUMNS)]
    stream = io.StringIO(newline="")
    writer = csv.writer(stream)
    writer.writerow([*heads, words.MUTUAL, words.COEFFICIENT, words.FEEDBACK])
    for row in rows:
        found = [words.OUTCOME[point.outcome] for point in row.points]
        key = [row.mutual_inductance, row.coupling_coefficient]
        cells = [row.name, row.part, *found, *key, " ".join(row.feedback)]
        writer.writerow(map(spreadsheet_cell, cells))
    return stream.getvalue().encode("utf-8-sig")


def render(rows: Iterable[Examination], links: Iterable[str], unread: int = 0) -> str:
    """The page as text; everything that came out of a bundle is escaped."""
    all_rows = list(rows)
    facts = {"rows": list(zip(all_rows, links, strict=True)), "columns": COLUMNS, "words": words}
    facts |= {"counts": counts(all_rows), "unread": unread_folders(unread)}
    return _environment().get_template(TEMPLATE).render(facts)


def _link(place: Place, folder: Path) -> str:
    """A link from the page to the bundle's file; it can only be a relative path."""
    try:
        relative = os.path.relpath(place.path.resolve(), folder.resolve())
    except ValueError:  # another drive
        return ""
    return "./" + quote(relative.replace(os.sep, "/"), safe="/.")


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["shown"] = printable
    return environment
