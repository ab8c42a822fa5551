"""Fault codes: form and generic meaning (SAE J2012 / ISO 15031-6, SAE J1939-73)."""

from __future__ import annotations

import re

from riskcheck.fleet.code_meanings import MEANINGS

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
    """What a code says without any maker's list: system, who defined it, area, and meaning.

    J2012 codes: second digit 0 is standard and 1 the maker's; 2 is standard for P, the maker's
    for B, C and U; 3 is the maker's up to P33FF and standard from P3400, reserved elsewhere.
    """
    if code.startswith("SPN"):
        fmi = int(code.rsplit(" ", 1)[1])
        return FMI_MEANINGS[fmi] if fmi < len(FMI_MEANINGS) else (
            "condition exists" if fmi == MAX_FMI else "reserved"
        )  # fmt: skip
    origin = _origin(code)
    words = [_SYSTEMS[code[0]], origin]
    if code in MEANINGS:
        words.append(MEANINGS[code])
    elif code[:2] in ("P0", "P2") and code[2] in _AREAS:
        words.append(_AREAS[code[2]])
    return ", ".join(words)


def _origin(code: str) -> str:
    system, second = code[0], code[1]
    if second == "3":
        if system != "P":
            return "reserved code"
        return "standard code" if int(code[1:], 16) >= 0x3400 else "maker's code"
    standard = second == "0" or (second == "2" and system == "P")
    return "standard code" if standard else "maker's code"


def from_bytes(raw: bytes) -> str:
    """The code in the two bytes of J2012 ("05 40") or the four of J1939-73 ("6E 00 03 01").

    Raises ValueError for another length.
    """
    if len(raw) == 2:
        return f"{'PCBU'[raw[0] >> 6]}{(raw[0] << 8 | raw[1]) & 0x3FFF:04X}"
    if len(raw) != 4:
        raise ValueError("a fault code has two bytes (J2012) or four (J1939)")
    spn = raw[0] | raw[1] << 8 | (raw[2] & 0xE0) << 11
    return f"SPN {spn} FMI {raw[2] & 0x1F}"
