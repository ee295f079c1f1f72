#!/usr/bin/env python3
"""Charts of a million readings, vectorised with numpy: what a careful script would do.

    python3 tools/bench/numpy_process.py READINGS_FILE [REPEATS]

Writes the readings (normal, seed 1) as doubles to READINGS_FILE, for core's bench `process` to take, works
out the same charts, and prints median times in milliseconds and the figures, to be held against the
bench's.
"""

import math
import statistics
import sys
import time

import numpy as np

READINGS = 1_000_000
GROUP = 5
LOWER, UPPER = 0.4671, 0.4679
# For groups of five, and for moving ranges of two.
D2, D2_OF_TWO = 2.32592894726, 2.0 / math.sqrt(math.pi)


def in_a_row(mask, length):
    """Where a run of so many ends."""
    sums = np.concatenate(([0], np.cumsum(mask, dtype=np.int32)))
    ends = np.zeros(len(mask), bool)
    ends[length - 1 :] = sums[length:] - sums[:-length] == length
    return ends


def all_but_one(mask, length):
    """Where so many end of which one at most lacks it, not the last."""
    sums = np.concatenate(([0], np.cumsum(mask, dtype=np.int32)))
    start = np.maximum(np.arange(len(mask)) + 1 - length, 0)
    return mask & (sums[1:] - sums[start] >= length - 1)


def eight_rules(points):
    """How many points complete each of Nelson's patterns; points in sigma from the centre line."""
    steps = np.diff(points)
    turns = steps[1:] * steps[:-1] < 0
    size = np.abs(points)
    return [
        np.count_nonzero(size > 3),
        np.count_nonzero(in_a_row(points > 0, 9) | in_a_row(points < 0, 9)),
        np.count_nonzero(in_a_row(steps > 0, 5) | in_a_row(steps < 0, 5)),
        np.count_nonzero(in_a_row(turns, 12)),
        np.count_nonzero(all_but_one(points > 2, 3) | all_but_one(points < -2, 3)),
        np.count_nonzero(all_but_one(points > 1, 5) | all_but_one(points < -1, 5)),
        np.count_nonzero(in_a_row(size < 1, 15)),
        np.count_nonzero(in_a_row(size > 1, 8)),
    ]


def indices(mean, within, overall, count):
    nearer = min(UPPER - mean, mean - LOWER)
    ppk = nearer / (3 * overall)
    reach = 1.959963984540054 * math.sqrt(1 / (9 * count) + ppk * ppk / (2 * (count - 1)))
    return nearer / (3 * within), ppk, ppk - reach, ppk + reach


def individuals(readings):
    mean, moving_range = readings.mean(), np.abs(np.diff(readings)).mean()
    sigma = moving_range / D2_OF_TWO
    return mean, sigma, indices(mean, sigma, readings.std(ddof=1), readings.size)


def groups(readings):
    table = readings.reshape(-1, GROUP)
    means, ranges = table.mean(1), table.max(1) - table.min(1)
    centre, sigma = means.mean(), ranges.mean() / D2
    figures = indices(centre, sigma, readings.std(ddof=1), readings.size)
    return means, centre, sigma, ranges.mean(), figures


def timed(name, repeats, work):
    work()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        result = work()
        times.append((time.perf_counter() - start) * 1e3)
    print(f"numpy {name}: {statistics.median(times):.2f} ms")
    return result


def main():
    repeats = int(sys.argv[2]) if len(sys.argv) > 2 else 9
    readings = 0.4675 + 1e-4 * np.random.default_rng(1).standard_normal(READINGS)
    readings.tofile(sys.argv[1])

    timed("one_pass_over_memory", repeats, readings.sum)
    name = "limits_and_capability_of_individuals"
    mean, sigma, figures = timed(name, repeats, lambda: individuals(readings))
    print("  centre, sigma, Cpk, Ppk and interval:", mean, sigma, *figures)
    name = "eight_rules_on_individuals"
    print(" ", timed(name, repeats, lambda: eight_rules((readings - mean) / sigma)))
    name = "limits_and_capability_of_groups"
    means, centre, sigma, mean_range, figures = timed(name, repeats, lambda: groups(readings))
    print("  centre, mean range, Cpk, Ppk and interval:", centre, mean_range, *figures)
    name = "eight_rules_on_group_means"
    scale = sigma / math.sqrt(GROUP)
    print(" ", timed(name, repeats, lambda: eight_rules((means - centre) / scale)))


if __name__ == "__main__":
    main()
