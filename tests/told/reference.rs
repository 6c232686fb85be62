//! Runs what lies in `tests/reference`, with its Python. `check.py`: film, paint account, colour and spray-out cards of
//! randomly drawn jobs, computed by an independent program from the definitions alone. `many_jobs.py`: the programs of a
//! page of the documentation. Does not know what they compare.

use std::path::Path;
use std::process::Command;

/// Runs a Python program, which says itself what it finds; its status decides.
fn agrees(program: &str) {
    let here = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."));
    let python = here.join("target/reference/bin/python");
    assert!(python.exists(), "{} is missing: run bash tests/run, which makes it", python.display());
    let check = here.join("tests/reference").join(program);
    let run = Command::new(python).arg(check).arg(env!("CARGO_BIN_EXE_fanlap")).output().expect("the check starts");
    // passed on through the test's own output, which the test runner keeps and shows with a failure
    println!("{}", String::from_utf8_lossy(&run.stdout));
    eprintln!("{}", String::from_utf8_lossy(&run.stderr));
    assert!(run.status.success(), "{program} disagrees or broke: {}", run.status);
}

#[test]
fn the_outside_check_agrees() {
    agrees("check.py");
}

#[test]
fn many_jobs_run_as_their_page_says_on_one_machine_and_by_dask() {
    agrees("many_jobs.py");
}
