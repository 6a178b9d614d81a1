"""The bench's verb for sweeps: a file is read and checked, kept under its hash, then its event is stored."""

import contextlib
import hashlib
import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from labkit import quantity
from labkit.errors import EntryError, LabkitError, SweepError
from labkit.quantity import display
from labkit.record.events import FixtureModel, KeptFile, Setup, Sweep, Withdrawal, spoken, to_event
from labkit.record.record_file import sync_folder
from labkit.record.state import Answer, Standing, blank, given, slug
from labkit.show import Part as ShownPart
from labkit.show import Table, Text
from labkit.sweeps.fixture import HOOK_UPS, open_short
from labkit.sweeps.sweep import (
    Decimal,
    Impedance,
    Pairing,
    Scattering,
    better_pairing,
    first_gain,
    hertz,
    mutual_sign,
    require_shown,
)
from labkit.sweeps.table_file import MOST_BYTES, read_table, shown_name
from labkit.sweeps.touchstone_file import read_touchstone
from labkit.theory.wiring import Terminal, Wiring
from labkit.words import record as bench_words
from labkit.words import sweeps as words

# Files of sweeps, kept beside the record under their own hash: `sweeps/<sha256>.<ending>`.
#
# A file is on the disk before its event is. What is kept is never written again; a kept file whose content
# no longer has the hash of its name is refused with one sentence, at every reading.

FOLDER = "sweeps"
_TOUCHSTONE = re.compile(r"\.([syzgh][0-9]+p|ts)$", re.IGNORECASE)


def is_touchstone(name: str) -> bool:
    """Whether a file of this name is read as Touchstone, and not as a table."""
    return bool(_TOUCHSTONE.search(name))


def given_file(file: str | Path, bench: Path) -> Path:
    """The file that a person named: as seen from the working folder, else from the bench's folder."""
    path = Path(file)
    return path if path.exists() or path.is_absolute() else bench / path


def read_given(path: Path) -> bytes:
    """The bytes of a file that a person named; SweepError if it cannot be read or is too large."""
    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise SweepError(
            f"{shown_name(str(path))} cannot be read ({reason}); check its name, its folder "
            "and its permissions."
        ) from None


def kept_as(data: bytes, name: str) -> KeptFile:
    """Name and hash under which a file is known to the record."""
    return KeptFile(file=shown_name(name), sha256=hashlib.sha256(data).hexdigest())


def path_of(kept: KeptFile, bench: Path) -> Path:
    """Where a kept file stands."""
    ending = Path(kept.file).suffix.lower()
    return bench / FOLDER / f"{kept.sha256}{ending if re.fullmatch(r'[.][a-z0-9]{1,5}', ending) else '.txt'}"


def keep(data: bytes, kept: KeptFile, bench: Path) -> None:
    """Have the file on the disk, unless it is there; SweepError if something else stands in its place.

    Whoever keeps a file holds the record's lock, so an unfinished file that lies there is a killed program's.
    """
    path = path_of(kept, bench)
    if path.exists():
        read_kept(kept, bench)
        return
    aside = path.with_name(f".{path.name}.part")
    try:
        path.parent.mkdir(exist_ok=True)
        for left in filter(_unfinished, path.parent.iterdir()):
            left.unlink()
        with aside.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        aside.replace(path)
        sync_folder(path.parent)
        sync_folder(bench)
    except OSError as error:
        with contextlib.suppress(OSError):
            aside.unlink()
        facts = {"name": kept.file, "folder": path.parent, "reason": error.strerror}
        raise SweepError(words.NOT_KEPT.format(**facts)) from error


def _unfinished(path: Path) -> bool:
    """Whether a file is one that `keep` began, by its name; older programs put their number into it."""
    return bool(re.fullmatch(r"[.][0-9a-f]{64}[.][a-z0-9]{1,5}([.][0-9]+)?[.]part", path.name))


def read_kept(kept: KeptFile, bench: Path) -> bytes:
    """The bytes of a kept file, held against its hash."""
    try:
        data = path_of(kept, bench).read_bytes()
    except OSError as error:
        facts = {"name": kept.file, "where": _where(kept), "reason": error.strerror}
        raise SweepError(words.KEPT_MISSING.format(**facts)) from None
    return as_stored(data, kept)


def as_stored(data: bytes, kept: KeptFile) -> bytes:
    """The same bytes; SweepError if they are not those that the event was stored with."""
    if hashlib.sha256(data).hexdigest() != kept.sha256:
        raise SweepError(
            f"{kept.file}, kept as {_where(kept)}, was changed after it was stored, so it is "
            "not used; put the original back under that name."
        )
    return data


