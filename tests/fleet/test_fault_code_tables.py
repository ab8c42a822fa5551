"""Fault codes row by row: generic meanings, FMI numbers, bytes (SAE J2012, SAE J1939-73).

From public code lists and code pages (the standards themselves are sold and were not read); what
differs between lists (P0383, P0384) is left without a meaning.
"""

from __future__ import annotations

import pytest

from riskcheck.fleet.code_meanings import MEANINGS
from riskcheck.fleet.fault_codes import describe, from_bytes, split_codes

# Code: words that its meaning must hold (the wording is our own).
CODES = {
    "P0540": "intake heater A circuit", "P0541": "intake heater A low",
    "P0542": "intake heater A high", "P0543": "intake heater A open",
    "P0640": "intake heater control", "P2604": "intake heater A range",
    "P2605": "intake heater A open", "P2606": "intake heater B range",
    "P2607": "intake heater B low", "P2608": "intake heater B high",
    "P2609": "intake heater system performance",
    "P0380": "glow plug heater A", "P0381": "glow indicator", "P0382": "glow plug heater B",
    "P0560": "system voltage", "P0561": "voltage unstable", "P0562": "voltage low",
    "P0563": "voltage high", "P0620": "generator control", "P0621": "generator lamp",
    "P0622": "generator field", "P0625": "generator field low", "P0626": "generator field high",
    "P2500": "generator lamp low", "P2501": "generator lamp high", "P2502": "charging voltage",
    "P2503": "charging voltage low", "P2504": "charging voltage high",
    "P0115": "coolant temperature sensor circuit", "P0116": "coolant temperature sensor range",
    "P0117": "coolant temperature sensor low", "P0118": "coolant temperature sensor high",
    "P0119": "coolant temperature sensor intermittent", "P0125": "coolant cold closed-loop",
    "P0128": "coolant thermostat", "P0217": "engine hot",
    "P0400": "recirculation flow", "P0401": "too little recirculation",
    "P0402": "too much recirculation", "P0403": "recirculation control circuit",
    "P0489": "recirculation control low", "P0490": "recirculation control high",
    "P2413": "recirculation performance",
    "P2002": "filter efficiency bank 1", "P2003": "filter efficiency bank 2",
    "P2463": "soot accumulation filter", "P242F": "ash filter",
    "P244A": "filter pressure difference low", "P244B": "filter pressure difference high",
    "P2452": "filter pressure sensor circuit", "P2453": "filter pressure sensor range",
    "P2454": "filter pressure sensor low", "P2455": "filter pressure sensor high",
    "P2456": "filter pressure sensor intermittent", "P2458": "regeneration duration",
    "P2459": "regeneration frequency",
    "P0087": "rail pressure low", "P0088": "rail pressure high", "P0089": "pressure regulator",
    "P0091": "regulator control low", "P0092": "regulator control high", "P0093": "large leak",
    "P0094": "small leak", "P0190": "rail pressure sensor circuit",
    "P0191": "rail pressure sensor range", "P0192": "rail pressure sensor low",
    "P0193": "rail pressure sensor high", "P0194": "rail pressure sensor intermittent",
    "P0520": "oil pressure sensor circuit", "P0524": "oil pressure low",
}  # fmt: skip


@pytest.mark.parametrize(("code", "words"), CODES.items())
def test_the_meaning_of_a_code(code: str, words: str) -> None:
    for word in words.split():
        assert word in MEANINGS[code], (code, MEANINGS[code])


@pytest.mark.parametrize("code", ["P0383", "P0384"])
def test_where_lists_differ_nothing_is_said(code: str) -> None:
    assert code not in MEANINGS


FMI = [
    "above most severe", "below most severe", "erratic", "voltage above high",
    "voltage below low", "current below open", "current above ground", "mechanical",
    "abnormal frequency pulse", "update rate", "rate of change", "cause not known", "bad part",
    "calibration", "special instructions", "above least severe", "above moderate",
    "below least severe", "below moderate", "network data error", "drifted high", "drifted low",
    *["reserved"] * 9, "condition exists",
]  # fmt: skip


@pytest.mark.parametrize(("number", "words"), list(enumerate(FMI)))
def test_every_failure_mode_identifier(number: int, words: str) -> None:
    """One public page prints FMI 4 as shorted high: a misprint, 3 is high and 4 is low."""
    said = describe(f"SPN 110 FMI {number}")
    for word in words.split():
        assert word in said, (number, said)


@pytest.mark.parametrize(
    ("raw", "code"),
    [("0540", "P0540"), ("242F", "P242F"), ("4123", "C0123"), ("8123", "B0123"), ("C123", "U0123")],
)
def test_two_bytes(raw: str, code: str) -> None:
    """Bits 15 and 14: P, C, B, U; bits 13 and 12 the second digit; then three digits of four."""
    assert from_bytes(bytes.fromhex(raw)) == code


@pytest.mark.parametrize("spn", [0, 94, 110, 190, 247, 729, 3251, 524_287])
@pytest.mark.parametrize("fmi", [0, 3, 31])
@pytest.mark.parametrize("count", [1, 126])
def test_four_bytes_there_and_back(spn: int, fmi: int, count: int) -> None:
    """19 bits of SPN low byte first, its top three above the five of FMI, then the count."""
    raw = bytes([spn & 255, spn >> 8 & 255, (spn >> 16) << 5 | fmi, count])
    assert from_bytes(raw) == f"SPN {spn} FMI {fmi}"
    assert split_codes(from_bytes(raw)) == [f"SPN {spn} FMI {fmi}"]


def test_the_worked_bytes() -> None:
    """6E 00 03 01 is SPN 110, FMI 3, seen once."""
    assert from_bytes(bytes.fromhex("6E000301")) == "SPN 110 FMI 3"


@pytest.mark.parametrize("system", "PCBU")
@pytest.mark.parametrize("second", "0123")
def test_the_form_of_a_code(system: str, second: str) -> None:
    """[PCBU][0-3] and three hexadecimal digits; nothing longer, no other system."""
    assert split_codes(f"stored {system}{second}2AF today") == [f"{system}{second}2AF"]
    assert split_codes(f"{system}42AF {system}{second}2AG {system}{second}2AF1") == []
