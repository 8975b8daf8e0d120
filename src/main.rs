//! The door from the shell: hands the arguments to [`turnday::cli`] and its exit code back.

fn main() -> std::process::ExitCode {
    turnday::cli::main(std::env::args_os())
}
