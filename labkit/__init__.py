"""Lab notebooks for inductance experiments with coupled windings."""

__version__ = "0.1.0"
