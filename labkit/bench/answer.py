"""What the bench says to an entry."""

from labkit.bench.events import Event
from labkit.show import Part as ShownPart
from labkit.show import Shown, Text


class Answer(Shown):
    """What the bench says to an entry: one sentence, sometimes a second one that asks or warns."""

    def __init__(self, *sentences: str, event: Event | None = None) -> None:
        self.sentences = sentences
        self.event = event

    def parts(self) -> tuple[ShownPart, ...]:
        first, *more = self.sentences
        return (Text(first), *(Text(sentence, tone="caution") for sentence in more))
