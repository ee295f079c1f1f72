//! The `overwire` program.

use std::process::ExitCode;

fn main() -> ExitCode {
    overwire::cli::main()
}
