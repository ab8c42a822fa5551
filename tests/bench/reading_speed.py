"""Time and memory of reading a long service history, beside plain pandas reading the same file.

    python tests/bench/reading_speed.py [LINES] [FILE.csv]

Writes an invented flat export (fixed seed): one row a service line, 60,000 vehicles a million
lines, a third or more of the lines distinct.  Then reads it in a process of its own, once with
``pandas.read_csv`` and once with ``read_fleet`` (reading, cleaning, wording), and prints seconds,
processor seconds and peak memory of each.  A FILE is kept; without one it is written to a
temporary folder.  Nothing is asserted.
"""

from __future__ import annotations

import csv
import datetime as dt
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

LINES_PER_VEHICLE = 17
AS_OF = dt.date(2026, 10, 1)
_SEED = 47
_CANNED = 0.60  # lines that a shop keeps as ready-made texts
_SLIPS = 0.06  # free lines with two letters swapped

_READY_MADE = (
    "LOF", "OIL & FILTER", "ROTATE TIRES", "multi-point insp", "PM-A service", "wiper blades",
    "state inspection - pass", "top off washer fluid", "MOUNT & BAL 4 TIRES", "cabin air filter",
    "shop supplies", "brake insp ok", "battery test - good", "4 wheel alignment", "test drive ok",
    "replace air filter", "reset maint light", "CUST DECLINED ALL REC WORK", "no codes stored",
    "R&R FRONT PADS & ROTORS", "TRANS FLUID EXCHANGE", "COOLANT FLUSH", "fuel filter R&R",
)  # fmt: skip
_PARTS = (
    "timing belt", "t-belt kit", "w/p", "serp belt", "grid heater", "htr ground strap",
    "egr cooler", "egr valve", "turbo", "oil feed line", "ccv filter", "coolant", "tstat",
    "fuel filter", "water sep", "HPFP", "inj #3", "fuel rail sensor", "front pads",
    "rear rotors", "brake hoses",
    "RF brake hose", "brk fluid", "p-brake cable", "caliper slides", "ball jts", "outer tie rod",
    "lug nuts", "steer tires", "spare tire", "spare winch", "carrier brg", "u-joint", "fuel line",
    "brake line", "muffler", "batt", "alt", "eng gnd strap", "7-way plug", "brake controller",
    "cv axle", "cv boot", "trans fluid", "diff fluid", "axle vent", "hyb batt filter", "door hinge",
    "wiper motor", "blower motor", "headlamp bulb", "seat belt", "hood latch", "a/c hose",
)  # fmt: skip
_ENDINGS = (
    "{} replaced", "R&R {}", "repl {}", "installed new {}", "{} - declined", "rec {} next visit",
    "ck {} ok", "insp {} - good", "{} leaking", "{} worn", "cleaned {}", "adj {}",
    "{} not replaced", "quoted {} ${}", "C/S noise from {} - NPF", "{} B/O, waiting parts",
    "{} needs replaced soon", "{} r&i for access", "removed & replaced {}, warranty",
    "sublet {}", "verify {} tight",
)  # fmt: skip
_TAILS = (
    "", "", "", " @ {} mi", ", {} lb-ft", " see pics", " tech {}", " - {} hrs", " ({} mm)",
    ", tread {}/32", " ro {}", ", reading {}v", " p/n {}", ", freeze point -{}f", " due at {}k",
    " per cust req", " road test ok", " no charge", " ASAP", ", {} psi", " w/ {} in play",
)  # fmt: skip


def wordings(count: int, rng: np.random.Generator) -> Iterator[str]:
    """Service lines as shops write them: ready-made texts and one to three free clauses."""
    canned = rng.random(count) < _CANNED
    clauses = 1 + (rng.random(count) < 0.3) + (rng.random(count) < 0.12)
    for place in range(count):
        if canned[place]:
            yield _READY_MADE[int(len(_READY_MADE) * rng.random() ** 2)]
            continue
        line = ", ".join(_clause(rng) for _ in range(clauses[place]))
        kind = rng.random()
        if kind < _SLIPS:
            at = int(rng.integers(1, len(line) - 1))
            line = line[: at - 1] + line[at] + line[at - 1] + line[at + 1 :]
        yield line.upper() if kind > 0.75 else line


def _clause(rng: np.random.Generator) -> str:
    part = _PARTS[rng.integers(len(_PARTS))]
    said = _ENDINGS[rng.integers(len(_ENDINGS))].format(part, rng.integers(40, 2900))
    return said + _TAILS[rng.integers(len(_TAILS))].format(rng.integers(1, 99))


