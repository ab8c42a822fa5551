"""Fault codes: form and generic meaning (SAE J2012 / ISO 15031-6, SAE J1939-73)."""

from __future__ import annotations

import re

_OBD = re.compile(r"(?<![A-Z0-9])([PCBU][0-3][0-9A-F]{3})(?![0-9A-Z])")
_OBD_O = re.compile(r"(?<![A-Z0-9])([PCBU])O([0-9A-F]{3})(?![0-9A-Z])")
_SPN = re.compile(
    r"SPN\D{0,3}(?P<spn>\d{1,6})\D{1,6}(?:FMI\D{0,3})?(?P<fmi>\d{1,2})(?!\d)|"
    r"(?<!\d)(?P<spn2>\d{2,6})\s*/\s*(?P<fmi2>\d{1,2})(?![\d/])"
)
MAX_SPN, MAX_FMI = 524_287, 31  # 19 and 5 bits, SAE J1939-73
_SYSTEMS = {"P": "powertrain", "C": "chassis", "B": "body", "U": "network"}
_AREAS = {
    "1": "fuel and air metering", "2": "injector circuits", "3": "ignition or misfire",
    "4": "auxiliary emission controls", "5": "speed and idle", "6": "computer and outputs",
    "7": "transmission", "8": "transmission",
}  # fmt: skip
FMI_MEANINGS = (
    "above normal range, most severe", "below normal range, most severe",
    "erratic or incorrect", "voltage above normal or shorted high",
    "voltage below normal or shorted low", "current below normal or open circuit",
    "current above normal or grounded circuit", "mechanical system not responding",
    "abnormal frequency, pulse width or period", "abnormal update rate",
    "abnormal rate of change", "cause not known", "bad intelligent device or part",
    "out of calibration", "special instructions", "above range, least severe",
    "above range, moderate", "below range, least severe", "below range, moderate",
    "received network data in error", "drifted high", "drifted low",
)  # fmt: skip


def split_codes(text: str, *, pairs: bool = True) -> list[str]:
    """The codes in a text, in order and once each: "P0540", "SPN 729 FMI 5".

    A letter O after the system letter is read as zero.  ``pairs`` also reads "729/5".
    """
    upper = text.upper()
    upper = _OBD_O.sub(r"\g<1>0\g<2>", upper)
    found = [(match.start(), match.group(1)) for match in _OBD.finditer(upper)]
    for match in _SPN.finditer(upper):
        if match["spn"] is None and not pairs:
            continue
        spn, fmi = int(match["spn"] or match["spn2"]), int(match["fmi"] or match["fmi2"])
        if spn <= MAX_SPN and fmi <= MAX_FMI:
            found.append((match.start(), f"SPN {spn} FMI {fmi}"))
    return list(dict.fromkeys(code for _, code in sorted(found)))


def describe(code: str) -> str:
    """What the form of a code says, without any maker's list: system, origin, area."""
    if code.startswith("SPN"):
        fmi = int(code.rsplit(" ", 1)[1])
        return FMI_MEANINGS[fmi] if fmi < len(FMI_MEANINGS) else (
            "condition exists" if fmi == MAX_FMI else "reserved"
        )  # fmt: skip
    system, origin = code[0], code[1]
    generic = origin == "0" or (origin == "2" and system == "P")
    words = [_SYSTEMS[system], "standard code" if generic else "maker's code"]
    if system == "P" and generic and code[2] in _AREAS:
        words.append(_AREAS[code[2]])
    return ", ".join(words)