def _where(kept: KeptFile) -> str:
    path = path_of(kept, Path())
    return f"{FOLDER}/{path.name[:12]}…{path.suffix}"


def read_content(data: bytes, name: str, decimal: Decimal | None = None) -> Impedance | Scattering:
    """What a file holds, by its name's ending."""
    return read_touchstone(data, name) if is_touchstone(name) else read_table(data, name, decimal=decimal)


@lru_cache(maxsize=32)
def content(data: bytes, name: str, decimal: Decimal | None = None) -> Impedance | Scattering:
    """The same for a bench's own files; the same bytes are read once."""
    return read_content(data, name, decimal)


# A sweep as it stands in a record, read from its kept file.

CONDITIONS = ("test_level", "bias", "temperature", "fixture", "instrument")
"""What is asked of every sweep."""


@dataclass(frozen=True)
class StoredSweep:
    """One sweep of a bench.

    Attributes
    ----------
    event : as stored
    folder : of the bench
    """

    event: Sweep
    folder: Path

    @property
    def id(self) -> str:
        """Its name."""
        return self.event.id

    @property
    def line(self) -> int:
        """Line of the record."""
        return self.event.seq

    @property
    def wiring(self) -> Wiring | None:
        """What was clamped to what; None for a four-port."""
        return Wiring.parse(self.event.wiring) if self.event.wiring else None

    @property
    def setup(self) -> Setup:
        """How it was measured."""
        return self.event.setup

    @property
    def ports(self) -> tuple[str, ...] | None:
        """Terminal of each port of a four-port, in order; the other side of each is ground."""
        return tuple(self.event.ports.split()) if self.event.ports else None

    @property
    def file(self) -> str:
        """The file's own name, as it was given."""
        return self.event.file

    @property
    def sha256(self) -> str:
        """Hash of the file, under which it is kept."""
        return self.event.sha256

    @property
    def conditions(self) -> dict[str, str | None]:
        """What was noted of each of `CONDITIONS`; None for what was not asked or is not known."""
        return {name: getattr(self.event, name) for name in CONDITIONS}

    @property
    def gaps(self) -> tuple[str, ...]:
        """Those of `CONDITIONS` that nobody noted."""
        return tuple(name for name, value in self.conditions.items() if value is None)

    @property
    def accuracy(self) -> str | None:
        """Accuracy of |Z| as stated, such as "0.5 %"; None if none was."""
        return self.event.accuracy

    @property
    def relative_accuracy(self) -> float | None:
        """The same as a fraction of |Z|."""
        return relative(self.accuracy) if self.accuracy else None

    @property
    def problems(self) -> tuple[str, ...]:
        """One sentence for each of its kept files that is gone or was changed."""
        found = []
        for kept in filter(None, (self.event, self.event.open, self.event.short)):
            try:
                self.kept(kept)
            except SweepError as error:
                found.append(str(error))
        return tuple(found)

    def kept(self, kept: KeptFile) -> bytes:
        """The bytes of one of its files, held against their hash; SweepError if they are gone or changed."""
        return read_kept(kept, self.folder)

    def measured(self) -> Impedance | Scattering:
        """What the file says, with the fixture in it.

        Raises
        ------
        SweepError
            if the kept file is gone or was changed.
        """
        return self._content(self.event)

    def scattering(self) -> Scattering:
        """The scattering parameters of a sweep that was measured as such, as the file says."""
        found = self.measured()
        if isinstance(found, Impedance):
            raise SweepError(
                f"{self.id} was measured as an impedance and holds no scattering parameters; ask "
                "for its impedance."
            )
        return found

    def impedance(self) -> Impedance:
        """Impedance between the clips; the fixture is taken off if it was measured.

        Raises
        ------
        SweepError
            for a four-port, whose impedance depends on a wiring, or if the kept file is gone or was changed.
        """
        raw, opened, shorted = self._port(self.event), self.event.open, self.event.short
        if opened is None or shorted is None or self.event.fixture_model is None:
            return raw
        return open_short(raw, self._port(opened), self._port(shorted), self.event.fixture_model)

    def _port(self, kept: KeptFile) -> Impedance:
        if self.setup == "four-port":
            raise SweepError(
                f"{self.id} is a four-port, whose impedance depends on a wiring; ask for its "
                "scattering parameters."
            )
        return port_impedance(self._content(kept), self.setup)

    def _content(self, kept: KeptFile) -> Impedance | Scattering:
        return content(self.kept(kept), kept.file, self.event.decimal)


