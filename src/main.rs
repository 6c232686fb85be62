//! The command line: serves the page, or rehearses, checks and lists without a browser. Translates between files and
//! the core; knows no physics.

#[cfg(not(target_arch = "wasm32"))]
mod cli;

#[cfg(not(target_arch = "wasm32"))]
fn main() -> std::process::ExitCode {
    cli::main()
}

#[cfg(target_arch = "wasm32")]
fn main() {}
