"""``riskcheck ground``: will this strap carry this current, or what does this reading mean?"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from riskcheck import units
from riskcheck.cli.options import JsonOption
from riskcheck.errors import EXIT_DONE, UsageError

STRAP, READING = "Strap", "Reading (heater on)"


def _option(name: str, words: str, panel: str) -> Any:
    return typer.Option(name, help=words, rich_help_panel=panel, show_default=False)


CurrentOption = Annotated[str, _option("--current", "Current, such as 55A.", STRAP)]
GaugeOption = Annotated[str, _option("--gauge", 'Size: 10, "10 AWG", 1/0, "16 mm2".', STRAP)]
LengthOption = Annotated[str, _option("--length", "Length, such as 20in or 0.5m.", STRAP)]
MetalOption = Annotated[str, _option("--metal", "copper or aluminium.", STRAP)]
JointOption = Annotated[
    str, _option("--joint-mohm", "Worse joint, mΩ (default: a good 0.1).", STRAP)
]
AmbientOption = Annotated[
    str,
    _option(
        "--ambient",
        "Air: 20C, 70F, cold_start (0C), engine_space (50C, default), hot_soak (105C).",
        STRAP,
    ),
]
SecondsOption = Annotated[str, _option("--seconds", "Time heated (default 60).", STRAP)]
InsulationOption = Annotated[
    str,
    _option(
        "--insulation",
        "ISO 6722-1 class A to H, SAE type, 105C or bare (default: GPT, 80 °C).",
        STRAP,
    ),
]
DutyOption = Annotated[str, _option("--duty", "On and off, such as 30s/60s.", STRAP)]
SeenOption = Annotated[
    str, _option("--seen", "A temperature seen after --seconds, such as 300F.", STRAP)
]
PictureOption = Annotated[
    Path | None, _option("--picture", "Write temperature over time, .svg or .png.", STRAP)
]
SupplyOption = Annotated[str, _option("--supply", "Feed stud to battery negative.", READING)]
FeedOption = Annotated[str, _option("--feed", "Clamp on the feed, such as 54A.", READING)]
BackOption = Annotated[str, _option("--return", "Clamp on the return.", READING)]
DropOption = Annotated[str, _option("--drop", "Plate to battery negative.", READING)]
StrapDropOption = Annotated[str, _option("--strap-drop", "End to end of strap.", READING)]
RatedOption = Annotated[str, _option("--rated", "The heater's rated current.", READING)]


def ground(
    current: CurrentOption = "",
    gauge: GaugeOption = "",
    length: LengthOption = "",
    metal: MetalOption = "copper",
    joint: JointOption = "",
    ambient: AmbientOption = "",
    seconds: SecondsOption = "",
    insulation: InsulationOption = "",
    duty: DutyOption = "",
    seen: SeenOption = "",
    picture: PictureOption = None,
    supply: SupplyOption = "",
    feed: FeedOption = "",
    back: BackOption = "",
    drop: DropOption = "",
    strap_drop: StrapDropOption = "",
    rated: RatedOption = "",
    as_json: JsonOption = False,
) -> int:
    """Judge a ground strap, or what readings at an intake heater mean.

    Examples: riskcheck ground --current 55A --gauge 10 --length 20in
    · riskcheck ground --supply 12.4V --feed 0A --drop 12.3V
    """
    from riskcheck.reports import ground as words

    strap = {
        "current": current, "gauge": gauge, "length": length, "metal": metal, "joint": joint,
        "ambient": ambient, "seconds": seconds, "insulation": insulation, "duty": duty,
    }  # fmt: skip
    asks_reading = any((supply, feed, back, drop, strap_drop))
    asks_strap = any(strap[name] for name in ("current", "gauge", "length"))
    if asks_reading == asks_strap:
        raise UsageError(
            "give --current, --gauge and --length for a strap, or readings (--feed, --return, "
            "--supply, --drop) for what they mean; not both at once."
        )
    if asks_reading:
        from riskcheck.physics.ground import interpret_reading

        meaning = interpret_reading(
            supply_v=_number(supply, "voltage", "V"),
            feed_a=_number(feed, "current", "A"),
            return_a=_number(back, "current", "A"),
            drop_v=_number(drop, "voltage", "V"),
            strap_drop_v=_number(strap_drop, "voltage", "V"),
            nominal_a=_number(rated, "current", "A"),
        )
        _say(words.reading_json(meaning), words.reading_lines(meaning), as_json)
        return EXIT_DONE
    return _strap(strap, seen, picture, as_json)


def _strap(strap: dict[str, str], seen: str, picture: Path | None, as_json: bool) -> int:
    from riskcheck.physics.ground import assess_strap, explain_rise
    from riskcheck.reports import ground as words

    case = strap_case(strap)
    seen_c = _number(seen, "temperature", "degC")
    rise = None if seen_c is None else explain_rise(case, seen_c)
    verdict = assess_strap(case)
    _say(words.strap_json(verdict, rise), words.strap_lines(verdict, rise), as_json)
    if picture is not None:
        from riskcheck.reports.ground_picture import draw

        draw(case, picture)
    return EXIT_DONE


def strap_case(strap: dict[str, str]) -> Any:
    """The typed texts as a StrapCase; UsageError where one cannot be read."""
    from riskcheck.physics.conductors import MATERIALS, Conductor
    from riskcheck.physics.ground import StrapCase
    from riskcheck.physics.insulation import ENGINE_BAY_C, UNKNOWN_TYPE
    from riskcheck.physics.joints import GOOD_JOINT_MOHM

    missing = [f"--{name}" for name in ("current", "gauge", "length") if not strap[name]]
    if missing:
        raise UsageError(f"a strap also needs {', '.join(missing)}.")
    if strap["metal"] not in MATERIALS:
        raise UsageError(f"--metal {strap['metal']!r}: write {' or '.join(MATERIALS)}.")
    try:
        size = units.parse_wire_size(strap["gauge"])
        conductor = Conductor(size, MATERIALS[strap["metal"]])
    except units.UnitError as wrong:
        raise UsageError(f"--gauge: {wrong}") from wrong

    def given(name: str, dimension: str, unit: str, otherwise: float) -> float:
        value = _number(strap[name], dimension, unit)
        return otherwise if value is None else value

    return StrapCase(
        current_a=given("current", "current", "A", 0.0),
        conductor=conductor,
        length_m=given("length", "length", "m", 0.0),
        insulation=strap["insulation"] or UNKNOWN_TYPE,
        ambient_c=ENGINE_BAY_C[place]
        if (place := strap["ambient"] or "engine_space") in ENGINE_BAY_C
        else given("ambient", "temperature", "degC", 0.0),
        joint_mohm=given("joint", "resistance", "mohm", GOOD_JOINT_MOHM),
        seconds=given("seconds", "time", "s", 60.0),
        duty=_duty(strap["duty"]),
    )


def _duty(text: str) -> Any:
    from riskcheck.physics.duty import Duty

    if not text:
        return None
    on, slash, off = text.partition("/")
    on_s, off_s = _number(on, "time", "s"), _number(off, "time", "s")
    if not slash or on_s is None or off_s is None:
        raise UsageError(f"--duty {text!r}: write on/off, such as 30s/60s.")
    return Duty(on_s, off_s)


def _number(text: str, dimension: str, unit: str) -> float | None:
    """A typed quantity in ``unit``; None where nothing was typed.

    A bare length or temperature is refused: inches or metres, °F or °C cannot be told apart.
    """
    if not text:
        return None
    bare = None if dimension in ("length", "temperature") else unit
    try:
        return units.parse(text, dimension, bare).to(unit)
    except units.UnitError as wrong:
        raise UsageError(str(wrong)) from wrong


def _say(answer: dict[str, Any], lines: list[str], as_json: bool) -> None:
    text = json.dumps(answer, indent=2, ensure_ascii=False) if as_json else "\n".join(lines)
    sys.stdout.write(text + "\n")
