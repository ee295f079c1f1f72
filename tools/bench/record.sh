#!/bin/bash
# Limits and capability of a long job from the record's file: overwire beside numpy, pandas and DuckDB, whole
# processes on one core in turn, all on the same file. Then groups of five of the same readings by core's bench,
# beside numpy.
#   tools/bench/record.sh [READINGS]
# READINGS of one job (default 1000000). VALUES names a file with a reading a line (+0.51130) to take instead of made-up
# ones, PYTHON a python with numpy, pandas and duckdb (default python3), CORE the processor (default the last).
set -eu -o pipefail
here=$(dirname "$(readlink -f "$0")")
root=$(readlink -f "$here/../..")
python=${PYTHON:-python3}
core=${CORE:-$(($(nproc) - 1))}
readings=${1:-1000000}
# Limits of 1/2-20 UNF, and what a simple formula takes off a reading over wires of 0.03 in.
limits=0.4619,0.4675
take_off=0.04669873

"$python" -c 'import numpy, pandas, duckdb' 2> /dev/null || {
    echo "record.sh: $python lacks numpy, pandas or duckdb; install them with pip or name another in PYTHON" >&2
    exit 1
}
cargo build --quiet --release --manifest-path "$root/Cargo.toml" -p overwire -p overwire-tests \
    --bin overwire --bin fill_record
cargo bench --quiet --manifest-path "$root/Cargo.toml" -p overwire-core --bench process --no-run
built=${CARGO_TARGET_DIR:-$root/target}/release
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
"$built/fill_record" --record "$folder/record.db" --readings "$readings" --a-job "$readings" \
    --take-off "$take_off" ${VALUES:+--values "$VALUES"}
"$built/overwire" verify --record "$folder/record.db" | head -1

echo "machine: $(nproc) cores, load $(cut -d' ' -f1-3 /proc/loadavg) before the run"
taskset -c "$core" "$python" "$here/record.py" "$built/overwire" "$folder/record.db" "$folder/readings"
echo "groups of five by core's bench, computed factors"
export PROCESS_READINGS=$folder/readings PROCESS_LIMITS=$limits
taskset -c "$core" cargo bench --quiet --manifest-path "$root/Cargo.toml" -p overwire-core --bench process \
    -- groups group_means
echo "machine: load $(cut -d' ' -f1-3 /proc/loadavg) after the run"
