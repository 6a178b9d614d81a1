"""What a display may show: the quantities, their units, and the spellings that are taken for them.

    kind                 unit  prefixes        also spelled
    inductance           H     p n µ m - k     megahenry, as MH is more likely a slip for mH
    resistance           Ω     µ m - k M G     ohm, Ohm; K for k
    frequency            Hz    - k M G         hz, HZ; K for k
    capacitance          F     p n µ m -
    voltage              V     n µ m - k
    current              A     p n µ m -
    temperature          °C    -               degC
    percentage           %     -
    quality_factor       none
    dissipation_factor   none
    number               none

`-` is the unit without prefix; µ is either micro sign or `u`; Ω is either the letter or the ohm sign.
Prefixes as in the SI brochure, 9th edition (BIPM 2019), table 7; the choice for each kind is ours.
"""

from dataclasses import dataclass
from functools import cache

PREFIXES = {"p": -12, "n": -9, "µ": -6, "m": -3, "": 0, "k": 3, "M": 6, "G": 9}


@dataclass(frozen=True, slots=True)
class Kind:
    """What a display may show: its name in words, an example, its unit and the prefixes taken with it."""

    name: str
    example: str
    symbol: str = ""
    prefixes: tuple[str, ...] = ("",)
    spellings: tuple[str, ...] = ()
    capital_kilo: bool = False
    above_zero: bool = False
    mega: str = ""
    """The unit with the prefix M written out, if "M" alone is asked as a slip for m."""


KINDS = {
    "inductance": Kind("inductance", "6.20 µH", "H", ("p", "n", "µ", "m", "", "k"), mega="megahenry"),
    "resistance": Kind("resistance", "0.52 Ω", "Ω", ("µ", "m", "", "k", "M", "G"), ("ohm", "Ohm"), True),
    "frequency": Kind("frequency", "10 kHz", "Hz", ("", "k", "M", "G"), ("hz", "HZ"), True, above_zero=True),
    "capacitance": Kind("capacitance", "4.70 nF", "F", ("p", "n", "µ", "m", "")),
    "voltage": Kind("voltage", "0.50 V", "V", ("n", "µ", "m", "", "k")),
    "current": Kind("current", "1.20 mA", "A", ("p", "n", "µ", "m", "")),
    "temperature": Kind("temperature", "23.5 °C", "°C", spellings=("degC",)),
    "quality_factor": Kind("quality factor", "3.1"),
    "dissipation_factor": Kind("dissipation factor", "0.012"),
    "percentage": Kind("percentage", "0.3 %", "%"),
    "number": Kind("number", "5"),
}


def accepted_units(kind: str) -> tuple[str, ...]:
    """Canonical units that `parse` takes for a kind, smallest first; empty for a factor without unit.

    >>> accepted_units("frequency")
    ('Hz', 'kHz', 'MHz', 'GHz')
    """
    known = KINDS[kind]
    return tuple(prefix + known.symbol for prefix in known.prefixes if known.symbol)


@cache
def spelled(kind: str, every_prefix: bool = False) -> dict[str, str]:
    """Every spelling of a kind's unit and the prefix it carries; `every_prefix` adds those not taken."""
    known = KINDS[kind]
    if not known.symbol:
        return {"": ""}
    also = {"µ": ("u",), "k": ("K",) if known.capital_kilo else ()}
    prefixes = tuple(PREFIXES) if every_prefix and len(known.prefixes) > 1 else known.prefixes
    written_out = {known.mega: "M"} if known.mega else {}
    return written_out | {
        letter + symbol: prefix
        for prefix in prefixes
        for letter in (prefix, *also.get(prefix, ()))
        for symbol in (known.symbol, *known.spellings)
    }
