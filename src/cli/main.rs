//! What the command line offers, and its exit statuses: 0 done, 2 bad input, 1 anything else. Translates between files
//! and the core; knows no physics.

mod advise;
mod batch;
mod build;
mod cards;
mod files;
mod grade;
mod gun;
mod inputs;
mod publish;
mod rehearse;
mod serve;
mod sheet;
mod split;
mod tint;
mod track;

use clap::{Parser, Subcommand};
use fanlap::error::{Problem, visible};
use files::Files;
use std::path::PathBuf;
use std::process::ExitCode;

/// See the film before pulling the trigger. Without a command: builds the page, serves it on this computer and opens
/// it in the browser.
#[derive(Parser)]
#[command(name = "fanlap", version, args_conflicts_with_subcommands = true)]
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
    /// Serve the page of this folder, such as a published one, without building it
    #[arg(long, value_name = "DIR", conflicts_with = "build_only")]
    www: Option<PathBuf>,
    /// Build the page and stop
    #[arg(long, conflicts_with = "no_build")]
    build_only: bool,
    /// Port; 0 takes any free one
    #[arg(long)]
    port: Option<u16>,
    /// Serve the page to everyone in this network: says the addresses, and what that opens
    #[arg(long, conflicts_with = "build_only")]
    lan: bool,
}

#[derive(clap::Args)]
struct Over {
    /// Write over the file that was read, over earlier grades, or in the place of a link
    #[arg(long, requires = "out")]
    replace: bool,
}

#[derive(Subcommand)]
enum Command {
    /// Rehearse a job file; without --out print the report and write nothing
    Rehearse {
        /// The job file (JSON); - reads a job a line from standard input and prints a report a line
        job: PathBuf,
        /// Folder for film-<paint>.csv, report.json, film.png and paint.png
        #[arg(long)]
        out: Option<PathBuf>,
        #[command(flatten)]
        over: Over,
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
        #[command(flatten)]
        over: Over,
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
        #[command(flatten)]
        over: Over,
    },
    /// Fit the gun to the job's test card, and say where the runs of a flood test hang; without --out print gun.json
    Gun {
        /// The job file (JSON); its `test_card` is fitted, and its gun is held still for the flood test
        job: PathBuf,
        /// Folder for gun.json, and for job.json with the fitted gun
        #[arg(long)]
        out: Option<PathBuf>,
        #[command(flatten)]
        over: Over,
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
        #[command(flatten)]
        over: Over,
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
        #[command(flatten)]
        over: Over,
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
        over: Over,
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
        #[command(flatten)]
        over: Over,
        /// US units
        #[arg(long)]
        us: bool,
        /// Colour difference to the target that counts as right, CIEDE2000
        #[arg(long, default_value_t = 1.0)]
        within: f64,
    },
    /// Write the page as a folder for any web server, or as one file that needs none
    #[command(arg_required_else_help = true)]
    Publish {
        /// Folder: empty, not there, or one that holds an earlier publication
        #[arg(required_unless_present = "one_file")]
        folder: Option<PathBuf>,
        /// One file instead, which opens by double click, without a server and without the net
        #[arg(long, value_name = "FILE.html", conflicts_with = "folder")]
        one_file: Option<PathBuf>,
        /// Take the code as it is built for this computer: larger, and sooner done
        #[arg(long)]
        quick: bool,
    },
    /// List every key of a job file with its unit, limits and default
    Inputs {
        /// As tables in Markdown
        #[arg(long)]
        markdown: bool,
    },
}

/// Runs the command line.
fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let done = match arguments.command {
        Some(command) => run(command),
        None => page(&arguments.page),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{}", visible(&format!("{error:#}")));
            if error.downcast_ref::<Problem>().is_some() { ExitCode::from(2) } else { ExitCode::FAILURE }
        }
    }
}

fn run(command: Command) -> anyhow::Result<()> {
    match command {
        Command::Rehearse { job, out, .. } if job.as_os_str() == "-" => batch::rehearse_lines(out.as_deref()),
        Command::Rehearse { job, out, over } => rehearse::rehearse(&over.files(), &job, out.as_deref()),
        Command::Check { job } => rehearse::check(&Files::new(false), &job),
        Command::Cards { job, out, over, choose } => cards::cards(&over.files(), &job, out.as_deref(), choose),
        Command::Tint { job, out, over } => tint::tint(&over.files(), &job, out.as_deref()),
        Command::Gun { job, out, over } => gun::gun(&over.files(), &job, out.as_deref()),
        Command::Track { job, csv, coat, out, over } => {
            track::track(&over.files(), &job, csv.as_deref(), coat, out.as_deref())
        }
        Command::Grade { jobs, lessons, out, over } => {
            grade::grade(&over.files(), &jobs, lessons.as_deref(), out.as_deref())
        }
        Command::Advise { job, out, over, given } => advise::advise(&over.files(), &job, out.as_deref(), &given),
        Command::Sheet { job, out, over, us, within } => sheet::sheet(&over.files(), &job, out.as_deref(), us, within),
        Command::Publish { folder, one_file, quick } => {
            let make = if quick { build::Make::Soon } else { build::Make::Small };
            match (folder, one_file) {
                (_, Some(file)) => publish::one_file(&file, make),
                (folder, None) => publish::folder(&folder.unwrap_or_default(), make),
            }
        }
        Command::Inputs { markdown } => rehearse::say(&if markdown { inputs::markdown() } else { inputs::list() }),
    }
}

impl Over {
    fn files(&self) -> Files {
        Files::new(self.replace)
    }
}

fn page(page: &Page) -> anyhow::Result<()> {
    let www = match &page.www {
        Some(folder) => folder.clone(),
        None if page.no_build || !build::has_source() => build::www(),
        None => build::build_page(false)?,
    };
    if page.build_only {
        return Ok(());
    }
    serve::serve(&www, &serve::Wishes { port: page.port, open_browser: !page.no_open, to_the_room: page.lan })
}
