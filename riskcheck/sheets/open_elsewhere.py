"""Whether a spreadsheet program has a workbook open just now, by the file it leaves beside it."""

from __future__ import annotations

from pathlib import Path

# LibreOffice writes ".~lock.NAME#", Excel "~$NAME" (the first two letters dropped in long names).
_OWNER_FILES = (".~lock.{}#", "~${}")


def open_elsewhere(path: Path) -> bool:
    """True if the owner file of a spreadsheet program lies beside ``path``."""
    names = [pattern.format(path.name) for pattern in _OWNER_FILES]
    names.append("~$" + path.name[2:])
    return any(path.with_name(name).exists() for name in names)
