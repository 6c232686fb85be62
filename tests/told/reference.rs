//! Runs the outside check, `tests/reference/check.py`: film, paint account, colour and spray-out cards of randomly drawn
//! jobs, computed by an independent program from the definitions alone. Does not know what it compares.

use std::path::Path;
use std::process::Command;

#[test]
fn the_outside_check_agrees() {
    let here = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."));
    let python = here.join("target/reference/bin/python");
    assert!(python.exists(), "{} is missing: run bash tests/run, which makes it", python.display());
    let check = here.join("tests/reference/check.py");
    let run = Command::new(python).arg(check).arg(env!("CARGO_BIN_EXE_fanlap")).output().expect("the check starts");
    // passed on through the test's own output, which the test runner keeps and shows with a failure
    println!("{}", String::from_utf8_lossy(&run.stdout));
    eprintln!("{}", String::from_utf8_lossy(&run.stderr));
    assert!(run.status.success(), "the outside check disagrees or broke: {}", run.status);
}
