#!/bin/bash
# Times a stream of JSON lines through `overwire convert` on one core.
#   tools/bench/convert.sh [LINES] [ROUNDS]
# CORE names the processor to use (default the last). Prints each round's seconds, their median, the
# largest memory used, and the machine's load. The lines are the same every time: four threads,
# readings and pitch diameters spread over their limits.
set -eu
here=$(dirname "$(readlink -f "$0")")
root=$(readlink -f "$here/../..")
lines=${1:-1000000}
rounds=${2:-5}
core=${CORE:-$(($(nproc) - 1))}

target_dir=${CARGO_TARGET_DIR:-$root/target}
cargo build --quiet --release --package overwire --manifest-path "$root/Cargo.toml" --target-dir "$target_dir"
overwire=$target_dir/release/overwire

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
awk -v lines="$lines" 'BEGIN {
    srand(7)
    split("9/16-18 UNF-2A|1/2-13 UNC-2A|M10x1.5-6g|1 1/16-12 UN-2A", thread, "|")
    split("0.0395|0.04441|0.866|0.04811", wire, "|")
    split("0.5931|0.5166|10.2|1.0760", reading, "|")
    split("0.003|0.003|0.05|0.003", spread, "|")
    for (i = 0; i < lines; i++) {
        k = i % 4 + 1
        at = reading[k] + (2 * rand() - 1) * spread[k]
        if (i % 3)
            printf "{\"thread\":\"%s\",\"wires\":%s,\"over_wires\":%.5f}\n", thread[k], wire[k], at
        else
            printf "{\"thread\":\"%s\",\"wires\":[%s,%s,%s],\"pitch_diameter\":%.5f}\n",
                thread[k], wire[k], wire[k], wire[k], at - 2 * wire[k]
    }
}' > "$work/lines"

echo "machine: $(nproc) cores, load $(cut -d' ' -f1-3 /proc/loadavg) before the run"
for _ in $(seq "$rounds"); do
    begin=$(date +%s%N)
    taskset -c "$core" "$overwire" convert < "$work/lines" > "$work/answers" &
    child=$!
    peak=0
    while read -r now < <(awk '/^VmHWM/ { print $2 }' "/proc/$child/status" 2> /dev/null) && [ -n "$now" ]; do
        peak=$now
        sleep 0.1
    done
    wait "$child"
    end=$(date +%s%N)
    awk -v from="$begin" -v to="$end" -v peak="$peak" 'BEGIN { printf "%.2f %d\n", (to - from) / 1e9, peak }'
done | tee "$work/rounds" | awk '{ print $1 " s, " $2 " kB" }'
[ "$(wc -l < "$work/answers")" = "$lines" ] || { echo "convert.sh: not every line was answered" >&2; exit 1; }
sort -n "$work/rounds" | awk -v lines="$lines" '{ all[NR] = $1 }
    END { median = all[int((NR + 1) / 2)]; printf "median %.2f s for %d lines, %.2f microseconds a line\n", median, lines, median * 1e6 / lines }'
echo "machine: load $(cut -d' ' -f1-3 /proc/loadavg) after the run"
