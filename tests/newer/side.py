"""What one interpreter finds: `python side.py check FOLDER`, or `pack FOLDER FILE`; prints JSON."""

import json
import platform
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Any

from labkit.handin.check import check
from labkit.handin.submission import Submission


def found(file: Path) -> dict[str, Any]:
    """Outcomes and sentences of a bundle's check, its key, and all numbers that its record gives."""
    examination = check(file)
    kept = {"examination": asdict(examination), "claims": None}
    if examination.outcome("opens") == "yes":
        kept["claims"] = Submission(file.read_bytes()).computed
    return kept


def main() -> None:
    """Check every bundle of a folder, or pack a bench folder."""
    what, folder, *more = sys.argv[1:]
    if what == "pack":
        from labkit.handin.pack import pack

        pack(folder, more[0], run=False)
    bundles = {file.name: found(file) for file in sorted(Path(folder).glob("*.zip"))}
    print(json.dumps({"python": platform.python_version(), "bundles": bundles}))


if __name__ == "__main__":
    main()
