"""Short meanings of standard powertrain codes that matter here (SAE J2012; public code lists).

Wording is our own.  Where public lists differ (P0383, P0384) no meaning is given.
"""

from __future__ import annotations

from collections.abc import Iterator

_RUNS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("P0016", ("crank and cam position disagree, bank 1 sensor A",
               "crank and cam position disagree, bank 1 sensor B",
               "crank and cam position disagree, bank 2 sensor A",
               "crank and cam position disagree, bank 2 sensor B")),
    ("P0087", ("fuel rail pressure too low", "fuel rail pressure too high",
               "fuel pressure regulator performance")),
    ("P0091", ("fuel pressure regulator control low", "fuel pressure regulator control high",
               "large fuel leak detected", "small fuel leak detected")),
    ("P0115", ("coolant temperature sensor circuit", "coolant temperature sensor range",
               "coolant temperature sensor low", "coolant temperature sensor high",
               "coolant temperature sensor intermittent")),
    ("P0125", ("coolant too cold for closed-loop control",)),
    ("P0128", ("coolant below thermostat regulating temperature",)),
    ("P0171", ("mixture too lean, bank 1",)),
    ("P0190", ("fuel rail pressure sensor circuit", "fuel rail pressure sensor range",
               "fuel rail pressure sensor low", "fuel rail pressure sensor high",
               "fuel rail pressure sensor intermittent")),
    ("P0217", ("engine too hot",)),
    ("P0299", ("turbo boost too low",)),
    ("P0300", ("random or several cylinders misfire",)),
    ("P0340", ("cam position sensor circuit", "cam position sensor range")),
    ("P0380", ("glow plug or heater circuit A", "glow indicator circuit",
               "glow plug or heater circuit B")),
    ("P0400", ("exhaust-gas recirculation flow", "too little exhaust-gas recirculation",
               "too much exhaust-gas recirculation", "exhaust-gas recirculation control circuit")),
    ("P0420", ("catalyst efficiency, bank 1",)),
    ("P0489", ("exhaust-gas recirculation control low",)),
    ("P0490", ("exhaust-gas recirculation control high",)),
    ("P0520", ("oil pressure sensor circuit", "oil pressure sensor range",
               "oil pressure sensor low", "oil pressure sensor high",
               "engine oil pressure too low")),
    ("P0540", ("intake heater A circuit", "intake heater A circuit low",
               "intake heater A circuit high", "intake heater A circuit open")),
    ("P0560", ("system voltage", "system voltage unstable", "system voltage low",
               "system voltage high")),
    ("P0620", ("generator control circuit", "generator lamp circuit", "generator field circuit")),
    ("P0625", ("generator field low", "generator field high")),
    ("P0640", ("intake heater control circuit",)),
    ("P0A80", ("hybrid battery worn out",)),
    ("P2002", ("particulate filter efficiency, bank 1", "particulate filter efficiency, bank 2")),
    ("P2413", ("exhaust-gas recirculation system performance",)),
    ("P2452", ("particulate filter pressure sensor circuit",
               "particulate filter pressure sensor range",
               "particulate filter pressure sensor low",
               "particulate filter pressure sensor high",
               "particulate filter pressure sensor intermittent")),
    ("P2458", ("particulate filter regeneration duration",
               "particulate filter regeneration frequency")),
    ("P2463", ("soot accumulation in the particulate filter",)),
    ("P242F", ("ash restriction of the particulate filter",)),
    ("P244A", ("particulate filter pressure difference too low",
               "particulate filter pressure difference too high")),
    ("P2500", ("generator lamp circuit low", "generator lamp circuit high",
               "charging system voltage", "charging voltage low", "charging voltage high")),
    ("P2604", ("intake heater A range or performance", "intake heater A circuit open",
               "intake heater B range or performance", "intake heater B circuit low",
               "intake heater B circuit high", "intake heater system performance")),
)  # fmt: skip


def _spread() -> Iterator[tuple[str, str]]:
    for first, meanings in _RUNS:
        for step, meaning in enumerate(meanings):
            yield f"P{int(first[1:], 16) + step:04X}", meaning


MEANINGS: dict[str, str] = dict(_spread())
