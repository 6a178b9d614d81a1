"""The cautions, as a result that shows itself at the top of every notebook."""

from labkit.show import Heading, Part, Shown, Text
from labkit.words import cautions as words


class Cautions(Shown):
    """What to mind before anything is clamped to anything."""

    def parts(self) -> tuple[Part, ...]:
        return (
            Heading(words.TITLE),
            *(Text(f"{n}. {each}", "caution") for n, each in enumerate(words.CAUTIONS, 1)),
        )


def cautions() -> Cautions:
    """The cautions that `bench.accept_cautions` acknowledges."""
    return Cautions()
