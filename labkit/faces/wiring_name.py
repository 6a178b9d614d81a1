"""What a wiring is and what it should read: drawing, name, and the figures that the bench's readings allow.

The figures are those of `labkit.analysis`; here they are only chosen for one wiring and laid beside those of
the same wiring with one winding turned round, where that makes a difference.
"""

from dataclasses import dataclass, field

from labkit import quantity
from labkit.analysis.analysis import Analysis, analyse
from labkit.analysis.compare import coupled, only_winding, uncoupled
from labkit.analysis.predict import Ruled, by_rule
from labkit.analysis.results import predict
from labkit.analysis.routes import SINGLES
from labkit.errors import EntryError
from labkit.faces import schematic
from labkit.faces.schematic import listed
from labkit.record.bench import Bench
from labkit.show import Heading, Part, Picture, Shown, Table, Text
from labkit.theory.network import identify, path_and_loops
from labkit.theory.wiring import Connection, Terminal, Wiring, parse_dots
from labkit.words import analysis as predict_words
from labkit.words import labels
from labkit.words import pictures as schematic_words
from labkit.words import widgets as words

# What a wiring is called and what it does, in words, for any number of windings.
#
# Two windings have the names of `Connection`; more are told by what the forward model finds: windings in
# line, side by side, or a network, and which of them are shorted, closed in a loop, or idle.

Dots = tuple[Terminal, ...] | None
ALIKE, UNLIKE = (Terminal(1, "a"), Terminal(2, "a")), (Terminal(1, "a"), Terminal(2, "b"))


def connections(wiring: Wiring, dots: Dots) -> tuple[Connection, ...]:
    """What a wiring of two windings amounts to: one connection, or two if the unknown dots decide."""
    return tuple(dict.fromkeys(identify(wiring, each) for each in ([dots] if dots else [ALIKE, UNLIKE])))


def name(wiring: Wiring, dots: Dots = None, windings: int = 2) -> str:
    """What is built, in a few words.

    >>> name(Wiring.parse("1a 2a | 1b=2b"), ALIKE), name(Wiring.parse("1a 2b | 1b=2a 3a=3b"), None, 3)
    ('series-opposing', 'windings 1 and 2 in line (3 shorted)')
    """
    if windings != 2:
        return _name_of_many(wiring, dots, windings)
    found = [labels.CONNECTION[each] for each in connections(wiring, dots)]
    return found[0] if len(found) == 1 else words.DECIDED_BY_DOTS.format(alike=found[0], unlike=found[1])


def remarks(wiring: Wiring, dots: Dots = None, windings: int = 2) -> tuple[str, ...]:
    """What the wiring does, and which windings are shorted or idle, one sentence each."""
    shape = Shape.of(wiring, windings)
    if shape is None:
        return (words.REMARKS["open"], *_shorted(wiring, windings))
    if not shape.carrying:
        return (words.REMARKS["leads"], *_shorted(wiring, windings))
    idle = [w for w in range(1, windings + 1) if w not in (*shape.carrying, *shape.shorted, *shape.closed)]
    if windings != 2:
        said = [words.IDLE_MANY.format(number=w) for w in idle]
        return (*said, *(words.SHORTED_ONE.format(number=w) for w in shape.shorted))
    if idle:
        return (words.IDLE.format(number=idle[0]),)
    found = connections(wiring, dots)
    if len(found) > 1:
        alike, unlike = (labels.CONNECTION[each] for each in found)
        return (words.DOTS_DECIDE.format(alike=alike, unlike=unlike),)
    return (words.REMARKS[found[0]],)


def _shorted(wiring: Wiring, windings: int) -> tuple[str, ...]:
    nodes = wiring.nodes(windings)
    both = [{Terminal(w, "a"), Terminal(w, "b")} for w in range(1, windings + 1)]
    shorted = [w for w, ends in enumerate(both, 1) if any(ends <= node for node in nodes)]
    return tuple(words.SHORTED_ONE.format(number=w) for w in shorted)


