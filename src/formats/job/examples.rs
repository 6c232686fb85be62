//! The demonstration jobs: invented panels, paints and settings, marked as such in their titles.

use super::{Files, Job};

/// An example: a name for the menu and the text of its job file.
pub struct Example {
    /// Name in the menu.
    pub name: &'static str,
    /// The job file.
    pub text: &'static str,
}

/// All examples; the page opens on the first.
pub static EXAMPLES: &[Example] = &[
    Example { name: "Bonnet, clear green", text: include_str!("../../../assets/jobs/bonnet-green.json") },
    Example { name: "Door, warm red", text: include_str!("../../../assets/jobs/door-red.json") },
];

impl Example {
    /// The job, with the spectra that lie beside it in `assets/`.
    pub fn job(&self) -> Job {
        Job::read(self.text, &Files::from(&beside)).expect("the tests read every example")
    }
}

fn beside(name: &str) -> Result<String, String> {
    let text = match name {
        "paints/ember_absorption.csv" => include_str!("../../../assets/jobs/paints/ember_absorption.csv"),
        "paints/ember_ground.csv" => include_str!("../../../assets/jobs/paints/ember_ground.csv"),
        _ => return Err("not among the examples".to_string()),
    };
    Ok(text.to_string())
}
