"""Writing a file so that a reader sees the old one or the new one, never half of it."""

from __future__ import annotations

import contextlib
import os
import tempfile
import time
from pathlib import Path

from riskcheck.errors import InputError

_RETRY_SECONDS = (0.05, 0.1, 0.2, 0.4, 0.8, 1.0)


def replace_file(path: Path, data: bytes) -> Path:
    """Write ``data`` to ``path`` by way of a temporary file in the same folder.

    Returns the path written.  Where another program holds ``path`` open (Windows), the data go
    to ``name-(2)``, ``name-(3)`` ... and that path is returned, so that nothing is lost.

    Raises InputError if the folder cannot be written to.
    """
    path = Path(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        raise InputError(
            f"Cannot write {path.name} into the folder {path.parent}: "
            f"{error.strerror or error}. Choose another folder with --out."
        ) from error
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(0o644)
        return _move(temporary, path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise


def _move(temporary: Path, path: Path) -> Path:
    target = path
    for number in range(2, 100):
        if _try_replace(temporary, target):
            _sync_folder(path.parent)
            return target
        target = path.with_name(f"{path.stem}-({number}){path.suffix}")
    raise InputError(f"{path.name} is open in another program. Close it and run again.")


def _try_replace(temporary: Path, target: Path) -> bool:
    if target.is_dir():
        raise InputError(f"{target} is a folder; a file of that name is to be written.")
    for pause in _RETRY_SECONDS:
        try:
            os.replace(temporary, target)
        except PermissionError:
            time.sleep(pause)
        else:
            return True
    return False


def _sync_folder(folder: Path) -> None:
    """Make the rename itself durable where the system allows it (POSIX)."""
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