@dataclass(frozen=True)
class Shape:
    """Which windings do what, by the loops that the forward model finds.

    Attributes
    ----------
    carrying : windings between the clips
    signs : of the meter's current in a winding in line, from end a to end b
    meshed : whether some loop shares a winding with the way from clip to clip
    shorted, closed : windings with both ends on one node; windings in a loop of their own
    """

    carrying: tuple[int, ...]
    signs: dict[int, int]
    meshed: bool
    shorted: tuple[int, ...] = ()
    closed: tuple[int, ...] = field(default=())

    @classmethod
    def of(cls, wiring: Wiring, windings: int) -> "Shape | None":
        """The shape of a wiring, None if no winding leads from clip to clip."""
        found = path_and_loops(wiring, windings)
        if found is None:
            return None
        path, loops = found
        carrying = {w for w, sign in enumerate(path, 1) if sign}
        rings = [{w for w, sign in enumerate(loop, 1) if sign} for loop in loops]
        shorted = sorted(w for ring in rings if len(ring) == 1 for w in ring)
        rings = [ring for ring in rings if len(ring) > 1]
        meshed = False
        while touching := [ring for ring in rings if ring & carrying]:
            meshed = True
            carrying |= set().union(*touching)
            rings = [ring for ring in rings if ring not in touching]
        signs = {w: sign for w, sign in enumerate(path, 1) if sign}
        closed = sorted(set().union(*rings)) if rings else []
        return cls(tuple(sorted(carrying)), signs, meshed, tuple(shorted), tuple(closed))


def _name_of_many(wiring: Wiring, dots: Dots, windings: int) -> str:
    shape = Shape.of(wiring, windings)
    if shape is None:
        return words.OPEN
    if not shape.carrying:
        return words.BOARD_LEADS
    told = words.WINDINGS if len(shape.carrying) > 1 else words.WINDING
    windings_told = told.format(windings=listed(shape.carrying))
    signs = shape.signs
    if len(shape.carrying) == 1:
        said = words.ALONE.format(windings=shape.carrying[0])
    elif not shape.meshed:
        said = words.IN_LINE.format(windings=windings_told)
    elif signs := _beside(wiring, windings, shape.carrying):
        said = words.BOARD_SIDE_BY_SIDE.format(windings=windings_told)
    else:
        said = words.NETWORK.format(windings=windings_told)
    said += _reversed(signs, dots)
    said += words.SHORTED.format(windings=listed(shape.shorted)) if shape.shorted else ""
    loop = words.WINDINGS.format(windings=listed(shape.closed))
    return said + (words.BOARD_CLOSED.format(windings=loop) if shape.closed else "")


def _beside(wiring: Wiring, windings: int, carrying: tuple[int, ...]) -> dict[int, int]:
    """+1 for a winding with end a under the first clip, -1 with end b; empty if one lies elsewhere."""
    first, second = wiring.clip_nodes(windings)
    node_of = {terminal: node for node in wiring.nodes(windings) for terminal in node}
    lying = {w: (node_of[Terminal(w, "a")], node_of[Terminal(w, "b")]) for w in carrying}
    if not all({*nodes} == {first, second} for nodes in lying.values()):
        return {}
    return {w: 1 if nodes[0] == first else -1 for w, nodes in lying.items()}


def _reversed(signs: dict[int, int], dots: Dots) -> str:
    """Which windings lie the other way round than the first of them, as the dots have it."""
    if dots is None or len(signs) < 2:
        return ""
    ways = {w: sign * (1 if dots[w - 1].end == "a" else -1) for w, sign in signs.items()}
    first = ways[min(ways)]
    turned = [w for w, way in sorted(ways.items()) if way != first]
    return words.REVERSED.format(windings=listed(turned)) if turned else ""


