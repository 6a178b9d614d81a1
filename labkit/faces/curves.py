"""Quantities against frequency: curves with bands on a logarithmic frequency axis, named where they end.

A curve is told apart by its colour, its dashes and the name at its right end; a band is the same colour,
pale. What has no place on an axis is counted in a note below the chart, never dropped in silence.
"""

from collections.abc import Sequence

import numpy as np

from labkit import quantity
from labkit.faces import plot
from labkit.faces.curve import Chart, Curve, Line, Scale, stroke
from labkit.faces.curve_drawing import draw
from labkit.show import Picture
from labkit.words import curves as words
from labkit.words import figures as figure_words


def chart(
    title: str,
    scale: Scale,
    curves: Sequence[Curve],
    *,
    lines: Sequence[Line] = (),
    notes: Sequence[str] = (),
    band: str = words.BAND,
    invented: bool = False,
    size: str = "page",
) -> Picture:
    """Curves against frequency, on one logarithmic frequency axis.

    Parameters
    ----------
    title : what the chart shows
    scale : the upright axis
    curves : at least one; the first is drawn first, each later one over it
    lines : frequencies to mark
    notes : sentences below the chart
    band : what the bands are, said below the chart if there is one
    invented : whether the data are, which the chart then says
    size : `page`, or `projector` for letters that can be read from the last row

    Returns
    -------
    Picture: the same bytes for the same values; `alt` says the ends and the largest value of each curve.
    Without any value that has a place it is the reason.

    Raises
    ------
    EntryError, ShapeError
    """
    mark = figure_words.INVENTED if invented else ""
    below = (*notes, *[band] * any(curve.low is not None for curve in curves))
    drawn = Chart(title, scale, tuple(curves), tuple(lines), below, mark, plot.size_called(size))
    if drawn.is_empty:
        return Picture(plot.blank(words.NOTHING, mark, drawn.size), words.NOTHING)
    alt = _alt(drawn)
    return Picture(draw(drawn, alt), alt)


def hertz(frequency: float) -> str:
    """A frequency with its prefix, to three digits without zeros at their end.

    >>> hertz(150e3), hertz(1e6), hertz(1.384e6)
    ('150 kHz', '1 MHz', '1.38 MHz')
    """
    shown = quantity.display(float(frequency), unit="Hz", significant_digits=3)
    number, unit = shown.split(" ", 1)
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"


def _alt(drawn: Chart) -> str:
    f = np.concatenate([curve.frequency for curve in drawn.curves])
    facts = {"title": drawn.title, "name": drawn.scale.name[:1].upper() + drawn.scale.name[1:]}
    kind = words.ALT_LOG if drawn.scale.log else words.ALT_LINEAR
    said = [words.ALT_HEAD.format(**facts, low=hertz(f.min()), high=hertz(f.max()), scale=kind)]
    said += [figure_words.ALT_INVENTED] * bool(drawn.mark)
    said += [_spoken(curve, drawn.scale) for curve in drawn.curves]
    said += [words.ALT_MARK.format(label=x.label, frequency=hertz(x.frequency)) for x in drawn.lines]
    said += [f"{note.rstrip('.')}." for note in (*drawn.notes, *drawn.missing)]
    return " ".join(sentence for sentence in said if sentence)


def _spoken(curve: Curve, scale: Scale) -> str:
    fits = scale.has_place(curve.value)
    if not fits.any():
        return ""
    f, value = curve.frequency[fits], curve.value[fits]
    at = int(value.argmax())
    facts = {"label": curve.label, "first": scale.text(value[0]), "low": hertz(f[0])}
    if len(value) == 1:
        return words.ALT_SINGLE.format(**facts)
    facts |= {"last": scale.text(value[-1]), "high": hertz(f[-1])}
    return words.ALT_CURVE.format(**facts, peak=scale.text(value[at]), where=hertz(f[at]))


__all__ = ["Chart", "Curve", "Line", "Scale", "chart", "hertz", "stroke"]
