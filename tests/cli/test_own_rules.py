"""A shop's own rules over the shipped ones: what they replaced is said in every form of output."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from riskcheck import rulebook
from riskcheck.cli.assess import assess

HOSES = "brake-hose-ageing"


def test_what_a_shop_replaced_is_reported(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    fleet = tmp_path / "fleet.csv"
    fleet.write_text("unit,make,model,year,hydraulic_brakes\nA,Nomake,One,2012,yes\n")
    own = tmp_path / "own/hazards"
    own.mkdir(parents=True)
    hazard, cases = rulebook.starting_texts(HOSES)
    (own / f"{HOSES}.cases.yaml").write_text(cases, encoding="utf-8")
    hazard = hazard.replace("b10: {value: 10,", "b10: {value: 11,")
    (own / f"{HOSES}.yaml").write_text(hazard, encoding="utf-8")
    out = tmp_path / "out"
    assert assess(fleet, out=out, rules=[own.parent], only=HOSES) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "1 entry of your own rules in force instead of the shipped: hazard brake-" in told
    assert assess(fleet, out=out, rules=[own.parent], only=HOSES, as_json=True) == 0
    (words,) = json.loads(capsys.readouterr().out)["rules_replaced"]
    assert words.startswith(f"hazard {HOSES}: ")
    assert assess(fleet, out=out, only=HOSES, as_json=True) == 0
    assert json.loads(capsys.readouterr().out)["rules_replaced"] == []
