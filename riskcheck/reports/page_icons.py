"""How many of 100 (or 1,000), drawn: one mark each, told apart by shape and not by colour alone."""

from __future__ import annotations

import math

from markupsafe import Markup

# (marks a row, size of a mark's place) for each denominator
_LAYOUT = {100: (20, 10.0), 1000: (50, 4.0)}


def counts(p: float, high: float, of: int) -> tuple[int, int]:
    """(likely, possible): marks for the chance itself and further ones up to its high end."""
    likely = math.floor(p * of + 0.5)
    return likely, max(math.floor(high * of + 0.5) - likely, 0)


def icons(p: float, high: float, of: int) -> Markup:
    """An inline SVG with ``of`` marks: filled for the chance, open up to its high end, else dots.

    It is hidden from screen readers: the sentence beside it says the same.
    """
    row, size = _LAYOUT[of]
    likely, possible = counts(p, high, of)
    paths = {"likely": "", "possible": "", "rest": ""}
    for mark in range(of):
        x, y = mark % row * size, mark // row * size
        if mark < likely:
            paths["likely"] += _square(x, y, size, 0.1)
        elif mark < likely + possible:
            paths["possible"] += _square(x, y, size, 0.18)
        else:
            paths["rest"] += _square(x, y, size, 0.38)
    drawn = "".join(f'<path class="{name}" d="{d}"/>' for name, d in paths.items() if d)
    width, height = row * size, of // row * size
    return Markup(
        f'<svg class="icons" viewBox="0 0 {width:g} {height:g}" aria-hidden="true" '
        f'focusable="false">{drawn}</svg>'
    )


def _square(x: float, y: float, size: float, margin: float) -> str:
    side = size * (1.0 - 2.0 * margin)
    return f"M{x + size * margin:.4g} {y + size * margin:.4g}h{side:.3g}v{side:.3g}h-{side:.3g}z"
