"""Where the notebooks and data that labkit ships with are, and how a file is written whole."""

import os
from contextlib import suppress
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


def write_whole(file: Path, data: bytes) -> None:
    """Write beside the file first, so that a reader finds the earlier one whole or the new one whole.

    Raises
    ------
    OSError
        if it cannot be written; the earlier file is then as it was.
    """
    aside = file.with_name(f".{file.name}.{os.getpid()}.part")
    try:
        with aside.open("wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        aside.replace(file)
    except OSError:
        with suppress(OSError):
            aside.unlink()
        raise
