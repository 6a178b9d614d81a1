"""What a chart against frequency is made of: curves with bands, the upright axis, marked frequencies."""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from labkit import quantity
from labkit.errors import EntryError, ShapeError
from labkit.faces import plot, style
from labkit.faces.plot import Size
from labkit.words import curves as words

Floats = npt.NDArray[np.float64]

HUES = ("blue", "vermillion", "black", "bluish green", "reddish purple", "sky blue")
WIDTHS = (3.4, 2.4, 1.8, 2.2, 2.2, 2.2)  # falling at first, so that curves that coincide are all seen
DASHES: tuple[tuple[float, ...], ...] = (
    (),
    (9.0, 5.0),
    (2.0, 4.0),
    (9.0, 3.0, 2.0, 3.0),
    (5.0, 2.0),
    (3.0, 6.0),
)
SCALES = ("log", "linear")


def stroke(number: int) -> style.Stroke:
    """The stroke of curve `number`, counted from 0; hue and dashes differ up to the sixth.

    >>> stroke(0).dashes, stroke(1).dashes
    ((), (9.0, 5.0))
    """
    at = number % len(HUES)
    return style.Stroke(style.OKABE_ITO[HUES[at]], WIDTHS[at], DASHES[at])


@dataclass(frozen=True, eq=False)
class Curve:
    """One quantity at F frequencies.

    Attributes
    ----------
    label : what it is, as short as can be; it stands beside the curve
    frequency, value : (F,), in Hz and in the unit of the axis
    low, high : ends of its band, (F,); None for no band
    look : its stroke; None for the next of `stroke`
    points : marks at the frequencies instead of a line between them, as for readings
    """

    label: str
    frequency: Floats
    value: Floats
    low: Floats | None = None
    high: Floats | None = None
    look: style.Stroke | None = None
    points: bool = False

    def __post_init__(self) -> None:
        frequencies = np.size(self.frequency)
        for name in ("frequency", "value", "low", "high"):
            given = getattr(self, name)
            if given is not None:
                kept = np.atleast_1d(np.asarray(given, dtype=np.float64))
                if kept.shape != (frequencies,) or not frequencies:
                    raise ShapeError(words.LENGTHS.format(x=frequencies, y=kept.size, label=self.label))
                object.__setattr__(self, name, kept)


@dataclass(frozen=True)
class Scale:
    """The upright axis: what it shows, in which unit (without prefix), `log` or `linear`."""

    name: str
    unit: str
    scale: str = "log"

    def __post_init__(self) -> None:
        if self.scale not in SCALES:
            raise EntryError(words.SCALE.format(given=self.scale), self.scale)

    @property
    def log(self) -> bool:
        """Whether equal steps are equal ratios."""
        return self.scale == "log"

    def text(self, value: float, digits: int = 3) -> str:
        """A value with its unit and SI prefix."""
        return quantity.display(float(value), unit=self.unit, significant_digits=digits)

    def has_place(self, values: Floats) -> npt.NDArray[np.bool_]:
        """Which values can be drawn."""
        return np.isfinite(values) & ((values > 0) if self.log else True)


@dataclass(frozen=True)
class Line:
    """A frequency that is marked by an upright line, such as a corner, and what it is called."""

    frequency: float
    label: str


@dataclass(frozen=True, eq=False)
class Chart:
    """All of a chart: its words, its curves, its measures."""

    title: str
    scale: Scale
    curves: tuple[Curve, ...]
    lines: tuple[Line, ...] = ()
    notes: tuple[str, ...] = ()
    mark: str = ""
    size: Size = field(default_factory=lambda: plot.SIZES["page"])

    @property
    def is_empty(self) -> bool:
        """Whether no value has a place."""
        return not any(self.scale.has_place(curve.value).any() for curve in self.curves)

    @property
    def missing(self) -> tuple[str, ...]:
        """A sentence for each curve of which some values have no place on the axis."""
        sentence = words.NO_PLACE_LOG if self.scale.log else words.NO_PLACE
        return tuple(
            sentence.format(label=curve.label, count=int((~fits).sum()), points=len(fits))
            for curve in self.curves
            if not (fits := self.scale.has_place(curve.value)).all()
        )
