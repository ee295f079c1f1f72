#!/bin/bash
# The exact seat by core's bench and by numpy, turn about in one run on one core.
#   tools/bench/seat.sh [ROUNDS]
# PYTHON names a python with numpy (default python3), CORE the processor to use (default the last).
# Prints medians over the rounds in nanoseconds a conversion, and the machine's load.
set -eu
here=$(dirname "$(readlink -f "$0")")
root=$(readlink -f "$here/../..")
rounds=${1:-5}
python=${PYTHON:-python3}
core=${CORE:-$(($(nproc) - 1))}

"$python" -c 'import numpy' 2> /dev/null || {
    echo "seat.sh: $python has no numpy; install it (pip install numpy) or name another in PYTHON" >&2
    exit 1
}
cargo bench --quiet --manifest-path "$root/Cargo.toml" -p overwire-core --bench seat --no-run
results=$(mktemp)
trap 'rm -f "$results"' EXIT

# The bench converts 1000 a run, so microseconds a run are nanoseconds a conversion.
bench() {
    taskset -c "$core" cargo bench --quiet --manifest-path "$root/Cargo.toml" -p overwire-core \
        --bench seat 2> /dev/null |
        sed -n 's/^[^ ]*─ *\([a-z0-9_]*\) .*│ *\([0-9.]*\) \([^ ]*\) *│[^│]*│[^│]*│[^│]*$/\1 \2 \3/p' |
        awk '{ scale = $3 == "ns" ? 0.001 : $3 == "ms" ? 1000 : 1; print "core", $1, $2 * scale }'
}
numpy() {
    for elements in 1000 100000; do
        taskset -c "$core" "$python" "$here/numpy_seat.py" "$elements" |
            awk -v elements="$elements" '/ns each/ { sub(":", "", $2)
                 print "numpy", $2 "_of_" elements, $3 }'
    done
}

echo "machine: $(nproc) cores, load $(cut -d' ' -f1-3 /proc/loadavg) before the run"
for _ in $(seq "$rounds"); do
    bench
    numpy
done > "$results"
echo "machine: load $(cut -d' ' -f1-3 /proc/loadavg) after the run; medians of $rounds rounds, ns a conversion"
cut -d' ' -f1-2 "$results" | sort -u | while read -r who what; do
    awk -v who="$who" -v what="$what" '$1 == who && $2 == what { print $3 }' "$results" | sort -n |
        awk -v name="$who $what" '{ all[NR] = $1 } END { printf "%8.1f  %s\n", all[int((NR + 1) / 2)], name }'
done
