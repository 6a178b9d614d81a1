"""A finding: one sentence, the numbers in it, and the record lines that it rests on."""

from dataclasses import dataclass

from labkit import quantity


@dataclass(frozen=True)
class Figure:
    """A number of a finding: value and standard uncertainty in `unit` (SI, no prefix), None if not stated."""

    value: float
    unit: str = "H"
    standard_uncertainty: float | None = None

    def __str__(self) -> str:
        return quantity.display(self.value, self.standard_uncertainty, self.unit)


@dataclass(frozen=True)
class Finding:
    """What may be said, made from the numbers.

    Attributes
    ----------
    kind : short name of what is found, stable across wordings
    sentence : for a person
    figures : the numbers behind it, by name
    ids : readings that it rests on; each is a line of the record
    tone : "plain", "caution" (asks for a step) or "strong" (carries the result)
    """

    kind: str
    sentence: str
    figures: dict[str, Figure]
    ids: tuple[str, ...]
    tone: str = "plain"
