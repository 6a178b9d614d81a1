"""What a schematic shows, worked out before anything is drawn: names, shorts, open ends, and all in words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from labkit.errors import EntryError
from labkit.theory.wiring import Terminal, Wiring, parse_dots, terminals
from labkit.words import schematic as words


@dataclass(frozen=True)
class Drawing:
    """One wiring of a part with `windings` windings; `dots` is None if nobody knows them.

    `labels` names windings by number; `measured` is what the meter's symbol says; `source` makes it one.
    """

    wiring: Wiring
    dots: tuple[Terminal, ...] | None
    windings: int
    labels: Mapping[int, str]
    measured: str

    @classmethod
    def of(
        cls,
        wiring: str | Wiring,
        dots: str | tuple[Terminal, ...] | None,
        windings: int,
        labels: Mapping[int, str],
        measured: str,
    ) -> "Drawing":
        """The same from what a person writes; raises WiringError or EntryError with one sentence."""
        if windings not in range(1, 100):
            raise EntryError(words.WINDINGS.format(given=windings), str(windings))
        strange = ", ".join(str(number) for number in labels if number not in range(1, windings + 1))
        if strange:
            raise EntryError(words.LABELS.format(given=strange, windings=windings), strange)
        wiring = Wiring.parse(wiring)
        wiring.nodes(windings)  # refuses a terminal that the part does not have
        if dots is not None:
            dots = parse_dots(dots if isinstance(dots, str) else " ".join(map(str, dots)), windings)
        return cls(wiring, dots, windings, labels, measured)

    def name(self, winding: int) -> str:
        """What a winding is called."""
        return self.labels.get(winding, "").strip() or words.WINDING.format(number=winding)

    @property
    def shorted(self) -> tuple[int, ...]:
        """The windings with both ends on one node."""
        nodes = self.wiring.nodes(self.windings)
        ends = {w: {Terminal(w, "a"), Terminal(w, "b")} for w in range(1, self.windings + 1)}
        return tuple(w for w, pair in ends.items() if any(pair <= node for node in nodes))

    @property
    def open_ends(self) -> tuple[Terminal, ...]:
        """The terminals that no clip and no tie touches."""
        touched = {*self.wiring.clips, *(terminal for tie in self.wiring.ties for terminal in tie)}
        return tuple(terminal for terminal in terminals(self.windings) if terminal not in touched)

    @property
    def spoken(self) -> str:
        """The drawing in words: part, names, dots, clips, ties, shorts, open ends."""
        return " ".join((*self._part(), *self._connections(), *self._consequences()))

    def _part(self) -> list[str]:
        count = words.COUNTS.get(self.windings, str(self.windings))
        said = [words.ALT_ONE if self.windings == 1 else words.ALT_MANY.format(count=count)]
        called = [w for w in range(1, self.windings + 1) if self.labels.get(w, "").strip()]
        said += [words.ALT_LABEL.format(number=w, label=self.name(w)) for w in called]
        dots = words.ALT_DOTS.format(dots=listed(self.dots or ()))
        return [*said, dots if self.dots else words.ALT_DOTS_UNKNOWN]

    def _connections(self) -> list[str]:
        first, second = self.wiring.clips
        said = [words.ALT_CLIPS.format(first=first, second=second)]
        if self.measured == words.SOURCE:
            said.append(words.ALT_SOURCE)
        elif self.measured != words.METER:
            said.append(words.ALT_METER.format(measured=self.measured))
        ties = [words.ALT_TIE.format(chain=" to ".join(map(str, tie))) for tie in self.wiring.ties]
        return [*said, *(ties or [words.ALT_NO_TIE])]

    def _consequences(self) -> list[str]:
        said = [words.ALT_SHORTED.format(number=w) for w in self.shorted]
        first, second = self.wiring.clip_nodes(self.windings)
        if first == second:
            said.append(words.ALT_LEADS)
        ends = words.ALT_OPEN.format(ends=listed(self.open_ends))
        return [*said, ends if self.open_ends else words.ALT_NO_OPEN]


def listed(items: Sequence[object]) -> str:
    """The items as read aloud.

    >>> listed(["1a", "2a", "3a"])
    '1a, 2a and 3a'
    """
    texts = [str(item) for item in items]
    return words.AND.join([", ".join(texts[:-1]), texts[-1]] if len(texts) > 1 else texts)
