"""What is being done just now, on stderr, silent when nobody watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def stages(quiet: bool) -> Iterator[Callable[[str], None]]:
    """A function that shows the running stage on a terminal and nothing in a pipe."""
    if quiet or not sys.stderr.isatty():
        yield lambda stage: None
        return
    from rich.console import Console

    with Console(stderr=True).status("starting") as status:
        yield lambda stage: status.update(stage)
