"""Temperature over time as a picture (SVG or PNG), through matplotlib."""

from __future__ import annotations

from pathlib import Path

from riskcheck.errors import UsageError
from riskcheck.physics.ground import StrapCase, temperature_curve
from riskcheck.physics.insulation import insulation_for
from riskcheck.reports.ground import case_title

KINDS = {".svg": "svg", ".png": "png"}


def draw(case: StrapCase, target: Path) -> None:
    """Write the warming of wire and hottest place to ``target``; same case, same bytes.

    UsageError for another file kind.
    """
    kind = KINDS.get(target.suffix.lower())
    if kind is None:
        raise UsageError(f"{target.name}: a picture ends in .svg or .png")
    import matplotlib as mpl
    from matplotlib.figure import Figure

    curve = temperature_curve(case)
    with mpl.rc_context({"svg.hashsalt": "riskcheck", "svg.fonttype": "path"}):
        figure = Figure(figsize=(7.0, 4.0), layout="constrained")
        axes = figure.add_subplot()
        seconds = [value or 0.0 for value in curve["seconds"]]
        for name, style, words in (
            ("hottest_c", "-", "hottest place, with joints"),
            ("wire_alone_c", "--", "wire alone"),
        ):
            heights = [float("nan") if value is None else value for value in curve[name]]
            axes.plot(seconds, heights, style, color="black", label=words)
        insulation = insulation_for(case.insulation, case.conductor.section_mm2)
        if insulation is not None:
            axes.axhline(insulation.limit_c, color="0.5", linestyle=":", label="rating")
        axes.set(xlabel="seconds", ylabel="°C", title=case_title(case))
        axes.legend(frameon=False)
        metadata = {"Date": None} if kind == "svg" else {"Software": None}
        figure.savefig(target, format=kind, metadata=metadata)
