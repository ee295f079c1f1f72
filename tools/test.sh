#!/bin/bash
# Runs every test: units, published values, real ports, kill -9, the page in a browser, LibreOffice.
# Installs what it needs (Debian packages, and the browser tests' two npm packages).
set -eu
cd "$(dirname "$(readlink -f "$0")")/.."
. tools/need.sh
need cc gcc
need chromium chromium
need soffice libreoffice-calc
need python3 python3
need pdftotext poppler-utils
need_python openpyxl python3-openpyxl
need sqlite3 sqlite3
need npm "nodejs npm"
need_rust
install_missing
[ -d tests/browser/node_modules/playwright-core ] || npm ci --silent --no-audit --no-fund --prefix tests/browser
cargo test --locked --workspace "$@"
