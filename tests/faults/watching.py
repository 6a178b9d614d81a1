"""See what a piece of code does to the world outside: files written or deleted, programs, connections."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

DEEDS = {
    "os.mkdir", "os.remove", "os.rename", "os.rmdir", "os.symlink", "os.link", "os.truncate", "os.chmod",
    "os.exec", "os.posix_spawn", "os.system", "subprocess.Popen", "socket.connect", "socket.bind",
}  # fmt: skip
WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_lists: list[list[str]] = []


def _note(event: str, args: tuple[Any, ...]) -> None:
    if not _lists:
        return
    if event == "open":
        path, mode, flags = args
        if not (flags or 0) & WRITING or str(path).endswith(".pyc") or "__pycache__" in str(path):
            return
        deed = f"open {path} {mode}"
    elif event in DEEDS:
        deed = f"{event} {args[:2]}"
    else:
        return
    for deeds in _lists:
        deeds.append(deed)


sys.addaudithook(_note)  # cannot be taken off again; it does nothing outside `watched`


@contextmanager
def watched() -> Iterator[list[str]]:
    """A list that fills with what is done to the world while the block runs; compiled modules do not."""
    deeds: list[str] = []
    _lists.append(deeds)
    try:
        yield deeds
    finally:
        _lists.remove(deeds)
