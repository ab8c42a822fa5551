"""Time and memory of a page for every vehicle of a large fleet.

    python tests/bench/pages_speed.py [VEHICLES]

The fleet is the sample, repeated under new unit numbers until it has VEHICLES vehicles (default
1,000).  Prints the time of the assessment, of views (live rule sessions, curves, what would change
a conclusion) and of pages, and the memory in use after each tenth of the pages; nothing is
asserted.
"""

from __future__ import annotations

import datetime as dt
import resource
import sys
import tempfile
import time
from pathlib import Path

from pipeline_speed import enlarged

from riskcheck import assessment, explain
from riskcheck.reasoning import Engine
from riskcheck.reports import page, page_index

AS_OF = dt.date(2026, 10, 1)
MB = 1024.0


def memory_mb() -> float:
    """Resident memory of this process now (Linux), in MB."""
    for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) / MB
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MB


def main() -> None:
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000
    with tempfile.TemporaryDirectory() as folder:
        path = enlarged(wanted, Path(folder))
        begun = time.perf_counter()
        result = assessment.assess(path, as_of=AS_OF)
        print(f"assessment            {time.perf_counter() - begun:8.1f} s  {memory_mb():7.0f} MB")
        names = [str(name) for name in result.fleet.vehicles["vehicle_id"]][:wanted]
        case = assessment.explainable(result)
        viewing = rendering = writing = written = 0.0
        step = max(len(names) // 10, 1)
        with Engine() as engine:
            views = explain.view_vehicles(case, names, engine)
            for number in range(1, len(names) + 1):
                marks = [time.perf_counter()]
                view = next(views)
                marks.append(time.perf_counter())
                text = page.html(view, index=page_index.INDEX)
                marks.append(time.perf_counter())
                file = page_index.file_name(str(view.vehicle["vehicle_id"]))
                page.write(Path(folder) / file, text)
                marks.append(time.perf_counter())
                viewing += marks[1] - marks[0]
                rendering += marks[2] - marks[1]
                writing += marks[3] - marks[2]
                written += len(text.encode())
                if number % step == 0:
                    print(f"{number:6,} pages           {viewing + rendering + writing:8.1f} s  "
                          f"{memory_mb():7.0f} MB")  # fmt: skip
        each = 1000.0 / len(names)
        print(f"views {viewing:.1f} s ({viewing * each:.0f} ms each), pages {rendering:.1f} s "
              f"({rendering * each:.0f} ms each), files {writing:.1f} s, "
              f"{written / 1e6:.0f} MB written")  # fmt: skip


if __name__ == "__main__":
    main()