def write_history(path: Path, lines: int) -> tuple[int, int]:
    """A flat export of ``lines`` service lines; (vehicles, distinct lines)."""
    rng = np.random.default_rng(_SEED)
    vehicles = max(1, lines // LINES_PER_VEHICLE)
    owner = np.sort(rng.integers(0, vehicles, lines))
    day = rng.integers(0, 2000, lines)
    order = np.lexsort((day, owner))
    owner, day = owner[order], day[order]
    scatter = rng.integers(0, 15, lines)
    miles = 20_000 + (owner * 37) % 60_000 + day * (20 + owner % 40) + scatter
    year = 2008 + owner % 15
    first = dt.date(2021, 1, 4)
    days = [(first + dt.timedelta(days=int(each))).isoformat() for each in range(2000)]
    seen: set[str] = set()
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(("Unit #", "Year", "Fuel", "RO #", "Date", "Mileage", "Description"))
        for place, line in enumerate(wordings(lines, rng)):
            seen.add(line)
            unit, when = int(owner[place]), int(day[place])
            writer.writerow(
                (f"U{unit:05d}", int(year[place]), ("gas", "diesel")[unit % 2],
                 100_000 + place // 2, days[when], int(miles[place]), line)
            )  # fmt: skip
    return len(np.unique(owner)), len(seen)


def _plain(path: Path) -> dict[str, float]:
    import pandas as pd

    start, spent = time.perf_counter(), time.process_time()
    frame = pd.read_csv(path)
    return {"seconds": time.perf_counter() - start, "cpu": time.process_time() - spent,
            "rows": len(frame)}  # fmt: skip


def _whole(path: Path) -> dict[str, float]:
    from riskcheck import fleet, rulebook
    from riskcheck.fleet import lexicon

    book = rulebook.load(rulebook.shipped_dir())
    words = lexicon.load(book.wording_dirs)
    start, spent = time.perf_counter(), time.process_time()
    marks = [("", start)]
    found = fleet.read_fleet(
        path,
        vocabulary=book.vocabulary,
        lexicon=words,
        as_of=AS_OF,
        progress=lambda stage: marks.append((stage, time.perf_counter())),
    )
    ended = time.perf_counter()
    ends = [when for _, when in marks[1:]] + [ended]
    stages = {
        name: end - begun for (name, begun), end in zip(marks, ends, strict=True) if end > begun
    }
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return {
        "seconds": ended - start,
        "cpu": time.process_time() - spent + children.ru_utime + children.ru_stime,
        "rows": len(found.service),
        "events": len(found.events),
        **{f"  {name or 'opening the file'}": spent for name, spent in stages.items()},
    }


def _measured(kind: str, path: Path) -> dict[str, float]:
    done = subprocess.run(
        [sys.executable, __file__, f"--{kind}", str(path)],
        check=True,
        capture_output=True,
        text=True,
    )
    answer: dict[str, float] = json.loads(done.stdout)
    return answer


def _child(kind: str, path: Path) -> None:
    answer = _plain(path) if kind == "plain" else _whole(path)
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    others = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    answer["peak_mb"], answer["peak_of_a_helper_mb"] = own / 1024, others / 1024
    sys.stdout.write(json.dumps(answer))


def _compare(path: Path, lines: int) -> None:
    vehicles, distinct = write_history(path, lines)
    size = path.stat().st_size / 1e6
    print(f"{lines:,} lines, {distinct / lines:.0%} distinct, {vehicles:,} vehicles, {size:.0f} MB")
    plain = _measured("plain", path)
    whole = _measured("whole", path)
    for name, figures in (("pandas.read_csv", plain), ("read_fleet", whole)):
        print(
            f"{name:<18}{figures['seconds']:8.2f} s {figures['cpu']:8.2f} s of processor "
            f"{figures['peak_mb']:7.0f} MB peak"
        )
    for name, spent in whole.items():
        if name.startswith("  "):
            print(f"{name:<42}{spent:8.2f} s")
    print(f"{whole['rows']:,.0f} lines kept, {whole['events']:,.0f} events")
    print(f"{whole['peak_of_a_helper_mb']:.0f} MB peak of the largest helper process, if any")
    print(f"{whole['seconds'] / plain['seconds']:.1f} times plain pandas")


def main() -> None:
    if len(sys.argv) > 2 and sys.argv[1] in ("--plain", "--whole"):
        _child(sys.argv[1].removeprefix("--"), Path(sys.argv[2]))
        return
    lines = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    if len(sys.argv) > 2:
        _compare(Path(sys.argv[2]), lines)
        return
    with tempfile.TemporaryDirectory() as folder:
        _compare(Path(folder) / "history.csv", lines)


if __name__ == "__main__":
    main()
