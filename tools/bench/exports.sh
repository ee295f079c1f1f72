#!/bin/bash
# Times exports of many readings beside common programs that write the same eight columns, in one run on one
# core: a workbook beside Python's XlsxWriter in its mode of constant memory, a CSV beside the sqlite3 shell.
#   tools/bench/exports.sh [READINGS] [ROUNDS] [xlsx|csv|both]
# RECORD names a record that has so many readings; without it one is filled (some minutes). OVERWIRE names a
# program that is built already. PYTHON names a Python with XlsxWriter (default python3; pip install xlsxwriter).
# CORE names the processor to use (default the last). Prints seconds, CPU seconds and the largest memory of each,
# the ratio, and the machine's load.
set -eu
here=$(dirname "$(readlink -f "$0")")
root=$(readlink -f "$here/../..")
readings=${1:-1000000}
rounds=${2:-1}
which=${3:-both}
python=${PYTHON:-python3}
core=${CORE:-$(($(nproc) - 1))}
columns=entry,at,job,station,raw,over_wires,pitch_diameter,verdict

"$python" -c 'import xlsxwriter' 2> /dev/null || [ "$which" = csv ] || {
    echo "exports.sh: $python has no xlsxwriter; install it (pip install xlsxwriter) or name another in PYTHON" >&2
    exit 1
}
target_dir=${CARGO_TARGET_DIR:-$root/target}
work=$(mktemp -d "${TMPDIR:-/tmp}/exports.XXXXXX")
trap 'rm -rf "$work"' EXIT
if [ -z "${OVERWIRE:-}" ]; then
    cargo build --quiet --release --package overwire --manifest-path "$root/Cargo.toml" --target-dir "$target_dir"
    OVERWIRE=$target_dir/release/overwire
fi
if [ -z "${RECORD:-}" ]; then
    RECORD=$work/record.db
    cargo run --quiet --release --package overwire-tests --bin fill_record --manifest-path "$root/Cargo.toml" \
        --target-dir "$target_dir" -- --record "$RECORD" --readings "$readings"
fi

# What the others read: the same readings in a plain table, nothing of the record around them.
plain=$work/plain.db
sqlite3 "$plain" "ATTACH '$RECORD' AS record;
CREATE TABLE job(id INTEGER PRIMARY KEY, name TEXT UNIQUE);
INSERT INTO job(name) SELECT DISTINCT job FROM record.reading WHERE job IS NOT NULL ORDER BY job_entry;
CREATE TABLE reading(id INTEGER PRIMARY KEY, t_us INT, job_id INT, port TEXT, raw TEXT, value REAL, pd REAL, verdict TEXT);
INSERT INTO reading SELECT r.entry, r.wall_us, j.id, r.station, CAST(r.raw AS TEXT), CAST(r.text AS REAL),
    r.pitch_diameter_mm / CASE r.unit WHEN 'in' THEN 25.4 ELSE 1 END, r.verdict
    FROM record.reading r JOIN job j ON j.name = r.job ORDER BY r.entry LIMIT $readings;"

# timed NAME COMMAND...: prints and keeps seconds, CPU seconds and the peak of memory, of the median round.
timed() {
    local name=$1
    shift
    for _ in $(seq "$rounds"); do
        "$python" "$here/timed.py" taskset -c "$core" "$@"
    done | sort -n | awk '{ line[NR] = $0 } END { print line[int((NR + 1) / 2)] }' > "$work/$name"
    awk -v name="$name" '{ printf "%-12s %8.2f s  %8.2f s of CPU  %7.1f MB at most\n", name, $1, $2, $3 }' "$work/$name"
}

ratio() {
    paste "$work/$1" "$work/$2" | awk -v what="$3" '{ printf "%s: %.2f of the time, %.2f of the CPU\n", what, $1 / $4, $2 / $5 }'
}

echo "machine: $(nproc) cores, load $(cut -d' ' -f1-3 /proc/loadavg) before the run, $readings readings"
if [ "$which" != csv ]; then
    timed xlsxwriter "$python" "$here/xlsxwriter_export.py" "$plain" "$work/other.xlsx"
    timed workbook "$OVERWIRE" export --record "$RECORD" --only "$columns" --out "$work/own.xlsx"
    ratio workbook xlsxwriter "workbook beside XlsxWriter"
    du -k "$work/own.xlsx" "$work/other.xlsx" | awk '{ print $2, $1 " kB" }' | sed "s|$work/||"
    "$python" -c 'import sys, zipfile; assert zipfile.ZipFile(sys.argv[1]).testzip() is None' "$work/own.xlsx"
fi
if [ "$which" != xlsx ]; then
    query="SELECT r.id, strftime('%Y-%m-%dT%H:%M:%fZ', r.t_us / 1e6, 'unixepoch') time, j.name, r.port, r.raw, r.value,
        round(r.pd, 6) pd, r.verdict FROM reading r JOIN job j ON j.id = r.job_id ORDER BY r.id"
    timed sqlite3 sh -c 'exec sqlite3 -csv -header "$1" "$2" > "$3"' sh "$plain" "$query" "$work/other.csv"
    timed csv "$OVERWIRE" export --record "$RECORD" --only "$columns" --out "$work/own.csv"
    ratio csv sqlite3 "CSV beside sqlite3"
    [ "$(wc -l < "$work/own.csv")" -gt "$readings" ] || { echo "exports.sh: rows are missing" >&2; exit 1; }
fi
echo "machine: load $(cut -d' ' -f1-3 /proc/loadavg) after the run"