def port_impedance(found: Impedance | Scattering, setup: Setup) -> Impedance:
    """The impedance that a file gives in this setup, the fixture still in it."""
    return found if isinstance(found, Impedance) else HOOK_UPS[setup](found)


def relative(accuracy: str) -> float:
    """The fraction that a stated percentage is; EntryError if it is none."""
    return quantity.parse(accuracy, "percentage").value / 100


SETUPS = ("impedance", "reflection", "series-through", "shunt-through", "four-port")
_MORE = ("note", "by")
_HEAD = {"schema": 2, "seq": 1, "utc": "2000-01-01T00:00:00Z", "event": "sweep", "prev": None}

Content = Impedance | Scattering
Dots = tuple[Terminal, ...] | None


class Sweeping(Standing):
    """What a bench does with sweeps."""

    @property
    def sweeps(self) -> tuple[StoredSweep, ...]:
        """The sweeps that stand, in order."""
        gone = {event.withdraws for event in self.record.of(Withdrawal)}
        found = (event for event in self.record.of(Sweep) if event.id not in gone)
        return tuple(StoredSweep(event, self.record.folder) for event in found)

    @property
    def sweep_problems(self) -> tuple[str, ...]:
        """One sentence for each sweep whose kept files are not as they were stored; empty if all are."""
        return tuple(problem for sweep in self.sweeps for problem in sweep.problems)

    def sweep(
        self,
        wiring: str | None,
        file: str | Path,
        id: str | None = None,
        *,
        setup: Setup = "impedance",
        ports: str | None = None,
        open: str | Path | None = None,
        short: str | Path | None = None,
        correction: FixtureModel | None = None,
        accuracy: str | None = None,
        decimal: Decimal | None = None,
        not_passive: str | None = None,
        **conditions: str | None,
    ) -> Answer:
        """Store a sweep: its file, how it was measured, and under which conditions.

        Parameters
        ----------
        wiring : notation such as "1a 2a | 1b=2b"; None for a four-port
        file : the exported table or Touchstone file; a copy is kept in `sweeps/` of the bench's folder. An
            empty text stores nothing and says what is awaited.
        id : your name for it; `sweep.` and the file's name if left out
        setup : "impedance" (a table), "reflection", "series-through", "shunt-through" or "four-port"
        ports : of a four-port, the terminal of each port in order: "1a 2a 1b 2b"; the other side is ground
        open, short : the same sweep of the open and of the shorted fixture, if they were measured
        correction : "ladder" or "symmetric": the model by which they are taken off
        accuracy : of |Z| as the instrument's papers state it, such as "0.5 %"
        decimal : "," or ".", for a table that leaves it open
        not_passive : why a file stays that no passive part can give; without a reason it is refused
        conditions : test_level, bias, temperature, fixture, instrument; note, by. Leave out what was
            not asked; give None for what was asked and is not known.

        Raises
        ------
        SweepError, EntryError, WiringError
            with one sentence; nothing is stored.
        """
        if blank(str(file)):
            return Answer(words.WAITING_FILE.format(what=wiring or ports or ""))
        self._ready_for_readings()
        _require_known(setup, conditions)
        fields: dict[str, Any] = {"part": self.part_name, "setup": setup} | self._hook_up(
            wiring, setup, ports
        )
        name = id if id is not None else f"sweep.{slug(Path(file).stem)}"
        known = self.record.event(name)
        stored = known if isinstance(known, Sweep) else None
        files = self._files({"": file, "open": open, "short": short}, stored)
        kept = {role: kept_as(data, path.name) for role, (path, data) in files.items()}
        fields |= kept[""].model_dump() | {r: k.model_dump() for r, k in kept.items() if r}
        fields |= given(accuracy=accuracy, decimal=decimal, not_passive=not_passive, fixture_model=correction)
        event = to_event(_HEAD | {"id": name} | fields | conditions, words.ENTRY.format(id=spoken(name)))
        assert isinstance(event, Sweep)
        contents = {role: content(data, kept[role].file, decimal) for role, (_, data) in files.items()}
        cautions = checked(event, contents, self.dots)
        return self._store(event, fields | conditions, files, kept, contents[""], cautions)

    def _store(
        self,
        event: Sweep,
        fields: dict[str, Any],
        files: Mapping[str, tuple[Path, bytes]],
        kept: Mapping[str, KeptFile],
        found: Content,
        cautions: tuple[str, ...],
    ) -> Answer:
        """Files first, then the event; what the record would refuse leaves no file behind."""
        if self.record.read_only or self.record.event(event.id):
            self.record.append("sweep", event.id, **fields)
        whole = all(path_of(each, self.record.folder).exists() for each in kept.values())
        where = words.ENTRY.format(id=spoken(event.id))
        with contextlib.nullcontext() if whole else self.record.locked(where):
            for role, (_, data) in files.items():
                keep(data, kept[role], self.record.folder)
        stored = self.record.append("sweep", event.id, **fields)
        assert isinstance(stored, Sweep)
        return Answer(_stored(stored, found), *cautions, *_gaps(stored), event=stored)

    def sweep_folder(
        self, folder: str | Path, wirings: Mapping[str, str], *, progress: bool = True, **common: Any
    ) -> Answer:
        """Store many sweeps, one file after the other.

        Stop it when you like: what was stored stays, and the same call goes on where it stopped. A file that
        is refused stops nothing; its sentence stands in the answer.

        Parameters
        ----------
        folder : of the files
        wirings : wiring by file name
        progress : whether to show how far it is
        common : what `sweep` takes, the same for all
        """
        from tqdm import tqdm

        refused, done = [], 0
        with contextlib.suppress(KeyboardInterrupt):
            for name, wiring in tqdm(wirings.items(), words.PROGRESS, leave=False, disable=not progress):
                try:
                    self.sweep(wiring, Path(folder) / name, **common)
                    done += 1
                except LabkitError as error:
                    refused.append(str(error))
        left = len(wirings) - done - len(refused)
        sentence = words.MANY.format(done=done, all=len(wirings))
        stopped = [words.STOPPED.format(left=left)] if left else []
        return Answer(sentence, *refused, *stopped)

    def parts(self) -> tuple[ShownPart, ...]:
        """The bench, with its sweeps below."""
        rows = tuple(
            (s.id, s.wiring.notation if s.wiring else s.event.ports or "", s.setup, s.file, str(s.line))
            for s in self.sweeps
        )
        if not rows:
            return super().parts()
        problems = [Text(problem, tone="caution") for problem in self.sweep_problems]
        return (*super().parts(), *problems, Table(words.SWEEPS_HEADER, rows))

    def _wiring(self, wiring: str) -> Wiring:
        built = Wiring.parse(wiring)
        built.nodes(self.windings)
        return built

    def _ready_for_readings(self) -> None:
        if not self.cautions_accepted:
            raise EntryError(bench_words.CAUTIONS_FIRST)
        if self.part is None:
            raise EntryError(bench_words.NO_PART)

    def _hook_up(self, wiring: str | None, setup: Setup, ports: str | None) -> dict[str, Any]:
        """Wiring and ports as they are stored: a four-port has ports, everything else a wiring."""
        from labkit.theory.modes import port_terminals

        if setup == "four-port":
            if wiring is not None or ports is None:
                raise EntryError(words.FOUR_PORT_NEEDS, str(wiring or ""))
            named = port_terminals(ports, 4)
            return {"wiring": None, "ports": " ".join(named)}
        if wiring is None or ports is not None:
            raise EntryError(
                "This setup needs a wiring such as 1a 1b and no ports; only a four-port has "
                "ports and no wiring.",
                str(ports or ""),
            )
        return {"wiring": self._wiring(wiring).notation}

    def _files(
        self, wanted: Mapping[str, str | Path | None], stored: Sweep | None
    ) -> dict[str, tuple[Path, bytes]]:
        """Path and bytes of each file; the kept one where the original is gone and the event is stored."""
        found = {}
        for role, file in wanted.items():
            if file is None:
                continue
            path = given_file(file, self.record.folder)
            kept = stored if not role else getattr(stored, role, None)
            if not path.exists() and kept is not None and kept.file == path.name:
                found[role] = path, read_kept(kept, self.record.folder)
            else:
                found[role] = path, read_given(path)
        return found


