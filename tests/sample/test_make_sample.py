"""The sample workbook: made by its script, byte for byte, and openly invented."""

from __future__ import annotations

import hashlib
import io
import os
import re
import subprocess
import sys
import zipfile

import pandas as pd
import pytest
import yaml
from sample_paths import SAMPLE, WORKBOOK, script

ROOT = SAMPLE.parent
# 49 CFR 565.15, tables III and IV: values of the letters, weights of the places.
LETTER_VALUES = dict(
    zip("ABCDEFGHJKLMNPRSTUVWXYZ", map(int, "12345678123457923456789"), strict=True)
)
PLACE_WEIGHTS = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2]


@pytest.fixture(scope="module")
def sheets() -> dict[str, pd.DataFrame]:
    return pd.read_excel(WORKBOOK, sheet_name=None, engine="calamine", dtype=object)


def parts(data: bytes) -> dict[str, str]:
    """Digest of every part of a workbook, unpacked (packing differs between zlib builds)."""
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        return {name: hashlib.sha256(book.read(name)).hexdigest() for name in book.namelist()}


def test_the_script_makes_the_workbook_that_is_kept(tmp_path):
    """Run in fresh processes with other hash seeds, zones and folders."""
    made = []
    for seed, zone in (("1", "Pacific/Auckland"), ("77", "America/Denver")):
        out = tmp_path / f"fleet-{seed}.xlsx"
        environment = os.environ | {"PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(ROOT)}
        subprocess.run(
            [sys.executable, str(SAMPLE / "make_sample.py"), str(out)],
            check=True,
            cwd=tmp_path,
            env=environment,
            capture_output=True,
        )
        made.append(out.read_bytes())
    assert made[0] == made[1]
    assert parts(made[0]) == parts(WORKBOOK.read_bytes())


def test_the_first_sheet_says_that_all_is_invented(sheets):
    assert next(iter(sheets)) == "About this workbook"
    text = " ".join(map(str, sheets["About this workbook"].to_numpy().ravel()))
    assert "EVERYTHING IN THIS WORKBOOK IS INVENTED" in text


def test_it_is_as_large_as_a_small_shop(sheets):
    assert 215 <= len(sheets["Vehicles"]) <= 235
    assert 1_800 <= len(sheets["Service"]) <= 2_400
    assert sheets["Customers"]["Fleet name"].notna().sum() == 3


def test_every_make_is_one_of_the_invented_platforms(sheets):
    listed = yaml.safe_load((ROOT / "rules" / "platforms.yaml").read_text())["platforms"]
    known = {(p["make"], p["model"], p["engine"]) for p in listed}
    cars = sheets["Vehicles"][["Make", "Model", "Engine"]]
    assert set(cars.itertuples(index=False, name=None)) <= known


def test_vins_carry_an_unassigned_maker_and_a_right_check_digit(sheets):
    """Check digit recomputed from 49 CFR 565.15; one VIN was mistyped on purpose."""
    vins = [vin for vin in sheets["Vehicles"]["VIN"] if isinstance(vin, str)]
    assert all(vin.startswith("0S7") for vin in vins)
    wrong = 0
    for vin in vins:
        values = [LETTER_VALUES.get(c, 0) if c.isalpha() else int(c) for c in vin]
        total = sum(v * w for v, w in zip(values, PLACE_WEIGHTS, strict=True))
        wrong += vin[8] != "0123456789X"[total % 11]
    assert wrong == 1


def test_telephone_numbers_are_from_the_range_kept_for_fiction(sheets):
    phones = sheets["Customers"]["Phone"].dropna()
    assert len(phones) > 100
    assert all(re.fullmatch(r"\(?\d{3}\)?[-. ]+555[-.]01\d\d", phone) for phone in phones)


def test_mail_addresses_are_reserved_ones(sheets):
    mails = sheets["Customers"]["Email"].dropna()
    assert all(mail.endswith(("@example.com", "@example.org")) for mail in mails)


def test_the_mess_is_in_it(sheets):
    service = sheets["Service"]
    odometer = pd.to_numeric(service["Mileage"], errors="coerce")
    assert service["Date"].map(lambda day: isinstance(day, str)).sum() > 10
    assert pd.to_datetime(service["Date"]).dt.year.max() == 2062
    assert (odometer == 999_999).sum() == 1
    assert sheets["Vehicles"]["VIN"].isna().sum() == 3
    assert sheets["Vehicles"]["Unit #"].duplicated().sum() == 1
    assert "B99" in set(service["Unit #"])
    assert set(service["Status"]) == {"closed", "estimate", "void"}


def test_lines_are_written_as_people_write(sheets):
    words = sheets["Service"]["Description"]
    assert words.str.isupper().mean() > 0.1
    assert words.str.islower().mean() > 0.1
    assert 15 < words.str.len().mean() < 40
    months = pd.to_datetime(sheets["Service"]["Date"]).dt.month.value_counts()
    assert months[10] > months[1]


def test_the_stories_name_vehicles_that_exist(sheets):
    assert set(script("shop_stories").STORIES) <= set(sheets["Vehicles"]["Unit #"].astype(str))
