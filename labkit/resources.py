"""Where the notebooks and data that labkit ships with are, in a wheel and in an editable install."""

from pathlib import Path

NOTEBOOKS = (
    "coupled_pair",
    "finding_the_dots",
    "short_circuit_and_leakage",
    "know_your_meter",
    "class_results",
    "choke_characterisation",
    "frequency_and_resistance",
    "common_and_differential_mode",
)
"""Shipped notebooks that a bench can start with, the usual one first."""

_PACKAGE = Path(__file__).resolve().parent


def shipped(*parts: str) -> Path:
    """Path of a shipped file or folder, such as `shipped("data", "cards")`.

    In a wheel `notebooks` and `data` lie inside the package, in a checkout beside it.
    """
    inside = _PACKAGE / "_shipped"
    return (inside if inside.is_dir() else _PACKAGE.parent).joinpath(*parts)
