"""Boards in the browser: build a wiring by hand and see what it is, or step through its derivation.

A board holds a wiring and the dots, nothing of the record; every answer is worked out anew from the bench.
Drawing, name and prediction are the answer to a change. The derivation is asked for afterwards, since the
first one loads sympy.
"""

from dataclasses import replace
from functools import lru_cache
from typing import Any

from labkit.analysis.analysis import analyse
from labkit.errors import EntryError, WiringError
from labkit.faces import plot as style
from labkit.faces import schematic
from labkit.faces.schematic import listed
from labkit.faces.wiring_name import Dots, capital, count_of, dots_of, figures_of, name, remarks
from labkit.record.bench import Bench
from labkit.show import Formula
from labkit.theory.derivation import Derivation, Equation, Rows, Step, derive
from labkit.theory.number import Expression
from labkit.theory.wiring import Terminal, Wiring
from labkit.widgets.live import Live, in_place
from labkit.words import theory as derivation_words
from labkit.words import widgets as words

# A derivation to step through in front of a class: any wiring, and at the end the figures of a bench.
#
# The steps go to the browser in one piece, so that stepping waits for nothing.

Page = dict[str, Any]
LINE = 12  # terms of a fraction that still fit into one line on a board


def pages(
    wiring: Wiring, dots: tuple[Terminal, ...] | None, windings: int, bench: Bench | None = None
) -> dict[str, Any]:
    """The derivation as the browser shows it.

    Returns
    -------
    dict: `formula` (MathML of the result, and the same as text), `steps` (title, sentence, formulas), and
    `figures`, the number of the first step with figures, None if there is none.
    """
    from labkit.analysis.worked import figured  # loads sympy

    derivation = _derived(wiring, dots, windings)
    steps = _told(wiring, dots, windings)
    figures = figured(derivation, analyse(bench)) if bench else ()
    formula = final(derivation).formula()
    return {
        "formula": {"html": formula.html(), "text": formula.text},
        "steps": [*steps, *map(_page, figures)],
        "figures": len(steps) if figures else None,
    }


def final(derivation: Derivation) -> Equation:
    """The result of a derivation: written out if it fits into a line, else in matrix form."""
    from labkit.theory.derivation_steps import L_EQ

    if derivation.result is not None and _terms(derivation.result) <= LINE:
        return Equation((L_EQ, derivation.result))
    step = next(s for s in derivation.steps if s.title == derivation_words.RESULT_TITLE)
    return step.equations[-1]


@lru_cache(maxsize=128)
def _derived(wiring: Wiring, dots: tuple[Terminal, ...] | None, windings: int) -> Derivation:
    return derive(wiring, windings, dots)


@lru_cache(maxsize=128)
def _told(wiring: Wiring, dots: tuple[Terminal, ...] | None, windings: int) -> tuple[Page, ...]:
    return tuple(map(_page, _derived(wiring, dots, windings).all_steps))


def _page(step: Step) -> Page:
    lines = [line for equation in step.equations for line in _in_lines(equation)]
    formulas = [line.formula().html() for line in lines]
    return {"title": step.title, "sentence": step.sentence, "formulas": formulas}


