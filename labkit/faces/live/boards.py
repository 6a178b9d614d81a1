"""The wiring board and the derivation board in JupyterLab."""

from labkit.bench.bench import Bench
from labkit.faces.live.board import Board, WiringBoard
from labkit.faces.live.live import Live, in_place
from labkit.theory.wiring import Terminal, Wiring


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
