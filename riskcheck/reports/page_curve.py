"""The life curve as inline SVG: matplotlib draws the curve, the vehicle's place is laid over it.

Many vehicles share a curve, so each is drawn once; the same view gives the same bytes.
"""

from __future__ import annotations

import io
import re
from functools import lru_cache
from typing import Any

from markupsafe import Markup

from riskcheck.explain.view import Curve

WIDTH_PT, HEIGHT_PT = 302.4, 151.2
_LEFT, _BOTTOM, _AREA_WIDTH, _AREA_HEIGHT = 0.11, 0.24, 0.86, 0.70
# Placeholders that matplotlib is given and the page's own colours replace.
_INK, _BAND = "#010203", "#040506"
_ROUND = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0)


def draw(curve: Curve, of: int, *, paper: bool = False) -> Markup:
    """The curve with this vehicle marked; ``paper`` for renderers that know no CSS variables."""
    top = next(round_ for round_ in _ROUND if round_ >= min(max(curve.high), 1.0) - 1e-9)
    base = _drawn(curve.unit, curve.usage, (curve.low, curve.share, curve.high), top, of)
    right = curve.usage[-1]
    x = WIDTH_PT * (_LEFT + _AREA_WIDTH * min(curve.now / right, 1.0))
    y = HEIGHT_PT * (1.0 - _BOTTOM - _AREA_HEIGHT * min(curve.now_share / top, 1.0))
    foot = HEIGHT_PT * (1.0 - _BOTTOM)
    anchor = "end" if x > WIDTH_PT * 0.6 else "start"
    shift = -5.0 if anchor == "end" else 5.0
    mark = (
        f'<line x1="{x:.1f}" y1="{foot:.1f}" x2="{x:.1f}" y2="{y:.1f}" stroke="{_INK}" '
        f'stroke-width="1" stroke-dasharray="3 2"/>'
        f'<path d="M{x:.1f} {y - 4:.1f}l4 4l-4 4l-4 -4z" fill="{_INK}"/>'
        f'<text x="{x + shift:.1f}" y="{max(y - 6.0, 9.0):.1f}" text-anchor="{anchor}" '
        f'font-size="8.5" font-weight="bold" fill="{_INK}">this vehicle</text>'
    )
    colours = ("#000000", "#c9d6e2") if paper else ("currentColor", "var(--band)")
    svg = base.replace("</svg>", f"{mark}</svg>")
    return Markup(svg.replace(_INK, colours[0]).replace(_BAND, colours[1]))


@lru_cache(maxsize=512)
def _drawn(
    unit: str, usage: tuple[float, ...], lines: tuple[tuple[float, ...], ...], top: float, of: int
) -> str:
    import matplotlib as mpl
    from matplotlib.figure import Figure
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    settings: Any = {"svg.hashsalt": "riskcheck", "svg.fonttype": "none", "font.size": 8.0,
                "path.simplify": True}  # fmt: skip
    with mpl.rc_context(settings):
        figure = Figure(figsize=(WIDTH_PT / 72.0, HEIGHT_PT / 72.0))
        axes = figure.add_axes((_LEFT, _BOTTOM, _AREA_WIDTH, _AREA_HEIGHT))
        low, share, high = lines
        axes.fill_between(usage, low, high, color=_BAND, linewidth=0)
        axes.plot(usage, share, color=_INK, linewidth=1.5)
        axes.set_xlim(0.0, usage[-1])
        axes.set_ylim(0.0, top)
        axes.yaxis.set_major_locator(MaxNLocator(4))
        axes.xaxis.set_major_locator(MaxNLocator(5))
        axes.yaxis.set_major_formatter(FuncFormatter(lambda y, _: f"{y * of:,.0f}"))
        axes.xaxis.set_major_formatter(FuncFormatter(lambda x, _: f"{x:,.6g}"))
        axes.set_xlabel(f"use in {unit}", color=_INK)
        axes.set_ylabel(f"of {of:,}", color=_INK)
        axes.tick_params(colors=_INK)
        for side, spine in axes.spines.items():
            spine.set_visible(side in ("left", "bottom"))
            spine.set_color(_INK)
        figure.patch.set_visible(False)
        axes.patch.set_visible(False)
        file = io.StringIO()
        figure.savefig(file, format="svg", metadata={"Date": None})
    return _inline(file.getvalue())


def _inline(svg: str) -> str:
    """Only the drawing: no prolog, metadata, ids or style that could reach the rest of a page."""
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    svg = re.sub(r"<defs>\s*<style.*?</style>\s*</defs>", "", svg, flags=re.DOTALL)
    svg = re.sub(r"<!--.*?-->", "", svg, flags=re.DOTALL)
    svg = re.sub(r' clip-path="url\(#\w+\)"', "", svg)
    svg = re.sub(r"<clipPath.*?</clipPath>", "", svg, flags=re.DOTALL)
    svg = _without_uses(svg)
    svg = re.sub(r' id="[^"]*"', "", svg)
    svg = re.sub(r" font-family: [^;\"]*;", "", svg)
    svg = re.sub(r"font: ([\d.]+)px [^;\"]*", r"font-size: \1px", svg)
    svg = re.sub(r' transform="rotate\(-0 [^"]*"', "", svg)
    svg = re.sub(r"\d+\.\d+", lambda number: f"{float(number[0]):.1f}", svg)
    svg = re.sub(r"</?g>", "", re.sub(r"\s*\n\s*", " ", svg))
    svg = re.sub(r" {2,}", " ", svg)
    head = (
        f'<svg class="curve" viewBox="0 0 {WIDTH_PT:g} {HEIGHT_PT:g}" aria-hidden="true" '
        'focusable="false">'
    )
    return re.sub(r"^<svg[^>]*>", head, svg).strip()


def _without_uses(svg: str) -> str:
    """Ticks drawn in place: shared shapes would need ids, which a page may hold only once."""
    shapes = dict(re.findall(r'<path id="(\w+)" d="([^"]*)"', svg))

    def in_place(match: re.Match[str]) -> str:
        name, x, y, style = match[1], match[2], match[3], match[4]
        d = " ".join(shapes[name].split())
        return f'<path d="{d}" transform="translate({x} {y})" style="{style}"/>'

    svg = re.sub(
        r'<use xlink:href="#(\w+)" x="([\d.-]+)" y="([\d.-]+)" style="([^"]*)"/>', in_place, svg
    )
    return re.sub(r"<defs>.*?</defs>", "", svg, flags=re.DOTALL)
