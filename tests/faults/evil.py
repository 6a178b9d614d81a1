"""Places of bundles that do to the process that reads them what a bundle must not do to a review."""

import os
import signal
import time
from dataclasses import dataclass
from pathlib import Path

from labkit.handin.bundle import Place


@dataclass(frozen=True)
class Evil(Place):
    """A bundle that does this when it is read."""

    does: str = ""
    marker: Path = Path()

    def read(self) -> bytes:
        match self.does:
            case "kill":
                os.kill(os.getpid(), signal.SIGKILL)
            case "kill once" if not self.marker.exists():
                self.marker.touch()
                os.kill(os.getpid(), signal.SIGKILL)
            case "exit":
                os._exit(3)
            case "memory":
                bytearray(64 * 1024**3)
            case "many pieces of memory":
                held = []
                while True:
                    held.append(bytes(10_000_000))
            case "time":
                while True:
                    pass
            case "sleep that no signal ends":
                for number in (signal.SIGTERM, signal.SIGALRM, signal.SIGINT):
                    signal.signal(number, signal.SIG_IGN)
                time.sleep(600)
            case "exception":
                raise LookupError(self.name)
            case "says too much":
                os.write(1, b"no answer" * 10_000)
        return super().read()