TURNED = {
    Connection.SERIES_AIDING: Connection.SERIES_OPPOSING,
    Connection.SERIES_OPPOSING: Connection.SERIES_AIDING,
    Connection.PARALLEL_AIDING: Connection.PARALLEL_OPPOSING,
    Connection.PARALLEL_OPPOSING: Connection.PARALLEL_AIDING,
}
"""What becomes of a connection when one of its windings is turned round; the others stay what they are."""


@dataclass(frozen=True)
class Figures:
    """What a wiring should read: one row a possibility, (what, without coupling, coupled), and notes."""

    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Built(Shown):
    """One wiring of one part: what it is, and what it should read.

    Attributes
    ----------
    wiring, dots, windings : dots are None if they are not known
    name, remarks : what is built, and what it does
    picture : the schematic
    figures : what the meter should read
    """

    wiring: Wiring
    dots: Dots
    windings: int
    name: str
    remarks: tuple[str, ...]
    picture: Picture
    figures: Figures

    def parts(self) -> tuple[Part, ...]:
        """Drawing, name, remarks, figures."""
        table = Table(words.HEADER, self.figures.rows, words.PREDICTION_TITLE)
        return (
            self.picture,
            Heading(capital(self.name)),
            *map(Text, self.remarks),
            *([table] if self.figures.rows else []),
            *(Text(note, "note") for note in self.figures.notes),
        )


def what_is(
    wiring: str | Wiring,
    bench: Bench | None = None,
    *,
    dots: str | tuple[object, ...] | None = None,
    windings: int | None = None,
) -> Built:
    """What a wiring is called, how it looks, and what it should read.

    Parameters
    ----------
    wiring : notation such as `1a 2a | 1b=2b`
    bench : whose part is wired and whose readings give the figures; None for none
    dots : dotted ends such as `1a 2a`; if not given, as the bench has them
    windings : how many, if no bench says so; 2 if nobody does

    Raises
    ------
    WiringError, EntryError

    Examples
    --------
    >>> what_is("1a 2b | 1b=2a", dots="1a 2b").name
    'series-opposing'
    """
    count = count_of(bench, windings)
    built = Wiring.parse(wiring)
    known = dots_of(bench, dots, count)
    picture = schematic.draw(built, known, count)
    figures = figures_of(built, known, count, bench)
    return Built(
        built, known, count, name(built, known, count), remarks(built, known, count), picture, figures
    )


def count_of(bench: Bench | None, windings: int | None) -> int:
    """How many windings the part has; EntryError if bench and argument disagree, or for no number at all."""
    if bench is None:
        if windings not in (None, *range(1, 100)):
            raise EntryError(schematic_words.WINDINGS.format(given=windings), str(windings))
        return 2 if windings is None else windings
    if windings not in (None, bench.windings):
        raise EntryError(
            f"The part of this bench has {bench.windings} windings, but windings={windings} "
            "was given; leave it out to use the bench's.",
            str(windings),
        )
    return bench.windings


def dots_of(bench: Bench | None, dots: str | tuple[object, ...] | None, windings: int) -> Dots:
    """The dots given, else those that the bench is marked with or its readings decide for."""
    if dots is not None:
        return parse_dots(dots if isinstance(dots, str) else " ".join(map(str, dots)), windings)
    return None if bench is None else analyse(bench).shared.dots


def figures_of(wiring: Wiring, dots: Dots, windings: int, bench: Bench | None) -> Figures:
    """What the readings of a bench say that a wiring should read, as built and turned round."""
    if bench is None:
        return Figures((), (words.NO_BENCH,))
    if windings != 2:
        return Figures((), (predict_words.NO_WINDINGS.format(windings=windings),))
    analysis = analyse(bench)
    differ = _on_dots(analysis, dots)
    cases = _cases(wiring, analysis.shared.dots, named=not differ)
    if not cases:
        return Figures((), ())
    ruled = {what: _ruled(c, analysis) for what, c in cases.items()}
    shown = [what for what, both in ruled.items() if any(both)]
    rows = tuple((what, *map(_figure, ruled[what])) for what in shown)
    notes = [*differ, *_on_figures(cases, ruled), *predict(bench).notes]
    return Figures(rows, (*notes, *_on_route(analysis, rows)))


