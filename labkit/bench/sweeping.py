"""The bench's verb for sweeps: a file is read and checked, kept under its hash, then its event is stored."""

import contextlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from labkit.bench.answer import Answer
from labkit.bench.events import Withdrawal, spoken, to_event
from labkit.bench.fields import blank, given, slug
from labkit.bench.kept import (
    content,
    given_file,
    is_touchstone,
    keep,
    kept_as,
    path_of,
    read_given,
    read_kept,
)
from labkit.bench.standing import Standing
from labkit.bench.stored_sweep import CONDITIONS, StoredSweep, port_impedance, relative
from labkit.bench.sweep_event import FixtureModel, KeptFile, Setup, Sweep
from labkit.errors import EntryError, LabkitError, SweepError
from labkit.quantity import display
from labkit.show import Part as ShownPart
from labkit.show import Table, Text
from labkit.sweeps.checks import Pairing, better_pairing, first_gain, mutual_sign, require_shown
from labkit.sweeps.fixture import open_short
from labkit.sweeps.sweep import Decimal, Impedance, Scattering, hertz
from labkit.theory.wiring import Terminal, Wiring
from labkit.words import bench as bench_words
from labkit.words import sweeps as words

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
            raise EntryError(words.WIRING_NEEDS, str(ports or ""))
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
            raise EntryError(words.CONDITION.format(given=name, accepted=accepted), name)


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
        raise SweepError(words.NOT_FOUR.format(file=file, ports=found.ports))


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
