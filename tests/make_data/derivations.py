"""The shown steps of the usual wirings of a pair, as sympy gives them: `labkit/theory/derivations.json`.

    python -m tests.make_data.derivations

For dots on like ends, on unlike ends, and unknown. `tests/unit/test_derivation_kept.py` holds the file to it.
"""

import json
from collections.abc import Iterator
from typing import Any

from labkit.theory.derivation import KEPT, Derivation
from labkit.theory.wiring import Connection, Wiring, parse_dots, standard_wiring

ALIKE, UNLIKE = parse_dots("1a 2a"), parse_dots("1a 2b")
BUILT = [c for c in Connection if c not in (Connection.OPEN, Connection.LEADS)]


def wirings() -> Iterator[Wiring]:
    """Each wiring that is the usual one of a connection, once."""
    built = [standard_wiring(connection, dots) for dots in (ALIKE, UNLIKE) for connection in BUILT]
    yield from filter(None, dict.fromkeys(built))


def derivations() -> Iterator[Derivation]:
    """Those that are kept, none worked out so far."""
    yield from (Derivation(wiring, 2, dots) for wiring in wirings() for dots in (ALIKE, UNLIKE, None))


def steps(derivation: Derivation) -> list[list[Any]]:
    """Its steps, worked out and printed: title, sentence, equations with remark and sides."""
    return [
        [
            step.title,
            step.sentence,
            [
                [equation.remark, [[side.mathml, side.text] for side in equation.printed().sides]]
                for equation in step.equations
            ],
        ]
        for step in (*derivation.steps, *derivation.limits)
    ]


def written() -> str:
    """The file: one derivation a line."""
    lines = (f"{json.dumps(d.key)}: {json.dumps(steps(d), ensure_ascii=False)}" for d in derivations())
    return "{\n" + ",\n".join(lines) + "\n}\n"


if __name__ == "__main__":
    KEPT.write_text(written(), encoding="utf-8", newline="\n")