def _cases(wiring: Wiring, dots: Dots, named: bool) -> dict[str, Connection]:
    """The connections to be told, by what they are called here: as built and turned, or both possible.

    Names go by the record's dots; beside a name by other dots they would only confuse.
    """
    found = connections(wiring, dots)
    if found[0] in (Connection.OPEN, Connection.LEADS):
        return {}
    if len(found) > 1:
        return {words.ROW.format(which=words.ROW_IF, name=labels.CONNECTION[c]): c for c in found}
    both: dict[str, Connection] = {words.ROW_BUILT: found[0]}
    if found[0] in TURNED:
        both[words.ROW_TURNED] = TURNED[found[0]]
    if not named:
        return both
    return {words.ROW.format(which=which, name=labels.CONNECTION[c]): c for which, c in both.items()}


def _ruled(connection: Connection, analysis: Analysis) -> tuple[Ruled | None, Ruled | None]:
    """What the rule without coupling and the coupled rule say; for one winding alone both say its reading."""
    known = next((p for p in analysis.predictions if p.connection is connection), None)
    if known and known.coupled and connection not in SINGLES:
        return known.uncoupled, known.coupled
    pool, by = analysis.shared.pool(), analysis.believed
    if connection in SINGLES:
        number = SINGLES.index(connection) + 1
        alone = connection in pool and by_rule(only_winding(connection, number, pool[connection]))
        return alone or None, alone or None
    singles = [pool[single] for single in SINGLES if single in pool]
    without = by_rule(uncoupled(connection, (singles[0], singles[1]))) if len(singles) == 2 else None
    return without, by_rule(coupled(connection, by)) if by else None


def _figure(ruled: Ruled | None) -> str:
    if ruled is None:
        return ""
    u = ruled.estimate.standard_uncertainty if ruled.stated else None
    return quantity.display(ruled.estimate.value, u)


def _on_dots(analysis: Analysis, dots: Dots) -> list[str]:
    record = analysis.shared.dots
    if dots is None or record is None or _alike(dots) == _alike(record):
        return []
    board, marked = (" ".join(map(str, each)) for each in (dots, record))
    return [words.BY_RECORD.format(board=board, record=marked)]


def _alike(dots: tuple[Terminal, ...]) -> bool:
    return dots[0].end == dots[1].end


def _on_figures(
    cases: dict[str, Connection], ruled: dict[str, tuple[Ruled | None, Ruled | None]]
) -> list[str]:
    """Where a figure is no prediction but a reading, and where its ± is not to be trusted."""
    notes = []
    for what, (_, by) in ruled.items():
        name = labels.CONNECTION[cases[what]]
        if by and by.statement.route is None:
            notes.append(words.ITS_READING.format(what=name))
        elif by and by.statement.route and cases[what] in by.statement.route.needs:
            notes.append(words.RESTS_ON_ITSELF.format(what=name))
        if by and by.trusted is False and by.monte_carlo:
            ends = (
                quantity.display_parts(x, by.monte_carlo.standard_uncertainty)
                for x in by.monte_carlo.shortest
            )
            low, high = (f"{value} {unit}" for value, _, unit in ends)
            notes.append(words.INTERVAL.format(what=name, low=low, high=high))
    return notes


def _on_route(analysis: Analysis, rows: tuple[tuple[str, ...], ...]) -> list[str]:
    by = analysis.believed
    if by is None or not any(row[-1] for row in rows):
        return []
    return [predict_words.ROUTE.format(route=by.route.title, ids=", ".join(by.ids))]


def capital(sentence: str) -> str:
    """The sentence with a capital first letter."""
    return sentence[:1].upper() + sentence[1:]
