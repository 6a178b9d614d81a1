"""A meter's discrepancies inside their limits, less the guard band: one row a reference part.

All rows share one axis, the discrepancy in parts of the card's limit, so that what passes looks alike on each
range. Three grounds say what may be said: within, cannot tell, outside.
"""

import math
import textwrap

from labkit.analysis.meter_check import Check, checks
from labkit.analysis.meter_findings import discrepancy, indication, size_text
from labkit.analysis.meter_results import stated_text, verdict_text
from labkit.bench.bench import Bench
from labkit.errors import EntryError
from labkit.faces import style
from labkit.faces.canvas import Canvas, text_width
from labkit.show import Picture
from labkit.uncertainty.conformity import Conformity
from labkit.words import meter_check as words

SCALES = {"page": 0.85, "projector": 1.6}  # pixels a user unit
UNIT = 260.0  # from zero to a limit
REACH = 1.8  # limits that the axis shows on either side
HIGH = 36.0  # of the ground
ROW = 176.0
TEXT, SMALL = 18.0, 15.0
WITHIN, OPEN, OUTSIDE = "#DDEFF8", "#F7E3BF", style.PAPER
"""Grounds: pale enough for ink on them; each also has its word."""
EDGE = style.Stroke(style.MUTED, 1.0)
LIMIT = style.Stroke(style.INK, 2.6)
ZERO = style.Stroke(style.MUTED, 1.4, (5.0, 4.0))


def guard_band(bench: Bench, size: str = "page") -> Picture:
    """Every reading of a reference part on one axis: discrepancy and U, limits, guard bands, verdict.

    Parameters
    ----------
    bench : Bench
    size : `page`, or `projector` for letters that can be read from the last row

    Returns
    -------
    Picture: the same bytes for the same record; `alt` says the numbers in words.

    Raises
    ------
    EntryError
    """
    if size not in SCALES:
        raise EntryError(words.SIZE.format(given=size), size)
    found = checks(bench)
    sheet = Canvas()
    for place, check in enumerate(found):
        sheet.group(data_check=check.observation.id)
        _row(sheet, check, place * ROW)
    _legend(sheet, len(found) * ROW, found)
    alt = " ".join([words.ALT, *map(_spoken, found)]) if found else words.NOTHING_READ
    return Picture(sheet.svg(words.PICTURE, {"aria_label": alt}, scale=SCALES[size]), alt)


def _row(sheet: Canvas, check: Check, top: float) -> None:
    left = -REACH * UNIT
    heading = words.ROW.format(meter=check.meter or words.UNNAMED, what=stated_text(check.reference))
    sheet.text((left, top), heading, size=TEXT, anchor="start", weight="bold")
    reads = words.READS.format(indication=indication(check))
    sheet.text((REACH * UNIT, top), reads, size=SMALL, anchor="end", colour=style.MUTED)
    if check.judged is None:
        for n, line in enumerate(textwrap.wrap(verdict_text(check), 88)):
            sheet.text((left, top + 30.0 + n * 22.0), line, size=SMALL, anchor="start")
        return
    middle = top + 66.0
    _grounds(sheet, check.judged, middle)
    _limits(sheet, check, middle)
    _mark(sheet, check, middle)


def _grounds(sheet: Canvas, judged: Conformity, y: float) -> None:
    w = judged.guard_band / judged.upper
    inner, outer = max(0.0, 1 - w), min(1 + w, REACH)
    for low, high, fill, word in (
        (-REACH, -outer, OUTSIDE, words.ZONES[2]),
        (-outer, -inner, OPEN, words.ZONES[1]),
        (-inner, inner, WITHIN, words.ZONES[0]),
        (inner, outer, OPEN, words.ZONES[1]),
        (outer, REACH, OUTSIDE, words.ZONES[2]),
    ):
        if high <= low:
            continue
        sheet.box((low * UNIT, y - HIGH / 2), (high * UNIT, y + HIGH / 2), stroke=EDGE, fill=fill)
        if text_width(word, SMALL) < (high - low) * UNIT - 8.0:
            sheet.text(((low + high) / 2 * UNIT, y - HIGH / 2 - 7.0), word, size=SMALL, colour=style.MUTED)


def _limits(sheet: Canvas, check: Check, y: float) -> None:
    sheet.path([(0.0, y - HIGH / 2), (0.0, y + HIGH / 2 + 6.0)], ZERO)
    sheet.text((0.0, y + HIGH / 2 + 22.0), words.ZERO, size=SMALL)
    for sign, text in ((-1, "−"), (1, "+")):
        x = sign * UNIT
        sheet.path([(x, y - HIGH / 2), (x, y + HIGH / 2 + 6.0)], LIMIT)
        limit = words.LIMIT_AT.format(sign=text, size=size_text(check.limit))
        sheet.text((x, y + HIGH / 2 + 22.0), limit, size=SMALL)


def _mark(sheet: Canvas, check: Check, y: float) -> None:
    judged = check.judged
    assert judged is not None
    place, U = judged.value / judged.upper, judged.guard_band / judged.upper
    bar = [(max(-REACH, min(REACH, end)) * UNIT, y) for end in (place - U, place + U)]
    sheet.path(bar, style.Stroke(style.READING.colour, 5.0))
    if abs(place) > REACH:
        tip, back = (math.copysign(reach, place) * UNIT for reach in (REACH + 0.03, REACH - 0.05))
        sheet.polygon([(tip, y), (back, y - 9.0), (back, y + 9.0)], style.READING.colour, data_beyond="")
    else:
        spot = (place * UNIT, y)
        sheet.circle(spot, 7.0, stroke=style.READING, fill=style.READING.colour)
    text = words.MARK.format(E=discrepancy(judged), verdict=verdict_text(check))
    sheet.text((0.0, y + HIGH / 2 + 48.0), text, size=TEXT, weight="bold")


def _legend(sheet: Canvas, y: float, found: tuple[Check, ...]) -> None:
    sheet.group(data_legend="")
    if not found:
        sheet.text((0.0, 0.0), words.NOTHING_READ, size=TEXT)
        return
    for n, line in enumerate(textwrap.wrap(words.LEGEND, 108)):
        sheet.text((-REACH * UNIT, y + n * 20.0), line, size=SMALL, anchor="start", colour=style.MUTED)


def _spoken(check: Check) -> str:
    meter = check.meter or words.UNNAMED
    facts = {"meter": meter, "what": stated_text(check.reference), "indication": indication(check)}
    if check.judged is None:
        return words.ALT_NONE.format(**facts, verdict=verdict_text(check))
    numbers = {"E": discrepancy(check.judged), "limit": size_text(check.limit)}
    return words.ALT_ROW.format(**facts, **numbers, verdict=verdict_text(check))
