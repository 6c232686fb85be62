//! Passes that spray nothing but the masking: lines so far outside the panel that hardly any of their paint can land on it.
//! Reckoned from the plan and the fan alone. Nothing is seen of them; they cost paint and time.

use super::{Defect, DefectKind, Part};
use crate::gun::{Gun, Pass};
use crate::job::Job;
use crate::strokes::{Line, OUTSIDE, lines};
use crate::units::{Micrometres, Millimetres};
use glam::DVec2;

/// A pass of which less than this share can land on the panel sprays only the masking: our judgement.
const LANDS: f64 = 0.005;
/// Steps of the sum across the fan.
const STEPS: usize = 200;

/// What a coat sprays on the masking alone, and the margin that spares it.
#[derive(Debug, Clone, PartialEq)]
pub struct Masked {
    /// Which coat.
    pub coat: usize,
    /// Passes of it that spray only the masking.
    pub passes: usize,
    /// What they spray, mL.
    pub ml: f64,
    /// Of what the whole coat sprays, mL.
    pub of_ml: f64,
    /// How far outside the outermost of them lies, mm.
    pub outside_mm: f64,
    /// The margin without them; all other lines stay where they are.
    pub margin_mm: f64,
}

/// Coat by coat what is sprayed on the masking alone, the most first.
pub fn masked(job: &Job) -> Vec<Masked> {
    let mut all: Vec<Masked> = (0..job.coats.len()).filter_map(|coat| of_coat(job, coat)).collect();
    all.sort_by(|a, b| b.ml.total_cmp(&a.ml));
    all
}

pub(super) fn defect(job: &Job) -> Option<Defect> {
    let all = masked(job);
    let most = all.first()?;
    let (ml, of_ml) = all.iter().fold((0.0, 0.0), |(ml, of), coat| (ml + coat.ml, of + coat.of_ml));
    let area = job.panel.area();
    Some(Defect {
        kind: DefectKind::MaskingSprayed,
        part: Part::Coat(most.coat),
        // just told, and the more the larger its share of the paint
        severity: 1.0 + ml / of_ml,
        paint: job.paint_of(&job.coats[most.coat]),
        area,
        worst: DVec2::new(area.most.x / 2.0, 0.0),
        film: Micrometres(0.0),
        delta_e00: 0.0,
        seen_from: None,
    })
}

fn of_coat(job: &Job, index: usize) -> Option<Masked> {
    let coat = &job.coats[index];
    // a hand that holds the gun farther away has the wider fan
    let fan = job.gun.width_at(Millimetres(coat.distance.0 + job.hand.distance_error.0.max(0.0))).0;
    // with a usual margin what falls outside is where the lines happen to end
    if coat.track.is_some() || coat.margin.0 <= OUTSIDE * fan {
        return None;
    }
    let (spacing, outside) = (coat.spacing(&job.gun).0, coat.outermost(&job.panel, &job.gun).map(|place| place.0));
    let middle = (outside[0] + outside[1]) / 2.0;
    // a line at each edge goes, or the others would move
    let goes = |pairs: &usize| {
        let nearer = spacing * *pairs as f64;
        let masked = outside.iter().all(|place| lands(&job.gun, 2.0 * (place - nearer) / fan) < LANDS);
        masked && middle - nearer - spacing > -1e-6
    };
    let pairs = (0..).take_while(goes).count();
    let of = |length: f64| job.gun.fluid.0 / 60.0 * length / coat.actual_speed().0;
    let lines = lines(&job.panel, &job.gun, coat);
    let through = lines.iter().find(|line| !line.rim)?;
    (pairs > 0).then(|| Masked {
        coat: index,
        passes: 2 * pairs,
        ml: of(through.length() * 2.0 * pairs as f64),
        of_ml: of(lines.iter().map(Line::length).sum()),
        outside_mm: outside[0].max(outside[1]),
        margin_mm: (middle - spacing * pairs as f64 + 1e-6).floor().max(0.0),
    })
}

/// Share of a pass's paint that the fan lays beyond a place u of it, by whichever end lays more there.
fn lands(gun: &Gun, beyond: f64) -> f64 {
    if beyond >= 1.0 {
        return 0.0;
    }
    let (pass, step) = (Pass::of(gun), (1.0 - beyond) / STEPS as f64);
    let end = |side: f64| (0..STEPS).map(|i| pass.share(side * (beyond + step * (i as f64 + 0.5)))).sum::<f64>() * step;
    end(1.0).max(end(-1.0))
}
