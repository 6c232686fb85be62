//! The booth sheet: one page to print and take along, with the panel and its numbered lines to scale, what is set, how long
//! a pass takes, the sticker to aim at, what to mix, what to watch. A document of its own, without scripts, that reads the
//! same in grey. Says what a rehearsal shows; decides nothing that the product's data sheet decides.

mod drawing;
mod likely;

pub use likely::{Edge, LikelyError, Usual, edges, likely_errors};

use crate::advice::{Amount, Forgives, amounts, forgives};
use crate::appraisal::{Appraisal, film_window};
use crate::cards::Looks;
use crate::colour::ScreenSpace;
use crate::eye::Target;
use crate::job::Job;
use crate::job::inputs::{System, Unit};
use crate::rehearsal::{Rehearsal, rehearse_film};
use crate::strokes::{Along, Coat, Reach, Sequence, Side, lines};
use crate::words::{between, clock, digits_of, shown, shown_fine, volume};
use serde::{Deserialize, Serialize};

/// A hand's width, mm: 80 to 100 between people (common practice, no source).
const HAND_MM: f64 = 90.0;
/// Square feet for a US gallon in a square metre for a litre.
const FT2_PER_GAL: f64 = 3.785_411_784 / 0.092_903_04;
/// A plan with this share of the panel right is worth telling of its errors: a judgement.
const MOSTLY: f64 = 0.5;
/// With so many coats the page has room for a larger drawing.
const ROOMY: usize = 3;
/// Beats of a pass, for a metronome or a count.
const BEATS: f64 = 4.0;

/// How the sheet is laid out, on screen and on paper; A4 and Letter both hold it.
pub const STYLE: &str = include_str!("../www/sheet.css");

/// What takes many rehearsals to know.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Foreseen {
    /// How much error the colour forgives.
    pub forgives: Forgives,
    /// Likely errors, the one that takes the most first.
    pub errors: Vec<LikelyError>,
}

impl Foreseen {
    /// Of a job, and the colour difference that counts as right, CIEDE2000.
    pub fn of(job: &Job, within: f64) -> Self {
        Self { forgives: forgives(job, within), errors: likely_errors(job, within) }
    }
}

