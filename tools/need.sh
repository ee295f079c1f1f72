# What the scripts beside this one need of a machine, installed where it is missing. Sourced, not run.
# Debian and its kin: packages come from apt. Elsewhere the missing program is named and nothing is done.

# need PROGRAM PACKAGE: has the program installed from a Debian package if it is not there.
need() {
    command -v "$1" > /dev/null 2>&1 && return 0
    missing_packages="${missing_packages:-} $2"
}

# need_python MODULE PACKAGE: the same for a module of Python, of the first python3 or of the system's own.
need_python() {
    python3 -c "import $1" 2> /dev/null && return 0
    /usr/bin/python3 -c "import $1" 2> /dev/null && return 0
    missing_packages="${missing_packages:-} $2"
}

# install_missing: installs what `need` found missing, all at once.
install_missing() {
    [ -n "${missing_packages:-}" ] || return 0
    if ! command -v apt-get > /dev/null 2>&1; then
        echo "Please install:$missing_packages (there is no apt-get here to do it)." >&2
        exit 1
    fi
    local become=""
    [ "$(id -u)" = 0 ] || become=sudo
    echo "Installing$missing_packages ..." >&2
    $become apt-get update -qq
    # shellcheck disable=SC2086
    DEBIAN_FRONTEND=noninteractive $become apt-get install -y -qq --no-install-recommends $missing_packages > /dev/null
    missing_packages=""
}

# need_rust: the toolchain, of rust-toolchain age or newer.
need_rust() {
    if ! command -v cargo > /dev/null 2>&1 && [ -x "$HOME/.cargo/bin/cargo" ]; then
        PATH="$HOME/.cargo/bin:$PATH"
    fi
    command -v cargo > /dev/null 2>&1 && return 0
    need rustup rustup
    install_missing
    rustup default stable
    PATH="$HOME/.cargo/bin:$PATH"
}
