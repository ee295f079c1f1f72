#!/bin/bash
# Builds overwire and runs the main job in the invented shop: the real daemon, simulated micrometers.
#   tools/demo.sh            then open the page it names, and press Enter for the data button
#   tools/demo.sh --help     what else it can do
set -eu
cd "$(dirname "$(readlink -f "$0")")/.."
. tools/need.sh
need cc gcc
need_rust
install_missing
cargo build --locked --release --package overwire --package overwire-tools
exec "${CARGO_TARGET_DIR:-target}/release/demo" "$@"
