//! What the command line offers, and its exit statuses: 0 done, 2 bad input, 1 anything else.

mod advise;
mod build;
mod cards;
mod grade;
mod gun;
mod rehearse;
mod serve;
mod sheet;
mod tint;
mod track;

use clap::{Parser, Subcommand};
use fanlap::error::Problem;
use fanlap::job::inputs::{INPUTS, Kind, plain_number};
use std::path::PathBuf;
use std::process::ExitCode;

/// See the film before pulling the trigger. Without a command: builds the page, serves it on this computer and opens
/// it in the browser.
#[derive(Parser)]
#[command(version, args_conflicts_with_subcommands = true)]
struct Arguments {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    page: Page,
}

#[derive(clap::Args)]
struct Page {
    /// Do not open the browser
    #[arg(long)]
    no_open: bool,
    /// Serve the page as it was built last
    #[arg(long)]
    no_build: bool,
    /// Build the page and stop
    #[arg(long, conflicts_with = "no_build")]
    build_only: bool,
    /// Port on 127.0.0.1; 0 takes any free one
    #[arg(long)]
    port: Option<u16>,
}

#[derive(Subcommand)]
enum Command {
    /// Rehearse a job file; without --out print the report and write nothing
    Rehearse {
        /// The job file (JSON)
        job: PathBuf,
        /// Folder for film-<paint>.csv, report.json, film.png and paint.png
        #[arg(long)]
        out: Option<PathBuf>,
    },
    /// Read and check a job file, and say in one paragraph what it means
    Check {
        /// The job file (JSON)
        job: PathBuf,
    },
    /// Spray the job's ladder of cards and compare them with the car; without --out print cards.json and write nothing
    Cards {
        /// The job file (JSON)
        job: PathBuf,
        /// Folder for cards.json
        #[arg(long)]
        out: Option<PathBuf>,
        /// Take the card with this many coats: also writes the job that aims at it, job.json
        #[arg(long, requires = "out")]
        choose: Option<f64>,
    },
    /// Fit the tint to what was measured on one's own cards; without --out print tint.json
    Tint {
        /// The job file (JSON) with `measured` cards
        job: PathBuf,
        /// Folder for tint.json, and for job.json with the fitted paint
        #[arg(long)]
        out: Option<PathBuf>,
    },
    /// Fit the gun to the job's test card, and say where the runs of a flood test hang; without --out print gun.json
    Gun {
        /// The job file (JSON); its `test_card` is fitted, and its gun is held still for the flood test
        job: PathBuf,
        /// Folder for gun.json, and for job.json with the fitted gun
        #[arg(long)]
        out: Option<PathBuf>,
    },
    /// Tell how a recorded coat was sprayed, pass by pass, and what did most to its film
    Track {
        /// The job file (JSON), with a coat recorded in Practice, or to take one from --csv
        job: PathBuf,
        /// A tracker's file: columns t_s, x_mm, y_mm, distance_mm or z_mm, trigger, and heel_deg, lean_deg if they are known
        #[arg(long)]
        csv: Option<PathBuf>,
        /// Which coat, from 1
        #[arg(long, default_value_t = 1)]
        coat: usize,
        /// Folder for track.json, and for job.json with the track
        #[arg(long)]
        out: Option<PathBuf>,
    },
    /// Mark attempts at lessons from their recordings: job files saved in Practice
    Grade {
        /// The job files
        #[arg(required = true)]
        jobs: Vec<PathBuf>,
        /// A folder with lessons of one's own
        #[arg(long)]
        lessons: Option<PathBuf>,
        /// Folder for grades.csv and grades.html; without it the table is printed
        #[arg(long)]
        out: Option<PathBuf>,
    },
    /// Search for plans that keep the tinted clear's film in its window for a hand that strays; without --out print
    /// advice.json
    Advise {
        /// The job file (JSON): its gun, paint, panel and target, and how its hand strays
        job: PathBuf,
        /// Folder for advice.json, and for job.json with the surest plan
        #[arg(long)]
        out: Option<PathBuf>,
        #[command(flatten)]
        given: advise::Given,
    },
    /// Write the booth sheet of a job, a page to print, without scripts
    Sheet {
        /// The job file (JSON)
        job: PathBuf,
        /// Folder for sheet.html; without it the sheet is printed
        #[arg(long)]
        out: Option<PathBuf>,
        /// US units
        #[arg(long)]
        us: bool,
        /// Colour difference to the target that counts as right, CIEDE2000
        #[arg(long, default_value_t = 1.0)]
        within: f64,
    },
    /// List every key of a job file with its unit, limits and default
    Inputs,
}

/// Runs the command line.
pub fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let done = match arguments.command {
        Some(Command::Rehearse { job, out }) => rehearse::rehearse(&job, out.as_deref()),
        Some(Command::Check { job }) => rehearse::check(&job),
        Some(Command::Cards { job, out, choose }) => cards::cards(&job, out.as_deref(), choose),
        Some(Command::Tint { job, out }) => tint::tint(&job, out.as_deref()),
        Some(Command::Gun { job, out }) => gun::gun(&job, out.as_deref()),
        Some(Command::Track { job, csv, coat, out }) => track::track(&job, csv.as_deref(), coat, out.as_deref()),
        Some(Command::Grade { jobs, lessons, out }) => grade::grade(&jobs, lessons.as_deref(), out.as_deref()),
        Some(Command::Advise { job, out, given }) => advise::advise(&job, out.as_deref(), &given),
        Some(Command::Sheet { job, out, us, within }) => sheet::sheet(&job, out.as_deref(), us, within),
        Some(Command::Inputs) => rehearse::say(&inputs()),
        None => page(&arguments.page),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error:#}");
            if error.downcast_ref::<Problem>().is_some() { ExitCode::from(2) } else { ExitCode::FAILURE }
        }
    }
}

fn page(page: &Page) -> anyhow::Result<()> {
    let www = if page.no_build { build::www() } else { build::build_page(false)? };
    if page.build_only {
        return Ok(());
    }
    serve::serve(&www, page.port, !page.no_open)
}

/// The table of inputs as text.
fn inputs() -> String {
    INPUTS
        .iter()
        .map(|input| {
            let takes = match input.kind {
                Kind::Number(range) => {
                    let limits = format!("{} to {} {}", range.least, range.most, range.unit.in_file());
                    format!("{}, default {}", limits.trim_end(), plain_number(range.default))
                }
                Kind::Choice(options, default) => {
                    let options: Vec<&str> = options.iter().map(|(value, _)| *value).collect();
                    format!("{}, default {}", options.join(", "), options[default])
                }
                Kind::Flag(default) => format!("true or false, default {default}"),
                Kind::Text(default) => format!("text, default \"{default}\""),
                Kind::Form(takes) => takes.to_string(),
            };
            format!("{:<30} {}\n{:<30} {}: {}\n", input.path, takes, "", input.name, input.hint)
        })
        .collect()
}
