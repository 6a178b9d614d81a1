"""Shown text to digits and back; what is taken, asked and refused stands in `labkit.quantity.shown`."""

from labkit.quantity.kinds import KINDS, Kind, accepted_units
from labkit.quantity.rounded import display, display_parts
from labkit.quantity.shown import Quantity, parse

__all__ = ["KINDS", "Kind", "Quantity", "accepted_units", "display", "display_parts", "parse"]
