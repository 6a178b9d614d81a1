"""How long it takes to import labkit and to ask for help, against a bare interpreter.

Whole processes are timed; each ratio is formed inside one round, bare and labkit in turn.
"""

import subprocess
import sys
import time

ROUNDS = 31
BASELINE = "python -c pass"
IMPORT, IMPORT_LIMIT = ("-c", "import labkit"), 1.5
HELP, HELP_LIMIT = ("-m", "labkit.cli", "--help"), 6.0


def seconds(*arguments: str) -> float:
    """Time of one whole interpreter process."""
    begin = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, capture_output=True)
    return time.perf_counter() - begin


def ratio(arguments: tuple[str, ...], rounds: int = ROUNDS) -> tuple[float, ...]:
    """Time of the process over time of a bare interpreter, one ratio a round, after a warm-up."""
    seconds(*arguments)
    return tuple(seconds(*arguments) / seconds("-c", "pass") for _ in range(rounds))
