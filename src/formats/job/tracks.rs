//! The recorded tracks of a job's coats: checking them, and reading those that a tracker wrote as CSV. Does not spray them.

use super::read::{object, short};
use fanlap_film::error::Problem;
use fanlap_film::panel::Panel;
use fanlap_film::strokes::{MovedBy, Sample, TRACK_LIMITS, Track};
use fanlap_film::units::{Degrees, Millimetres, Seconds};
use glam::{DVec2, DVec3};
use serde_json::{Map, Value};

/// Looks at the gun in one job: five minutes of a hundred each second.
const MOST_SAMPLES: usize = 30_000;

/// Checks every track; a track that is null is none.
pub(super) fn check(whole: &mut Map<String, Value>) -> Result<(), Problem> {
    let coats = whole.get_mut("coats").and_then(Value::as_array_mut).into_iter().flatten();
    let mut samples = 0;
    for (i, coat) in coats.enumerate() {
        let at = format!("coats[{i}].track");
        let Some(coat) = coat.as_object_mut() else { continue };
        match coat.get_mut("track") {
            None => {}
            Some(Value::Null) => drop(coat.remove("track")),
            Some(track) => samples += track_at(&at, track)?,
        }
        if samples > MOST_SAMPLES {
            let allowed = format!("up to {MOST_SAMPLES} samples in all, for the time they take");
            return Err(Problem::new(
                at,
                format!("{samples} samples"),
                allowed,
                "Record fewer a second, or fewer coats.",
            ));
        }
    }
    Ok(())
}

fn track_at(at: &str, track: &Value) -> Result<usize, Problem> {
    let form = "{ \"samples\": [[t, x, y, distance, heel, lean, trigger], ...] }";
    let mut held = track.clone();
    let map = object(&mut held, at)?;
    let mover = map.remove("moved_by").unwrap_or(Value::Null);
    if serde_json::from_value::<Option<MovedBy>>(mover.clone()).is_err() {
        let remedy = "Save the recording again, or leave moved_by out.";
        return Err(Problem::new(format!("{at}.moved_by"), short(&mover), "keys, pointer, pen or touch", remedy));
    }
    let samples = map.get("samples").and_then(Value::as_array);
    let (Some(samples), 1) = (samples, map.len()) else {
        return Err(Problem::new(at, short(track), form, "Save the recording again."));
    };
    let mut before = 0.0;
    for (i, sample) in samples.iter().enumerate() {
        let at = format!("{at}.samples[{i}]");
        let numbers = sample.as_array().map(|list| list.iter().map(Value::as_f64).collect::<Vec<_>>());
        let Some(numbers) = numbers.filter(|list| list.len() == TRACK_LIMITS.len()) else {
            let allowed = "seven numbers: t, x, y, distance, heel, lean, trigger";
            return Err(Problem::new(at, short(sample), allowed, "Remove this sample or complete it."));
        };
        for ((name, least, most, unit), number) in TRACK_LIMITS.into_iter().zip(&numbers) {
            if !number.is_some_and(|number| (least..=most).contains(&number)) {
                let allowed = format!("{name} from {least} to {most} {unit}");
                return Err(Problem::new(at, short(sample), allowed.trim_end(), "Remove this sample or mend it."));
            }
        }
        let (time, open) = (numbers[0].unwrap_or_default(), numbers[6].unwrap_or_default());
        if time < before {
            let allowed = format!("t not before that of the sample before, {before} s");
            return Err(Problem::new(at, format!("{time} s"), allowed, "Put the samples into the order of time."));
        }
        if open.fract() != 0.0 {
            let remedy = "Write 1 where the trigger is open, otherwise 0.";
            return Err(Problem::new(at, open.to_string(), "a trigger of 0 or 1", remedy));
        }
        before = time;
    }
    Ok(samples.len())
}

/// Columns of a track in CSV; of distance and z one is needed, the angles may be left out.
const COLUMNS: [&str; 8] = ["t_s", "x_mm", "y_mm", "distance_mm", "z_mm", "heel_deg", "lean_deg", "trigger"];

/// Reads a track from CSV: a header with the columns t_s, x_mm, y_mm, distance_mm or z_mm, trigger, and if they are known
/// heel_deg and lean_deg, in any order; cells parted by commas, semicolons or tabs. With `z_mm` the nozzle's place in space
/// is given, over the plane of the panel's corners; with `distance_mm` the place on the plan under it. The job that
/// takes the track checks its numbers.
///
/// ```
/// use fanlap_formats::job::{Job, read_track};
/// let text = "t_s,x_mm,y_mm,z_mm,trigger\n0,-50,100,180,1\n1,450,100,180,0\n";
/// let track = read_track("mine.csv", text, &Job::default().panel).unwrap();
/// assert_eq!((track.samples.len(), track.samples[1].place.x, track.samples[1].open), (2, 450.0, false));
/// ```
pub fn read_track(file: &str, text: &str, panel: &Panel) -> Result<Track, Problem> {
    let mut lines = text.trim_start_matches('\u{feff}').lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    let (_, header) = lines.next().unwrap_or((0, ""));
    let separator = [';', '\t'].into_iter().find(|separator| header.contains(*separator)).unwrap_or(',');
    let names: Vec<String> = header.split(separator).map(|name| name.trim().to_ascii_lowercase()).collect();
    let at = format!("{file}, line 1");
    if let Some(unknown) = names.iter().find(|name| !name.is_empty() && !COLUMNS.contains(&name.as_str())) {
        let remedy = "Rename or remove this column.";
        return Err(Problem::new(at, unknown.as_str(), format!("the columns {}", COLUMNS.join(", ")), remedy));
    }
    let column = |name: &str| names.iter().position(|column| column == name);
    let needed = |name: &'static str| {
        column(name).ok_or_else(|| {
            let remedy = "Add this column; the first line names the columns.";
            Problem::new(format!("{file}, line 1"), format!("no column {name}"), name, remedy)
        })
    };
    let (t, x, y, trigger) = (needed("t_s")?, needed("x_mm")?, needed("y_mm")?, needed("trigger")?);
    let distance = column("distance_mm");
    let height = if distance.is_none() { Some(needed("z_mm")?) } else { None };
    let mut samples = Vec::new();
    for (line, text) in lines {
        let cells: Vec<Option<f64>> = text.split(separator).map(number).collect();
        let cell = |at: usize| {
            cells.get(at).copied().flatten().ok_or_else(|| {
                let given = text.split(separator).nth(at).unwrap_or("nothing").trim().to_string();
                let at = format!("{file}, line {}, {}", line + 1, names[at]);
                Problem::new(at, given, "a number", "Correct this cell or remove the line.")
            })
        };
        let plan = DVec2::new(cell(x)?, cell(y)?);
        let (place, distance) = match (distance, height) {
            (Some(distance), _) => (plan, Millimetres(cell(distance)?)),
            (None, height) => Sample::under(panel, DVec3::new(plan.x, plan.y, cell(height.unwrap_or(y))?)),
        };
        let angle = |name| column(name).map_or(Ok(Degrees(0.0)), |at| cell(at).map(Degrees));
        let open = cell(trigger)? >= 0.5;
        let (heel, lean) = (angle("heel_deg")?, angle("lean_deg")?);
        samples.push(Sample { time: Seconds(cell(t)?), place, distance, heel, lean, open });
    }
    Ok(Track { samples, moved_by: None })
}

/// A number with a decimal point or comma.
fn number(cell: &str) -> Option<f64> {
    cell.trim().replace(',', ".").parse().ok().filter(|number: &f64| number.is_finite())
}
