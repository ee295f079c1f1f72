#!/usr/bin/env python3
"""A long job's limits and capability from the record's file, by overwire and by what a careful script would do.

    python3 tools/bench/record.py OVERWIRE RECORD READINGS_FILE [REPEATS]

Each is a process of its own, start and imports included: wall time and CPU time are medians, peak memory the largest.
The plain floor is SQLite stepping over the one column. Figures must agree to every digit printed; a difference
ends with exit code 1. Writes the readings, in inches, as doubles to READINGS_FILE for core's bench `process`, and prints
figures of groups of five to hold against it, with factors computed and with those of older tables.

    python3 tools/bench/record.py WAY RECORD
does one of the ways (floor, numpy, pandas, duckdb) and prints its figures.
"""

import json
import math
import os
import sqlite3
import statistics
import subprocess
import sys
import time

JOB = "1/2-20 UNF lot 1"
LOWER, UPPER = 0.4619 * 25.4, 0.4675 * 25.4
QUERY = "SELECT pitch_diameter_mm AS mm FROM reading ORDER BY entry"
D2_OF_TWO = 2.0 / math.sqrt(math.pi)
WAYS = ("floor", "numpy", "pandas", "duckdb")
# d2, A2 and D4 of groups of five, from their definitions, and as older tables round them.
COMPUTED = (2.325928947280, 0.576819334085, 2.114499145088)
ROUNDED = (2.326, 0.577, 2.114)


def told(count, mean, deviation, moving_range):
    within = moving_range / D2_OF_TWO
    width, nearer = UPPER - LOWER, min(UPPER - mean, mean - LOWER)
    return {
        "pieces": count,
        "mean_mm": mean,
        "standard_deviation_mm": deviation,
        "lower_control_limit_mm": mean - 3 * within,
        "upper_control_limit_mm": mean + 3 * within,
        "cp": width / 6 / within,
        "cpk": nearer / 3 / within,
        "pp": width / 6 / deviation,
        "ppk": nearer / 3 / deviation,
    }


def floor(record):
    count = sum(1 for _ in sqlite3.connect(record).execute(QUERY))
    return {"pieces": count}


def by_numpy(record):
    import numpy as np

    rows = sqlite3.connect(record).execute(QUERY)
    mm = np.fromiter((row[0] for row in rows), float)
    return told(mm.size, mm.mean(), mm.std(ddof=1), np.abs(np.diff(mm)).mean())


def by_pandas(record):
    import pandas as pd

    mm = pd.read_sql(QUERY, sqlite3.connect(record)).mm
    return told(len(mm), mm.mean(), mm.std(), mm.diff().abs().mean())


def by_duckdb(record):
    import duckdb
    import pandas as pd

    # DuckDB's own scanner of SQLite files is an extension that is fetched; the rows come by pandas.
    rows = pd.read_sql(QUERY, sqlite3.connect(record)).reset_index()
    sql = """SELECT count(*), avg(mm), stddev_samp(mm), avg(abs(mm - before))
             FROM (SELECT mm, lag(mm) OVER (ORDER BY index) AS before FROM rows)"""
    return told(*duckdb.sql(sql).fetchall()[0])


def process(argv):
    """Figures, wall and CPU seconds, peak megabytes of a process."""
    start = time.perf_counter()
    child = subprocess.Popen(argv, stdout=subprocess.PIPE)
    out = child.stdout.read()
    _, status, used = os.wait4(child.pid, 0)
    wall = time.perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        sys.exit(f"{argv[0]} failed")
    return json.loads(out), wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def timed(name, argv, repeats):
    runs = [process(argv) for _ in range(repeats)]
    wall, cpu = (statistics.median(run[at] for run in runs) for at in (1, 2))
    peak = max(run[3] for run in runs)
    print(f"{name:28} {wall:7.3f} s wall, {cpu:7.3f} s CPU, {peak:6.0f} MB", flush=True)
    return runs[0][0]


def printed(figures):
    """Figures to as many digits as are compared."""
    digits = lambda name: 9 if name.endswith("_mm") else 6
    return {name: round(float(figure), digits(name)) for name, figure in figures.items()}


def groups(inches):
    """Groups of five: limits of means and ranges, indices."""
    import numpy as np

    table = inches[: inches.size // 5 * 5].reshape(-1, 5)
    centre, mean_range = table.mean(1).mean(), np.ptp(table, axis=1).mean()
    lower, upper = LOWER / 25.4, UPPER / 25.4
    mean, deviation = table.mean(), table.std(ddof=1)
    for name, (d2, a2, d4) in (("computed", COMPUTED), ("rounded", ROUNDED)):
        nearer, within = min(upper - mean, mean - lower), mean_range / d2
        limits = (centre - a2 * mean_range, centre + a2 * mean_range, d4 * mean_range)
        indices = ((upper - lower) / 6 / within, nearer / 3 / within, nearer / 3 / deviation)
        print(
            f"numpy, groups of five, {name} factors: limits",
            *(f"{limit:.8f}" for limit in limits),
            "Cp, Cpk, Ppk",
            *(f"{index:.6f}" for index in indices),
        )


def main():
    overwire, record, readings = sys.argv[1:4]
    repeats = int(sys.argv[4]) if len(sys.argv) > 4 else 5
    summary = [overwire, "summary", "--record", record, "--job", JOB, "--json"]
    script = [sys.executable, os.path.abspath(__file__)]
    timed("one column, stepped (Python)", [*script, "floor", record], repeats)
    found = {"overwire": timed("overwire, from the record", [*summary, "--anew"], repeats)["figures"]}
    process(summary)
    found["overwire, kept sums"] = timed("overwire, kept sums", summary, repeats)["figures"]
    for way in WAYS[1:]:
        found[way] = timed(way, [*script, way, record], repeats)
    wanted = printed(found["numpy"])
    print("figures", json.dumps(wanted))
    differ = 0
    for name, figures in found.items():
        for figure, value in printed({key: figures[key] for key in wanted}).items():
            if value != wanted[figure]:
                differ += 1
                print(f"DIFFERS {name}: {figure} {value}, numpy {wanted[figure]}")
    if not differ:
        print("all agree, lengths to nine places of a millimetre, indices to six")

    import numpy as np

    rows = sqlite3.connect(record).execute(QUERY)
    inches = np.fromiter((row[0] for row in rows), float) / 25.4
    inches.tofile(readings)
    groups(inches)
    sys.exit(1 if differ else 0)


if __name__ == "__main__":
    if sys.argv[1] in WAYS:
        way = {"floor": floor, "numpy": by_numpy, "pandas": by_pandas, "duckdb": by_duckdb}[sys.argv[1]]
        print(json.dumps({name: float(figure) for name, figure in way(sys.argv[2]).items()}))
    else:
        main()
