#!/bin/bash
# Runs an outside bench kit with the release build of overwire as its target.
#   tools/bench/run.sh KITDIR [further TARGET.json ...]
# The kit is no part of this project: a folder with run_peers.sh, which takes target files. It writes
# into its own folder, so KITDIR must be a copy that may be written. STAGES, ROUNDS and whatever else
# the kit reads from the environment are handed on.
set -eu
here=$(dirname "$(readlink -f "$0")")
root=$(readlink -f "$here/../..")
kit=${1:?usage: tools/bench/run.sh KITDIR [TARGET.json ...]}
shift
others=()
for target in "$@"; do others+=("$(readlink -f "$target")"); done

fail() { echo "run.sh: $*" >&2; exit 1; }
[ -f "$kit/run_peers.sh" ] || fail "$kit holds no run_peers.sh"
[ -w "$kit" ] || fail "$kit cannot be written; copy the kit and give the copy"
command -v sqlite3 > /dev/null || fail "sqlite3 is not installed; the kit reads results with it"

target_dir=${CARGO_TARGET_DIR:-$root/target}
cargo build --release --package overwire --manifest-path "$root/Cargo.toml" --target-dir "$target_dir"
# A relative folder would mean something else once the kit has changed into its own.
PATH=$(readlink -f "$target_dir/release"):$PATH
export PATH

# Share of the machine that others use, measured over two seconds; /proc/stat counts in ticks.
ticks() { awk '/^cpu /{print $2+$3+$4+$7+$8+$9, $2+$3+$4+$5+$6+$7+$8+$9}' /proc/stat; }
read -r busy_before all_before <<< "$(ticks)"
sleep 2
read -r busy_after all_after <<< "$(ticks)"
busy=$((100 * (busy_after - busy_before) / (all_after - all_before)))
echo "machine: $(nproc) cores, $busy % busy with other work before the run, load $(cut -d' ' -f1-3 /proc/loadavg)"
if [ "$busy" -ge 15 ]; then
    echo "OTHER LOAD: $busy % of the machine is in use by something else. Figures of this run say little;"
    echo "            repeat it on a quiet machine before quoting any."
fi

echo "target: $(command -v overwire), $(overwire --version || echo "version not told")"
exec bash "$kit/run_peers.sh" "$here/overwire.json" "${others[@]}"