def _require_known(setup: str, conditions: Mapping[str, object]) -> None:
    if setup not in SETUPS:
        raise EntryError(words.SETUP.format(given=setup, accepted=", ".join(SETUPS)), str(setup))
    for name in conditions:
        if name not in (*CONDITIONS, *_MORE):
            accepted = ", ".join((*CONDITIONS, *_MORE))
            raise EntryError(f"'{name}' is not a condition of a sweep; they are {accepted}.", name)


def checked(event: Sweep, contents: Mapping[str, Content], dots: Dots) -> tuple[str, ...]:
    """Refuse what does not belong together; cautions about what was allowed with a reason."""
    for role, kept in (("", event), ("open", event.open), ("short", event.short)):
        if kept is not None:
            _require_setup(event.setup, kept.file, contents[role])
    _require_correction(event)
    accuracy = relative(event.accuracy) if event.accuracy else 0.0
    if event.setup == "four-port":
        _require_ports(event, contents[""], dots)
    else:
        ports = {role: port_impedance(found, event.setup) for role, found in contents.items()}
        found = ports[""]
        if event.fixture_model:
            found = open_short(found, ports["open"], ports["short"], event.fixture_model)
        require_shown(found, event.file)
    return _passive(event, contents[""], accuracy)


def _require_setup(setup: Setup, file: str, found: Content) -> None:
    table = isinstance(found, Impedance)
    if table != (setup == "impedance"):
        sentence = words.NEEDS_SETUP if is_touchstone(file) else words.NEEDS_TOUCHSTONE
        raise EntryError(sentence.format(file=file, setup=setup), setup)
    if isinstance(found, Scattering) and setup == "four-port" and found.ports != 4:
        raise SweepError(f"{file} has {found.ports} ports, but a four-port has 4; check which file this is.")


