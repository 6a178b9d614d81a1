"""Which readings with which card would reach a wanted uncertainty, before anything is measured."""

from collections.abc import Sequence
from dataclasses import dataclass

from labkit import quantity
from labkit.analysis.advise import ideal_observation, uncertainty_of
from labkit.analysis.fit import fit
from labkit.analysis.quantities import QUANTITIES, require_known
from labkit.bench.card import Card
from labkit.errors import EntryError
from labkit.show import Part, Shown, Table, Text
from labkit.theory.pair import Pair
from labkit.theory.wiring import Connection, parse_dots
from labkit.words import advise as words
from labkit.words import labels


@dataclass(frozen=True)
class Plan(Shown):
    """Which readings with which card reach a wanted uncertainty; rows of (card, readings, expected u)."""

    name: str
    wanted: float
    rows: tuple[tuple[str, str, float], ...]

    def parts(self) -> tuple[Part, ...]:
        unit, what = QUANTITIES[self.name][0], labels.QUANTITY[self.name]
        rows = tuple(
            (
                card,
                read,
                quantity.display(u, unit=unit, significant_digits=2),
                words.YES if u <= self.wanted else words.NO,
            )
            for card, read, u in self.rows
        )
        wanted = quantity.display(self.wanted, unit=unit, significant_digits=2)
        table = Table(words.PLAN_HEADER, rows, words.PLAN_TITLE.format(quantity=what, wanted=wanted))
        return (Text(self.sentence), table)

    @property
    def sentence(self) -> str:
        """The fewest readings that reach what is wanted, or that none do."""
        if not self.rows:
            return words.NO_PLAN
        unit = QUANTITIES[self.name][0]
        reaching = [row for row in self.rows if row[2] <= self.wanted]
        card, read, u = min(
            reaching or self.rows, key=lambda row: (row[1].count(",") * bool(reaching), row[2])
        )
        expected = quantity.display(u, unit=unit, significant_digits=2)
        sentence = words.PLAN_BEST if reaching else words.PLAN_NONE
        return sentence.format(read=read, card=card, expected=expected)


SETS = (
    (Connection.SERIES_OPPOSING,),
    (Connection.SERIES_AIDING,),
    (Connection.SHORT_CIRCUIT_1,),
    (Connection.PARALLEL_OPPOSING,),
    (Connection.SERIES_OPPOSING, Connection.PARALLEL_OPPOSING),
    (
        Connection.SERIES_AIDING,
        Connection.SERIES_OPPOSING,
        Connection.PARALLEL_AIDING,
        Connection.PARALLEL_OPPOSING,
    ),
)
"""What may be read beside the two singles, from one further reading to four."""


def plan(pair: Pair, name: str, wanted: float, cards: Sequence[Card], frequency: str = "10 kHz") -> Plan:
    """Which readings with which meter card bring a quantity to a wanted standard uncertainty.

    Parameters
    ----------
    pair : about what is expected
    name : key of `labkit.analysis.quantities.QUANTITIES`, such as "coupling_coefficient"
    wanted : standard uncertainty, SI unit
    cards : of the meters at hand
    frequency : at which all are read

    Raises
    ------
    EntryError
        if the quantity is not one of those, or the wanted uncertainty is not above zero.
    """
    require_known(name)
    if not wanted > 0:
        raise EntryError(words.BAD_WANTED.format(given=wanted), str(wanted))
    dots, at = parse_dots("1a 2a"), quantity.parse(frequency, "frequency")
    rows = []
    for card in cards:
        for further in SETS:
            wanted_readings = (Connection.SELF_1, Connection.SELF_2, *further)
            seen = [ideal_observation(c, float(pair.inductance(c)), card, dots, at) for c in wanted_readings]
            readable = [o for o in seen if o]
            if len(readable) == len(seen):
                read = ", ".join(labels.CONNECTION[c] for c in wanted_readings)
                rows.append((card.title, read, uncertainty_of(fit(readable), name)))
    return Plan(name, wanted, tuple(sorted(rows, key=lambda row: row[2])))
