"""What single values of an event may look like: one-line texts, texts, names, times, digests, counts."""

from datetime import datetime
from typing import Annotated

from pydantic import AfterValidator, Field, StringConstraints

_CONTROL = r"\u0000-\u001f\u007f-\u009f"
_CONTROL_BUT_LINE_ENDS = r"\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f"
_ONE_LINE = rf"^[^{_CONTROL}]*[^\s{_CONTROL}][^{_CONTROL}]*$"
_LINES = rf"^[^{_CONTROL_BUT_LINE_ENDS}]*[^\s{_CONTROL}][^{_CONTROL_BUT_LINE_ENDS}]*$"


def _real_time(text: str) -> str:
    datetime.fromisoformat(text)
    return text


Id = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,99}$")]
Person = Annotated[str, StringConstraints(pattern=r"^[a-z]{1,8}[0-9]{1,4}$")]
Digest = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
Utc = Annotated[
    str,
    StringConstraints(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z$"),
    AfterValidator(_real_time),
]
Name = Annotated[str, StringConstraints(max_length=200, pattern=_ONE_LINE)]
Line = Annotated[str, StringConstraints(max_length=500, pattern=_ONE_LINE)]
Text = Annotated[str, StringConstraints(max_length=10_000, pattern=_LINES)]
CardText = Annotated[str, StringConstraints(max_length=100_000, pattern=_LINES)]
QuantityName = Annotated[str, StringConstraints(pattern=r"^[A-Za-z][A-Za-z0-9 _-]{0,31}$")]
Turn = Annotated[int, Field(ge=1, strict=True)]
Turns = Annotated[tuple[Turn, ...], Field(strict=False, min_length=1, max_length=64)]
Seed = Annotated[int, Field(ge=0, lt=2**53)]  # whole numbers above 2**53 change in many JSON readers
Repeat = Annotated[int, Field(ge=1, le=10_000)]