def _require_correction(event: Sweep) -> None:
    """Open, short and the model belong together, all or none."""
    there = [event.open is not None, event.short is not None, event.fixture_model is not None]
    if any(there) and (not all(there) or event.setup == "four-port"):
        raise EntryError(words.CORRECTION_NEEDS, str(event.fixture_model or ""))


def _require_ports(event: Sweep, found: Content, dots: Dots) -> None:
    """Refuse ports that the sweep contradicts: other ends of windings, or another polarity than the dots'."""
    assert isinstance(found, Scattering)
    assert event.ports
    terminals = event.ports.split()
    places = {terminal: place for place, terminal in enumerate(terminals)}
    said: Pairing = ((places["1a"], places["1b"]), (places["2a"], places["2b"]))
    at = hertz(float(found.frequency[0]))
    facts = {"file": event.file, "ports": event.ports, "frequency": at}
    if better := better_pairing(found, said):
        pairs = " and ".join(" with ".join(str(port + 1) for port in pair) for pair in better)
        raise SweepError(words.WRONG_PORTS.format(**facts, pairs=pairs), frequency=float(found.frequency[0]))
    if dots is not None and len(dots) == 2:
        alike = 1 if dots[0].end == dots[1].end else -1
        if mutual_sign(found, said) == -alike:
            marked = " ".join(map(str, dots))
            sentence = words.AGAINST_THE_DOTS.format(**facts, dots=marked)
            raise SweepError(sentence, frequency=float(found.frequency[0]))


def _passive(event: Sweep, found: Content, accuracy: float) -> tuple[str, ...]:
    gain = first_gain(found, accuracy)
    if gain is None:
        return ()
    index, value = gain
    f = float(found.frequency[index])
    if isinstance(found, Impedance):
        what = words.NEGATIVE_R.format(value=f"{value:.4g}")
    else:
        what = words.SINGULAR.format(value=display(value - 1, unit="", significant_digits=2))
    facts = {"file": event.file, "frequency": hertz(f), "what": what}
    if event.not_passive is None:
        beyond = words.BEYOND.format(accuracy=event.accuracy) if event.accuracy else words.NOT_STATED
        raise SweepError(words.NOT_PASSIVE.format(**facts, beyond=beyond), frequency=f)
    return (words.STAYS.format(**facts, reason=event.not_passive),)


def _stored(event: Sweep, found: Content) -> str:
    low, high = (hertz(float(f)) for f in (found.frequency[0], found.frequency[-1]))
    what = Wiring.parse(event.wiring).spoken if event.wiring else words.AT_PORTS.format(ports=event.ports)
    facts = {"id": event.id, "file": event.file, "count": len(found), "low": low, "high": high}
    return words.STORED.format(**facts, what=what, line=event.seq, digest=event.sha256[:12])


def _gaps(event: Sweep) -> tuple[str, ...]:
    """What a reader of the report would have to ask."""
    gaps = [words.CONDITION_NAMES[name] for name in CONDITIONS if getattr(event, name) is None]
    gaps += [words.ACCURACY] if event.accuracy is None else []
    return (words.GAPS.format(gaps=", ".join(gaps)),) if gaps else ()
