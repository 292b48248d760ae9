//! The command: a thin layer over the library.

mod command;

fn main() -> std::process::ExitCode {
    command::run()
}