/// The sheet as a document of its own: of a job, and the colour difference that counts as right, CIEDE2000.
pub fn document(job: &Job, system: System, within: f64, foreseen: Option<&Foreseen>) -> String {
    let title = safe(&job.title);
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><title>{title}</title>\
         <style>body {{ margin: 0; background: #fff; }}\n{STYLE}</style></head><body>\n{}\n</body></html>\n",
        body(job, system, within, foreseen)
    )
}

/// The sheet itself; without what is foreseen it says that this is still being worked out.
pub fn body(job: &Job, system: System, within: f64, foreseen: Option<&Foreseen>) -> String {
    if job.coats.is_empty() {
        return "<article class=\"sheet\"><p>This job has no coats yet: there is nothing to take along.</p></article>"
            .to_string();
    }
    let appraisal = Appraisal::of(rehearse_film(&faultless(job)));
    let rehearsal = appraisal.rehearsal();
    let parts = [
        head(job),
        format!(
            "<div class=\"wide\"><div>{}</div><div>{}{}</div></div>",
            drawing::panel(job, system),
            settings(job, system),
            aim(job, &appraisal, system, within)
        ),
        coats(job, rehearsal, system),
        format!(
            "<div class=\"three\"><div>{}</div><div>{}</div><div>{}</div></div>",
            mixed(job, system),
            schedule(job, rehearsal),
            watched(job, &appraisal, system)
        ),
        errors(job, system, foreseen),
        by_hand(),
        cautions(),
    ];
    // what few coats leave free of the page goes to the drawing
    let roomy = if job.coats.len() <= ROOMY { " roomy" } else { "" };
    format!("<article class=\"sheet{roomy}\">{}</article>", parts.join("\n"))
}

/// The plan, sprayed as it is meant.
fn faultless(job: &Job) -> Job {
    let mut plan = job.clone();
    plan.hand = job.faultless_hand();
    plan.coats.iter_mut().for_each(|coat| coat.track = None);
    plan
}

/// The coat whose lines are drawn: the first tinted one.
fn drawn(job: &Job) -> usize {
    job.tinted_coat().unwrap_or(0)
}

/// The coat of the same paint whose lines lie beside the drawn ones, if there is one.
fn beside(job: &Job) -> Option<usize> {
    let drawn = &job.coats[drawn(job)];
    let lies_beside = |other: &Coat| other.beside(drawn, &job.panel, &job.gun).is_some_and(|share| share > 0.0);
    job.coats.iter().position(|other| other.paint == drawn.paint && lies_beside(other))
}

/// The two sides across the drawn coat's passes: where it begins to be reached from, and across from there.
fn sides(job: &Job) -> (&'static str, &'static str) {
    let [near, far, left, right] = job.panel.edge_names();
    if job.coats[drawn(job)].along == Along::Length { (near, far) } else { (left, right) }
}

/// A text that is no markup.
fn safe(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

fn row(cells: &[String]) -> String {
    format!("<tr>{}</tr>", cells.iter().map(|cell| format!("<td>{cell}</td>")).collect::<String>())
}

fn table(headings: &[&str], rows: &[String]) -> String {
    let head: String = headings.iter().map(|heading| format!("<th scope=\"col\">{heading}</th>")).collect();
    let head = if headings.is_empty() { String::new() } else { format!("<thead><tr>{head}</tr></thead>") };
    format!("<table>{head}<tbody>{}</tbody></table>", rows.concat())
}

fn head(job: &Job) -> String {
    format!("<header><h1>{}</h1><span>Booth sheet</span></header>", safe(&job.title))
}

fn settings(job: &Job, system: System) -> String {
    let mm = |value: f64| shown(Unit::Millimetre, value, system);
    let (gun, coat) = (&job.gun, &job.coats[drawn(job)]);
    let same = |of: &dyn Fn(&Coat) -> f64| job.coats.iter().all(|other| (of(other) - of(coat)).abs() < 1e-9);
    let all = |of: &dyn Fn(&Coat) -> f64, text: String| if same(of) { text } else { "see the coats".to_string() };
    let (first, last) = sides(job);
    let side = match (coat.reach, coat.sequence) {
        (Reach::BothSides, Sequence::EdgesInwards) => format!("{first} half, then {last} half, edge inwards"),
        (Reach::BothSides, Sequence::StraightAcross) => format!("{first} half, then on from the middle"),
        (Reach::OneSide, Sequence::EdgesInwards) => format!("{last} edge to {first} edge"),
        (Reach::OneSide, Sequence::StraightAcross) => format!("{first} edge to {last} edge"),
    };
    let first_reach =
        |coat: &Coat| lines(&job.panel, gun, coat).iter().filter(|line| !line.rim && line.side == Side::Near).count();
    let both = job.coats.iter().enumerate().filter(|(_, coat)| coat.reach == Reach::BothSides);
    let changes: Vec<(usize, usize)> = both.map(|(i, coat)| (i + 1, first_reach(coat))).collect();
    let alike = changes.len() == job.coats.len() && changes.iter().all(|(_, line)| *line == changes[0].1);
    let each = |(coat, line): &(usize, usize)| {
        if alike { format!("line {line}") } else { format!("line {line} in coat {coat}") }
    };
    let told: Vec<String> = changes.iter().take(if alike { 1 } else { changes.len() }).map(each).collect();
    let walk = match told.join(", ") {
        none if none.is_empty() => none,
        lines if job.panel.stands() => format!("after {lines}"),
        lines => {
            format!("walk round after {lines} ({})", shown(Unit::Second, job.hand.walk_round.0, system))
        }
    };
    let rows = [
        ("Gun distance", all(&|coat| coat.distance.0, mm(coat.distance.0))),
        ("Fan width there", all(&|coat| coat.distance.0, mm(gun.width_at(coat.distance).0))),
        ("Fluid delivery", shown(Unit::MillilitrePerMinute, gun.fluid.0, system)),
        ("Overlap", all(&|coat| coat.overlap.0, shown(Unit::Percent, coat.overlap.0, system))),
        ("Trigger", all(&|coat| coat.lead.0, format!("{} outside", mm(coat.lead.0)))),
        ("Order", side),
        ("Change of sides", walk),
    ];
    let rows: Vec<String> = rows
        .iter()
        .filter(|(_, value)| !value.is_empty())
        .map(|(name, value)| row(&[name.to_string(), format!("<b>{value}</b>")]))
        .collect();
    format!("<h2>Set</h2>{}", table(&[], &rows))
}

/// The sticker and the window.
fn aim(job: &Job, appraisal: &Appraisal, system: System, within: f64) -> String {
    let Some(tinted) = job.tinted() else { return String::new() };
    let um = |value: f64| shown(Unit::Micrometre, value, system);
    let (window, film) = film_window(job, within);
    let sticker = Looks::of(job, ScreenSpace::Srgb).sticker(film);
    let (name, field) = job.cards.sticker.gauge();
    let lab = sticker[field].lab;
    let number = |value: f64| digits_of(value, 1);
    let mut rows = vec![
        row(&["Film".to_string(), format!("<b>{}</b>", um(film.0))]),
        row(&["This plan lays".to_string(), format!("<b>{}</b>", um(appraisal.spreads(tinted).interior.mean_um))]),
        row(&[format!("Sticker, {name} field"), "<b>as on the card</b>".to_string()]),
    ];
    if let Some([low, high]) = window {
        let difference = digits_of(within, 1);
        rows.insert(
            1,
            row(&[
                format!("Within {difference} \u{394}E at {}", shown(Unit::Degree, job.viewing.aspecular.0, system)),
                format!("<b>{}</b>", between(Unit::Micrometre, low.0, high.0, system)),
            ]),
        );
    }
    let from = match (job.cards.chosen, &job.target) {
        (Some(coats), Target::Film(_)) => format!(" The card with {} coats.", digits_of(coats, 1)),
        (_, Target::Colour(_)) => " The film nearest to the car\u{2019}s colour.".to_string(),
        _ => String::new(),
    };
    format!(
        "<h2>Aim at</h2>{}<p class=\"small\">Spray until the car\u{2019}s sticker looks like the card\u{2019}s.{from} An \
         instrument reads L* {}, a* {}, b* {} on that field.</p>",
        table(&[], &rows),
        number(lab.l),
        number(lab.a),
        number(lab.b)
    )
}

fn hands(spacing: f64) -> String {
    let count = digits_of(spacing / HAND_MM, 1);
    if count == "1" { "a hand".to_string() } else { format!("{count} hands") }
}

fn coats(job: &Job, rehearsal: &Rehearsal, system: System) -> String {
    let mm = |value: f64| shown(Unit::Millimetre, value, system);
    let headings =
        ["Coat", "Lines", "From line to line", "Distance", "Speed", "Edge to edge", "Beats/min", "Film", "Flash-off"];
    let rows: Vec<String> = (job.coats.iter().enumerate())
        .map(|(i, coat)| {
            let count = lines(&job.panel, &job.gun, coat).iter().filter(|line| !line.rim).count();
            let span = if coat.along == Along::Length { job.panel.length.0 } else { job.panel.width.0 };
            let speed = coat.actual_speed().0;
            let seconds = span / speed;
            let film = rehearsal.film_of_coat(i);
            let mean = film.iter().sum::<f64>() / film.len().max(1) as f64;
            let spacing = coat.spacing(&job.gun).0;
            let full =
                if coat.amount.0 == 1.0 { String::new() } else { format!(", {} coat", digits_of(coat.amount.0, 2)) };
            let cells = [
                format!("<b>{}</b> {}{full}", i + 1, safe(&coat.paint)),
                format!("{count}{}", if coat.edge_pass { " + rim" } else { "" }),
                format!("{} ({})", shown_fine(spacing, system), hands(spacing)),
                mm(coat.distance.0),
                shown(Unit::MillimetrePerSecond, speed, system),
                format!("<b>{} s</b>", digits_of(seconds, 1)),
                digits_of(60.0 * BEATS / seconds, 0),
                shown(Unit::Micrometre, mean, system),
                format!("{} min", digits_of(coat.flash.0, 1)),
            ];
            // a narrow screen shows a coat as a list, each value with its name
            let named = cells.iter().zip(headings).map(|(cell, name)| format!("<td data-name=\"{name}\">{cell}</td>"));
            format!("<tr>{}</tr>", named.collect::<String>())
        })
        .collect();
    let drawn = &job.coats[drawn(job)];
    let beside = beside(job).map_or(String::new(), |other| {
        let share = job.coats[other].beside(drawn, &job.panel, &job.gun).unwrap_or(0.0);
        let by = (if share > 0.5 { share - 1.0 } else { share }) * drawn.spacing(&job.gun).0;
        let (first, last) = sides(job);
        let towards = if by > 0.0 { last } else { first };
        format!(
            " Dashed: the lines of coat {}, {} towards the {towards} edge.",
            other + 1,
            shown_fine(by.abs(), system)
        )
    });
    format!(
        "<h2>Coats</h2><div class=\"coats\">{}</div><p class=\"small\">Beats/min: a metronome so set beats four times from edge to edge. A hand is {} wide.{beside}</p>",
        table(&headings, &rows),
        mm(HAND_MM)
    )
}

fn mixed(job: &Job, system: System) -> String {
    let ml = |value: f64| volume(value, system);
    let one = |amount: &Amount| {
        let paint = job.paints.iter().find(|paint| paint.name == amount.paint);
        let parts =
            paint.map(|paint| [paint.parts_paint, paint.parts_hardener, paint.parts_thinner]).unwrap_or_default();
        let mut text = format!("<p><b>{}: mix {}</b>", safe(&amount.paint), ml(amount.mixed_ml));
        let coats: Vec<String> = amount.coats_ml.iter().map(|coat| ml(*coat)).collect();
        text += &format!(", for {} sprayed and {:.0} % in reserve.", coats.join(" + "), 100.0 * amount.reserve);
        if parts[1] + parts[2] > 0.0 {
            let ratio: Vec<String> = parts.iter().map(|part| digits_of(*part, 2)).collect();
            let names = ["paint", "hardener", "thinner"].into_iter().zip(amount.parts_ml);
            let poured: Vec<String> =
                names.filter(|(_, part)| *part > 0.0).map(|(name, part)| format!("{name} {}", ml(part))).collect();
            text += &format!(" {}: {}.", ratio.join(" : "), poured.join(", "));
        } else {
            text += " No mixing ratio is given: take the data sheet\u{2019}s.";
        }
        if let Some(rate) = amount.spreading_m2_per_l {
            text += &match system {
                System::Metric => format!(" In theory a litre covers {} m\u{b2} at this film.", digits_of(rate, 1)),
                System::Us => {
                    format!(" In theory a gallon covers {} ft\u{b2} at this film.", digits_of(rate * FT2_PER_GAL, 0))
                }
            };
        }
        text + "</p>"
    };
    format!("<h2>Mix</h2>{}", amounts(job).iter().map(one).collect::<String>())
}

/// When what begins: coats, flash-off, changes of the gun.
fn schedule(job: &Job, rehearsal: &Rehearsal) -> String {
    let mut rows = Vec::new();
    for (i, (times, coat)) in rehearsal.coats().iter().zip(&job.coats).enumerate() {
        if i > 0 && job.coats[i - 1].paint != coat.paint {
            rows.push(row(&[clock(times.start.0), format!("gun with {}", safe(&coat.paint))]));
        }
        // whole seconds, as the clock shows them
        let sprayed = times.end.0.floor() - times.start.0.floor();
        let flash = digits_of(coat.flash.0, 1);
        rows.push(row(&[clock(times.start.0), format!("coat {}: {sprayed} s, then {flash} min", i + 1)]));
    }
    rows.push(row(&[clock(rehearsal.total().0), "done".to_string()]));
    format!("<h2>Time, then flash-off</h2>{}", table(&[], &rows))
}

fn watched(job: &Job, appraisal: &Appraisal, system: System) -> String {
    let item = |(names, text): (String, String)| format!("<li><b>{names}</b>: {text}</li>");
    let items: String = likely::told(&edges(job, appraisal), job, system).into_iter().map(item).collect();
    format!("<h2>At the edges</h2><ul>{items}</ul>")
}

fn errors(job: &Job, system: System, foreseen: Option<&Foreseen>) -> String {
    if job.tinted().is_none() {
        return String::new();
    }
    let Some(foreseen) = foreseen else {
        return "<h2>What is forgiven, and the likeliest errors</h2><p>Being worked out \u{2026}</p>".to_string();
    };
    let forgiven =
        format!("<h2>What this colour forgives with this plan</h2><p>{}</p>", foreseen.forgives.text(system));
    // what an error does to a plan that is mostly off colour itself is told when it is put right
    if foreseen.forgives.plan_in_window < MOSTLY {
        return forgiven;
    }
    let items: String =
        foreseen.errors.iter().take(3).map(|error| format!("<li>{}</li>", error.text(job, system))).collect();
    let sizes = "<p class=\"small\">As large as a bad pass of this hand makes them (twice its standard deviation), or as is usual.</p>";
    format!("<h2>The likeliest errors here, and how they look</h2><ul>{items}</ul>{sizes}{forgiven}")
}

/// What the plan does not know, to be written on the paper.
fn by_hand() -> String {
    let blanks = ["Nozzle", "Air pressure", "Booth", "Batch", "Date"];
    let blanks: String = blanks.iter().map(|name| format!("<span>{name}</span>")).collect();
    format!("<p class=\"blanks\">{blanks}</p>")
}

fn cautions() -> String {
    "<p class=\"caution\"><b>Two-pack paints contain isocyanates.</b> Air-fed breathing protection, extraction, skin and eye \
     protection. Solvents burn, air under pressure injures. The product\u{2019}s data sheet, local rules and licensed practice \
     decide; nothing here was checked on a painted panel.</p>"
        .to_string()
}
