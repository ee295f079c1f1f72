#!/usr/bin/env python3
"""The exact seat of a wire, vectorised with numpy: what a careful script would do.

    python3 tools/bench/numpy_seat.py [ELEMENTS] [REPEATS]

The same equations as core/src/helix.rs for equal flanks and equal wires, whole arrays at a
time, with the same starts and as many steps of Newton's rule as the slowest element needs,
and the same results: reading, pitch diameter, plane value, correction, contact, axis and tilt.
Prints the median time of one conversion in nanoseconds, and how far the results are from the
reference table that core is tested with.
"""

import csv
import math
import statistics
import sys
import time
from pathlib import Path

import numpy as np

REFERENCE = Path(__file__).parents[2] / "core/tests/published/helix_reference.csv"
LAST_STEP = 1e-9
MOST_STEPS = 20


def touch(square, slope, advance, half_wire):
    """A ball on one flank: lean, twist, what its centre's square is beyond the contact's."""
    over_normal = 1.0 / (square * (1.0 + slope * slope) + advance * advance)
    lean = half_wire * np.sqrt(over_normal)
    twist = advance * advance * over_normal
    beyond = half_wire * half_wire + square * lean * (2.0 * slope - lean)
    return lean, twist, beyond


def spread_of(lean, twist, slope):
    return 1.0 + lean * slope * (1.0 + twist) - lean * lean * twist


def axial_of(radius, level, lean, slope, advance):
    turn = np.arctan(lean * advance / (radius * (1.0 + lean * slope)))
    return (radius - level) * slope - lean * radius - advance * turn


def seated(over_wires, diameter, radius, axis, pitch, advance, flank, wire):
    """All that core says about wires at rest."""
    constant = wire * (1.0 + 1.0 / math.sin(flank)) - pitch / (2.0 * math.tan(flank))
    plane = over_wires - constant
    return {
        "over_wires": over_wires,
        "pitch_diameter": diameter,
        "plane_pitch_diameter": plane,
        "lead_angle_correction": plane - diameter,
        "contact_radius": radius,
        "axis_radius": axis,
        "tilt": np.arctan(advance / axis),
    }


def to_pitch_diameter(over_wires, pitch, starts, flank, wire):
    """From readings to pitch diameters."""
    slope, advance, half_wire = math.tan(flank), starts * pitch / math.tau, wire / 2.0
    axis = over_wires / 2.0 - half_wire
    axis_square = axis * axis
    square = (axis - half_wire * math.sin(flank)) ** 2
    for _ in range(MOST_STEPS):
        lean, twist, beyond = touch(square, slope, advance, half_wire)
        step = ((square - axis_square) + beyond) / spread_of(lean, twist, slope)
        square = square - step
        if np.abs(step).max() <= LAST_STEP * square.min():
            break
    lean, _, _ = touch(square, slope, advance, half_wire)
    radius = np.sqrt(square)
    axial = axial_of(radius, axis, lean, slope, advance)
    diameter = 2.0 * axis + (pitch / 2.0 + 2.0 * axial) / slope
    return seated(over_wires, diameter, radius, axis, pitch, advance, flank, wire)


def to_over_wires(diameter, pitch, starts, flank, wire):
    """From pitch diameters to readings."""
    slope, advance, half_wire = math.tan(flank), starts * pitch / math.tau, wire / 2.0
    level = diameter / 2.0
    corner = level - pitch / (4.0 * slope)
    radius = corner + half_wire * (1.0 / math.sin(flank) - math.sin(flank))
    for _ in range(MOST_STEPS):
        square = radius * radius
        lean, twist, beyond = touch(square, slope, advance, half_wire)
        climb = slope * square * (1.0 + lean * slope) + lean * advance * advance
        rate = climb * spread_of(lean, twist, slope) / (square + beyond)
        excess = pitch / 4.0 + axial_of(radius, level, lean, slope, advance)
        step = excess / rate
        radius = radius - step
        if np.abs(step).max() <= LAST_STEP * radius.min():
            break
    square = radius * radius
    _, _, beyond = touch(square, slope, advance, half_wire)
    axis = np.sqrt(square + beyond)
    return seated(2.0 * axis + wire, diameter, radius, axis, pitch, advance, flank, wire)


def worst_difference():
    """The largest relative difference from the reference, either way, over equal flanks."""
    worst, rows = 0.0, 0
    with open(REFERENCE, newline="", encoding="utf-8") as table:
        for row in csv.DictReader(table):
            if row["leading_deg"] != row["trailing_deg"]:
                continue
            thread = (
                float(row["pitch_mm"]),
                int(row["starts"]),
                math.radians(float(row["leading_deg"])),
                float(row["wire_mm"]),
            )
            diameter, reading = float(row["pitch_diameter_mm"]), float(row["over_wires_mm"])
            there = to_over_wires(np.array([diameter]), *thread)["over_wires"][0]
            back = to_pitch_diameter(np.array([reading]), *thread)["pitch_diameter"][0]
            worst = max(worst, abs(there / reading - 1.0), abs(back / diameter - 1.0))
            rows += 1
    return worst, rows


def nanoseconds(function, values, thread, repeats):
    function(values, *thread)
    times = []
    for _ in range(repeats):
        begin = time.perf_counter_ns()
        function(values, *thread)
        times.append((time.perf_counter_ns() - begin) / len(values))
    return statistics.median(times)


def main():
    elements = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    repeats = int(sys.argv[2]) if len(sys.argv) > 2 else 15
    worst, rows = worst_difference()
    print(f"numpy {np.__version__}: at most {worst:.1e} from {rows} rows of the reference")
    if not worst < 2e-15:
        sys.exit("the numpy form does not agree with the reference")
    # M10x1.5 over best wires, sizes spread over a tenth of a millimetre, as in the bench of core.
    thread = (1.5, 1, math.radians(30.0), 0.866)
    diameters = 8.9 + 0.1 * np.arange(elements) / elements
    readings = to_over_wires(diameters, *thread)["over_wires"]
    for function, values in ((to_pitch_diameter, readings), (to_over_wires, diameters)):
        each = nanoseconds(function, values, thread, repeats)
        name = function.__name__
        print(f"numpy {name}: {each:.1f} ns each, median of {repeats} runs of {elements}")


if __name__ == "__main__":
    main()