def _in_lines(equation: Equation) -> tuple[Equation, ...]:
    """A fraction too long for a board as N/D, with N and D in rows of their own."""
    left, right = equation.sides[0], equation.sides[-1]
    if isinstance(right, str | Formula):
        return (equation,)
    from sympy import Expr, Symbol, fraction

    from labkit.theory.derivation_steps import L_EQ

    if left != L_EQ or not isinstance(right, Expr) or _terms(right) <= LINE:
        return (equation,)
    N, D = Symbol("N"), Symbol("D")
    numerator, denominator = fraction(right)
    rows = Equation((N, Rows(numerator, LINE // 2))), Equation((D, Rows(denominator, LINE // 2)))
    return (Equation((L_EQ, N / D), equation.remark), *rows)


def _terms(quotient: Expression) -> int:
    """How many terms a fraction has above and below its line."""
    from sympy import Add, fraction

    return sum(len(Add.make_args(part)) for part in fraction(quotient))


# What a hand does to a wiring: tie or untie two ends, move a clip, turn a winding round.
#
# Each function gives a new wiring. Ties are kept as bundles, one for each node of several ends, so that the
# same two presses always undo each other's effect.

Bundle = tuple[Terminal, ...]


def tied(wiring: Wiring, one: Terminal, other: Terminal) -> bool:
    """Whether ties join two ends."""
    return any({one, other} <= set(bundle) for bundle in bundles(wiring.ties))


def tie(wiring: Wiring, one: Terminal, other: Terminal) -> Wiring:
    """The two ends tied; if they were already, `other` is taken off.

    >>> print(tie(Wiring.parse("1a 2a"), Terminal(1, "b"), Terminal(2, "b")))
    1a 2a | 1b=2b
    >>> print(tie(Wiring.parse("1a 2a | 1b=2b=3b"), Terminal(1, "b"), Terminal(2, "b")))
    1a 2a | 1b=3b
    """
    if one == other:
        raise WiringError(derivation_words.SELF_TIE.format(given=f"{one}={other}"), f"{one}={other}")
    if not tied(wiring, one, other):
        return replace(wiring, ties=bundles((*wiring.ties, (one, other))))
    left = (tuple(end for end in bundle if end != other) for bundle in bundles(wiring.ties))
    return replace(wiring, ties=tuple(bundle for bundle in left if len(bundle) > 1))


def clip(wiring: Wiring, number: int, terminal: Terminal) -> Wiring:
    """The first (0) or second (1) clip moved to an end.

    >>> print(clip(Wiring.parse("1a 1b"), 1, Terminal(2, "a")))
    1a 2a
    """
    clips = list(wiring.clips)
    clips[number] = terminal
    return replace(wiring, clips=(clips[0], clips[1]))


def turn(wiring: Wiring, winding: int) -> Wiring:
    """Everything on one end of a winding moved to its other end.

    >>> print(turn(Wiring.parse("1a 2a | 1b=2b"), 2))
    1a 2b | 1b=2a
    """

    def moved(end: Terminal) -> Terminal:
        return Terminal(winding, "b" if end.end == "a" else "a") if end.winding == winding else end

    first, second = map(moved, wiring.clips)
    return Wiring((first, second), bundles(tuple(tuple(map(moved, bundle)) for bundle in wiring.ties)))


def bundles(ties: tuple[Bundle, ...]) -> tuple[Bundle, ...]:
    """Ties that share an end as one, all sorted.

    >>> print(*bundles(Wiring.parse("1a 1b | 1a=2a 3b=3a 2a=2b").ties)[0])
    1a 2a 2b
    """
    found: list[set[Terminal]] = []
    for ends in ties:
        touched = [bundle for bundle in found if bundle & set(ends)]
        found = [bundle for bundle in found if bundle not in touched] + [set(ends).union(*touched)]
    return tuple(sorted(tuple(sorted(bundle)) for bundle in found))


State = dict[str, Any]


class Board:
    """A wiring on a board with its derivation; what `derivation_board` shows.

    Parameters
    ----------
    bench : whose part is wired, None for none
    wiring : to begin with
    dots : dotted ends; if not given, as the bench has them; None without a bench means not known
    windings : how many, if no bench says so; 2 if nobody does

    Raises
    ------
    WiringError, EntryError
    """

    title = words.STEPS_TITLE
    plain = words.PLAIN_STEPS, words.PLAIN_STEPS_BENCH
    first_step = 0  # a class starts from the laws, not from the formula

    def __init__(
        self,
        bench: Bench | None = None,
        wiring: str | Wiring = "1a 2a | 1b=2b",
        dots: str | tuple[Terminal, ...] | None = None,
        windings: int | None = None,
    ) -> None:
        self.bench = bench
        self.windings = count_of(bench, windings)
        self.wiring = Wiring.parse(wiring)
        self.dots = dots_of(bench, dots, self.windings)
        self._past: list[tuple[Wiring, Dots]] = []
        self._said = ""
        self._shown = self._look()

    @property
    def sentence(self) -> str:
        """What stands in place of the board where there is no browser."""
        return self.plain[self.bench is not None].format(wiring=self.wiring.notation)

    def state(self) -> State:
        """Everything that the board shows, but for the derivation."""
        return self._shown

    def handle(self, message: State) -> State | None:
        """Change the wiring, or work out its derivation; see the verbs."""
        match message:
            case {"do": "derive"}:
                return {"derivation": self.derivation(), "key": self._shown["key"]}
            case {"do": "look"}:
                self._shown = self._look()
            case {"do": "write", "text": str(text)}:
                self.write(text)
            case {"do": "undo"}:
                self.undo()
            case _:
                raise EntryError(words.NOT_UNDERSTOOD.format(given=message.get("do")), str(message))
        return None

    # ---- verbs

    def write(self, text: str) -> None:
        """Build what the notation says."""
        self._change(words.BOARD_WRITTEN, wiring=Wiring.parse(text))

    def undo(self) -> None:
        """Take back the last change that has not been taken back yet."""
        if not self._past:
            raise EntryError("There is nothing to undo.")
        self.wiring, self.dots = self._past.pop()
        self._said = words.UNDONE
        self._shown = self._look()

    def derivation(self) -> State:
        """The derivation of what is built, with the figures of the bench as its last steps."""
        pass  # REMOVED-IMPORT

        return pages(self.wiring, self.dots, self.windings, self.bench)

    # ---- helpers

    def _change(self, said: str, wiring: Wiring | None = None, dots: Dots | str = "as they are") -> None:
        """Take a change only if it can be shown; otherwise all stays as it was."""
        before = self.wiring, self.dots, self._said
        self.wiring = wiring or self.wiring
        self.dots = self.dots if isinstance(dots, str) else dots
        self._said = said
        self._past.append(before[:2])
        try:
            self._shown = self._look()
        except Exception:
            self.wiring, self.dots, self._said = before
            self._past.pop()
            raise

    def _look(self) -> State:
        built = self.wiring, self.dots, self.windings
        picture = schematic.draw(*built)
        called = capital(name(*built))
        said = words.SAID.format(change=self._said, name=called) if self._said else ""
        dots = " ".join(map(str, self.dots or ()))
        return {
            "texts": TEXTS | {"title": self.title},
            "wiring": self.wiring.notation,
            "key": f"{self.wiring.notation}, {dots}, {len(self.bench.events) if self.bench else 0}",
            "spoken": capital(self.wiring.spoken) + ".",
            "drawing": picture.svg,
            "name": called,
            "remarks": list(remarks(*built)),
            "said": said,
            "first_step": self.first_step,
            "hand": None,
        }


class WiringBoard(Board):
    """A board with clips and ties to be moved by hand; what `wiring_board` shows."""

    title = words.TITLE
    plain = words.PLAIN_BOARD, words.PLAIN_BOARD_BENCH
    first_step = -1  # the formula at once, its steps on demand

    def handle(self, message: State) -> State | None:
        """Do what the hand does; whatever else is asked, as every board does."""
        match message:
            case {"do": "tie", "ends": [str(one), str(other)]}:
                self.tie(one, other)
            case {"do": "clip", "clip": 0 | 1 as number, "on": str(terminal)}:
                self.clip(number, terminal)
            case {"do": "turn", "winding": int(number)} if 0 < number <= self.windings:
                self.turn(number)
            case {"do": "dot", "winding": int(number)} if 0 < number <= self.windings:
                self.move_dot(number)
            case {"do": "forget dots"}:
                self.forget_dots()
            case _:
                return super().handle(message)
        return None

    # ---- verbs

    def tie(self, one: str, other: str) -> None:
        """Tie two ends; if they are tied already, take the second off."""
        here, there = Terminal.parse(one), Terminal.parse(other)
        changed = tie(self.wiring, here, there)
        said = words.UNTIED if tied(self.wiring, here, there) else words.TIED
        self._change(said.format(one=here, other=there), changed)

    def clip(self, number: int, terminal: str) -> None:
        """Put the first (0) or second (1) clip on an end."""
        end, called = Terminal.parse(terminal), capital(words.CLIP_KEYS[number])
        if self.wiring.clips[number] == end:
            raise EntryError(f"{called} is already on {end}.", terminal)
        self._change(words.CLIPPED.format(clip=called, terminal=end), clip(self.wiring, number, end))

    def turn(self, winding: int) -> None:
        """Turn a winding round: what was on its end a goes to its end b and the other way round."""
        self._change(words.TURNED.format(number=winding), turn(self.wiring, winding))

    def move_dot(self, winding: int) -> None:
        """Move the dot of a winding to its other end; unknown dots are first taken to be at the ends a."""
        dots = list(self.dots or (Terminal(w, "a") for w in range(1, self.windings + 1)))
        if self.dots:
            old = dots[winding - 1]
            dots[winding - 1] = old._replace(end="b" if old.end == "a" else "a")
        self._change(words.DOT_MOVED.format(dots=listed(dots)), dots=tuple(dots))

    def forget_dots(self) -> None:
        """Take the dots as not known."""
        self._change(words.DOTS_FORGOTTEN, dots=None)

    # ---- helpers

    def _look(self) -> State:
        shown = super()._look()  # refuses what does not fit the part
        figures = figures_of(self.wiring, self.dots, self.windings, self.bench)
        shown["hand"] = {
            "clips": [str(end) for end in self.wiring.clips],
            "windings": [self._winding(w) for w in range(1, self.windings + 1)],
            "undo": bool(self._past),
            "dots_known": self.dots is not None,
            "rows": [list(row) for row in figures.rows],
            "notes": list(figures.notes),
        }
        return shown

    def _winding(self, w: int) -> State:
        dot = self.dots[w - 1] if self.dots else None
        label = words.DOT_LABEL.format(number=w, end=dot) if dot else words.DOT_LABEL_UNKNOWN.format(number=w)
        return {
            "number": w,
            "name": words.WINDING_KEY.format(number=w),
            "colour": style.winding(w).colour,
            "ends": [self._end(Terminal(w, end)) for end in "ab"],
            "dot": dot.end if dot else "",
            "dot_text": words.DOT.format(end=dot) if dot else words.DOT_UNKNOWN,
            "dot_label": label,
            "turn_label": words.TURN_LABEL.format(number=w),
        }

    def _end(self, end: Terminal) -> State:
        clips = [n for n, clip in enumerate(self.wiring.clips) if clip == end]
        bundle = next((b for b in bundles(self.wiring.ties) if end in b), ())
        others = [other for other in bundle if other != end]
        spoken = [words.TERMINAL.format(terminal=end)]
        spoken += [words.TERMINAL_CLIPPED.format(clip=words.CLIP_KEYS[n]) for n in clips]
        spoken += [words.TERMINAL_TIED.format(others=listed(others))] if others else []
        return {
            "name": str(end),
            "label": ", ".join(spoken),
            "clips": [words.CLIP_SHORT[n] for n in clips],
            "tied": words.TIED_SHORT.format(others=" = ".join(map(str, others))) if others else "",
        }


TEXTS: State = {
    "header": list(words.HEADER),
    "prediction_title": words.PREDICTION_TITLE,
    "clip_keys": list(words.CLIP_KEYS),
    "turn": words.TURN,
    "dots_unknown": words.DOTS_UNKNOWN,
    "undo": words.UNDO,
    "notation": words.NOTATION,
    "build": words.BUILD,
    "cover": words.COVER,
    "uncover": words.UNCOVER,
    "covered": words.COVERED,
    "hand": words.HAND,
    "how": words.HOW,
    "keys": words.KEYS,
    "holding_clip": words.HOLDING_CLIP,
    "holding_end": words.HOLDING_END,
    "lost": words.LOST,
    "derivation": words.DERIVATION,
    "working": words.WORKING,
    "start": words.START,
    "next": words.BOARD_NEXT,
    "back": words.BACK,
    "formula": words.FORMULA,
    "to_figures": words.TO_FIGURES,
    "count": words.COUNT,
    "step_keys": words.STEP_KEYS,
}
"""What the script writes, by the names it uses."""


# The wiring board and the derivation board in JupyterLab.


class Boarded(Live):
    """A board as a widget; where no widget can be shown it is one sentence."""

    model: Board

    def __init__(self, model: Board) -> None:
        super().__init__(model, "board.js", "board.css")

    def __repr__(self) -> str:
        return self.model.sentence


def wiring_board(
    bench: Bench | None = None,
    wiring: str | Wiring = "1a 2a | 1b=2b",
    dots: str | tuple[Terminal, ...] | None = None,
    windings: int | None = None,
) -> Boarded:
    """A board to wire a part by hand: what it looks like, what it is, where it comes from, what it reads.

    Nothing that is done on it goes into the record. The plain calls are `what_is` and `work_out`. The same
    cell run again closes the board that it made before.

    Parameters
    ----------
    bench : whose part is wired and whose readings give the figures; None for neither
    wiring : to begin with
    dots : dotted ends such as `1a 2a`; if not given, as the bench has them, and not known without a bench
    windings : how many, if no bench says so; 2 if nobody does

    Raises
    ------
    WiringError, EntryError
        if the wiring does not fit the part.
    """
    return _opened(WiringBoard(bench, wiring, dots, windings))


def derivation_board(
    wiring: str | Wiring = "1a 2a | 1b=2b",
    bench: Bench | None = None,
    dots: str | tuple[Terminal, ...] | None = None,
    windings: int | None = None,
) -> Boarded:
    """A derivation to step through by keyboard, projector-size, with the figures of a bench at its end.

    The plain call is `work_out`; parameters as for `wiring_board`.
    """
    return _opened(Board(bench, wiring, dots, windings))


def _opened(model: Board) -> Boarded:
    return in_place(Boarded(model), model.title, model.wiring.notation)
