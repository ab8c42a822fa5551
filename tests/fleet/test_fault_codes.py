"""Fault codes: form, bytes and generic meaning.

SAE J2012 (form, second digit, two-byte form; copied contents pages) and SAE J1939-73 (four-byte
form, open transcription); byte examples computed from those layouts by hand.
"""

from __future__ import annotations

import pytest

from riskcheck.fleet.code_meanings import MEANINGS
from riskcheck.fleet.fault_codes import describe, from_bytes, split_codes


@pytest.mark.parametrize(
    ("raw", "code"),
    [
        ("0540", "P0540"), ("242F", "P242F"), ("4123", "C0123"), ("8123", "B0123"),
        ("C123", "U0123"), ("6E000301", "SPN 110 FMI 3"), ("FFFFFFFF", "SPN 524287 FMI 31"),
    ],
)  # fmt: skip
def test_bytes_are_decoded(raw: str, code: str) -> None:
    assert from_bytes(bytes.fromhex(raw)) == code


def test_other_lengths_are_refused() -> None:
    with pytest.raises(ValueError, match="two bytes"):
        from_bytes(b"\x01\x02\x03")


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("P0540", "powertrain, standard code, intake heater A circuit"),
        ("P0543", "powertrain, standard code, intake heater A circuit open"),
        ("P242F", "powertrain, standard code, ash restriction of the particulate filter"),
        ("P244B", "powertrain, standard code, particulate filter pressure difference too high"),
        ("P2608", "powertrain, standard code, intake heater B circuit high"),
        ("P0499", "powertrain, standard code, auxiliary emission controls"),
        ("P0301", "powertrain, standard code, ignition or misfire"),
        ("P1234", "powertrain, maker's code"),
        ("P33FF", "powertrain, maker's code"),
        ("P3400", "powertrain, standard code"),
        ("B2123", "body, maker's code"),
        ("U3000", "network, reserved code"),
        ("SPN 110 FMI 31", "condition exists"),
        ("SPN 110 FMI 25", "reserved"),
    ],
)
def test_codes_are_described_generically(code: str, says: str) -> None:
    assert describe(code) == says


def test_every_meaning_belongs_to_a_standard_code() -> None:
    assert all(describe(code).startswith("powertrain, standard code, ") for code in MEANINGS)


@pytest.mark.parametrize("text", ["P4540", "X0540", "P05401", "SPN 524288 FMI 3", "SPN 110 FMI 32"])
def test_what_cannot_be_a_code_is_none(text: str) -> None:
    assert split_codes(text) == []
