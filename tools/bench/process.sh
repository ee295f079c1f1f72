#!/bin/bash
# Charts of a million readings by numpy and by core's bench, one after the other on one core, the same
# readings.
#   tools/bench/process.sh
# PYTHON names a python with numpy (default python3), CORE the processor to use (default the last).
set -eu
here=$(dirname "$(readlink -f "$0")")
root=$(readlink -f "$here/../..")
python=${PYTHON:-python3}
core=${CORE:-$(($(nproc) - 1))}

"$python" -c 'import numpy' 2> /dev/null || {
    echo "process.sh: $python has no numpy; install it (pip install numpy) or name another in PYTHON" >&2
    exit 1
}
cargo bench --quiet --manifest-path "$root/Cargo.toml" -p overwire-core --bench process --no-run
readings=$(mktemp)
trap 'rm -f "$readings"' EXIT
echo "machine: $(nproc) cores, load $(cut -d' ' -f1-3 /proc/loadavg) before the run"
taskset -c "$core" "$python" "$here/numpy_process.py" "$readings"
PROCESS_READINGS=$readings taskset -c "$core" cargo bench --quiet --manifest-path "$root/Cargo.toml" \
    -p overwire-core --bench process
echo "machine: load $(cut -d' ' -f1-3 /proc/loadavg) after the run"
