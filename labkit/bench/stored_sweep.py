"""A sweep as it stands in a record, read from its kept file."""

from dataclasses import dataclass
from pathlib import Path

from labkit import quantity
from labkit.bench.kept import content, read_kept
from labkit.bench.sweep_event import KeptFile, Setup, Sweep
from labkit.errors import SweepError
from labkit.sweeps.fixture import HOOK_UPS, open_short
from labkit.sweeps.sweep import Impedance, Scattering
from labkit.theory.wiring import Wiring
from labkit.words import sweeps as words

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
            raise SweepError(words.NO_SCATTERING_HERE.format(id=self.id))
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
            raise SweepError(words.FOUR_PORT_IMPEDANCE.format(id=self.id))
        return port_impedance(self._content(kept), self.setup)

    def _content(self, kept: KeptFile) -> Impedance | Scattering:
        return content(self.kept(kept), kept.file, self.event.decimal)


def port_impedance(found: Impedance | Scattering, setup: Setup) -> Impedance:
    """The impedance that a file gives in this setup, the fixture still in it."""
    return found if isinstance(found, Impedance) else HOOK_UPS[setup](found)


def relative(accuracy: str) -> float:
    """The fraction that a stated percentage is; EntryError if it is none."""
    return quantity.parse(accuracy, "percentage").value / 100
