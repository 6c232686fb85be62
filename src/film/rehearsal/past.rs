//! What a rehearsal sprays past the rim of the panel: it is caught by cells around it, as far as it is followed, and
//! counted by its direction beyond that. Has never heard of colour.

use super::sweep::{Onto, Sweep};
use super::{Laying, Pass, Rehearsal};
use crate::maths::in_turn;
use crate::panel::{Area, Patch, Window};
use crate::plan::Plan;
use crate::spray::{Landed, Spray, escaping, footprint};
use crate::strokes::{MOST_DEVIATIONS, Moment, NEAREST_MM};
use crate::units::{Millilitres, Millimetres};
use glam::DVec2;

/// A pass whose paint is being followed past the rim.
#[derive(Debug, Clone)]
pub(super) struct Following {
    landed: Landed,
    /// At which moments all of it lands on the panel.
    inside: Vec<bool>,
    /// Strips that are done.
    strips: usize,
    strip: Option<(Sweep, Window, Laying)>,
}

/// Cells around the panel that catch what flies past its rim.
#[derive(Debug, Clone)]
pub(super) struct Apron {
    strips: Vec<Patch>,
    /// The panel and the strips.
    area: Area,
}

impl Rehearsal {
    /// Follows what the next pass sprays past the rim; false when the account of all is complete.
    pub fn follow_next(&mut self) -> bool {
        self.follow_some(&mut || true)
    }

    /// Goes on with what the next pass sprays past the rim, while there is more time; false when the account of all passes
    /// is complete.
    pub fn follow_some(&mut self, more: &mut dyn FnMut() -> bool) -> bool {
        let Some(pass) = self.passes.get(self.past.len()) else { return false };
        let apron = self.apron.take().unwrap_or_else(|| Apron::around(&self.plan, self.reach, self.patch.area()));
        let off = match pass.twin {
            Some(twin) => self.past[twin],
            None => {
                let mut following = self.following.take().unwrap_or_else(|| self.begin_to_follow(pass, &apron));
                if !self.spray_past_rim(pass, &apron, &mut following, more) {
                    (self.apron, self.following) = (Some(apron), Some(following));
                    return true;
                }
                following.landed
            }
        };
        self.apron = Some(apron);
        self.keep_past(self.past.len(), off);
        self.past.len() < self.passes.len()
    }

    /// Follows all passes past the rim, each as if it were alone.
    pub(super) fn follow_all(&mut self) {
        let apron = self.apron.take().unwrap_or_else(|| Apron::around(&self.plan, self.reach, self.patch.area()));
        let past = in_turn(self.passes.len(), |index| {
            let pass = &self.passes[index];
            pass.twin.is_none().then(|| {
                let mut following = self.begin_to_follow(pass, &apron);
                self.spray_past_rim(pass, &apron, &mut following, &mut || true);
                following.landed
            })
        });
        self.apron = Some(apron);
        for (index, off) in past.into_iter().enumerate() {
            let off = off.unwrap_or_else(|| self.past[self.passes[index].twin.unwrap_or(index)]);
            self.keep_past(index, off);
        }
    }

    fn begin_to_follow(&self, pass: &Pass, apron: &Apron) -> Following {
        let flown = self.flown_away(pass, apron.area);
        let inside = pass.sweep.inside(&self.spray, &self.plan.panel, &pass.stroke);
        Following { landed: Landed { on: flown, ..Landed::default() }, inside, strips: 0, strip: None }
    }

    /// Puts what a pass sprayed past the rim into the account.
    fn keep_past(&mut self, index: usize, off: Landed) {
        let paint = self.plan.paint_of(&self.plan.coats[self.passes[index].coat]);
        let account = &mut self.accounts[paint];
        account.off_panel.0 += off.on.0;
        account.lost_in_air.0 += off.lost.0;
        self.past.push(off);
    }

    /// Onto which strip past the rim a pass is laid.
    fn onto_strip<'a>(&self, pass: &Pass, patch: &'a Patch, block: Window) -> Onto<'a> {
        let recorded = self.plan.coats[pass.coat].track.is_some();
        let apart = if self.plan.panel.has_rim() { self.apart(pass) } else { 0.0 };
        Onto { patch, block, until: pass.stroke.duration(), apart, recorded, rolls: self.rolls(pass) }
    }

    /// Lays what a pass sprays past the rim while there is more time; true when that is done.
    fn spray_past_rim(
        &self,
        pass: &Pass,
        apron: &Apron,
        following: &mut Following,
        more: &mut dyn FnMut() -> bool,
    ) -> bool {
        let Following { inside, .. } = following;
        for patch in &apron.strips[following.strips..] {
            let (sweep, window, mut strip) = following.strip.take().unwrap_or_else(|| {
                let sweep = pass.sweep.past(&self.spray, &self.plan.panel, (&pass.stroke, inside), patch.area());
                let block = sweep.window(patch);
                let rows = sweep.rows(&pass.stroke, &self.onto_strip(pass, patch, block));
                (sweep, block, Laying { film: vec![0.0; block.len()], rows })
            });
            let onto = self.onto_strip(pass, patch, window);
            while sweep.lay_row(&self.spray, &pass.stroke, &onto, &mut strip.film, &mut strip.rows) {
                if !more() {
                    following.strip = Some((sweep, window, strip));
                    return false;
                }
            }
            following.landed += sweep.between(&onto, &mut strip.film, strip.rows);
            following.strips += 1;
        }
        true
    }

    /// What a pass sprays past all that is followed.
    fn flown_away(&self, pass: &Pass, followed: Area) -> Millilitres {
        let (panel, moments) = (&self.plan.panel, &pass.stroke.moments);
        let escapes = |moment: &Moment| escaping(&self.spray, panel, &moment.pose, followed).0;
        let shares: Vec<(f64, f64)> = if panel.is_steep() {
            // paint may fly past though all that is reached lies inside
            pass.stroke.evenly(LOOKS_OVER_THE_HORIZON).map(|moment| (moment.time.0, escapes(&moment))).collect()
        } else {
            // over a rolled rim the steps are fine and the directions many: what flies past changes slowly along a pass
            let every = if panel.has_rim() { 5 } else { 1 };
            let last = moments.len() - 1;
            let chosen = moments.iter().enumerate().filter(|(i, _)| i % every == 0 || *i == last);
            let stays = |i: usize| pass.sweep.lands_inside(i, panel);
            chosen.map(|(i, moment)| (moment.time.0, if stays(i) { 0.0 } else { escapes(moment) })).collect()
        };
        let ml_per_s = self.plan.gun.fluid.cubic_mm_per_s() / 1000.0;
        let between = |s: &[(f64, f64)]| 0.5 * (s[0].1 + s[1].1) * ml_per_s * (s[1].0 - s[0].0);
        Millilitres(shares.windows(2).map(between).sum())
    }
}

/// Cells of the apron, mm: fine enough for the smallest footprint of the job.
fn apron_cell(plan: &Plan) -> f64 {
    let (gun, hand) = (&plan.gun, &plan.hand);
    let nearer = (hand.distance_error.0 - MOST_DEVIATIONS * hand.distance_sd.0).min(0.0);
    let finest = plan.coats.iter().map(|coat| {
        let distance = Millimetres((coat.distance.0 + nearer).max(NEAREST_MM));
        (gun.depth_at(distance).0 / 8.0).min(gun.width_at(distance).0 / 32.0)
    });
    // on a steep face a footprint is so much shorter on the plan; near a rolled rim the strips have finer cells anyway
    let steep = plan.panel.is_steep() && !plan.panel.has_rim();
    let falls = if steep { plan.panel.falls().abs().max_element() } else { 0.0 };
    let on_plan = 1.0 / (1.0 + falls * falls).sqrt();
    on_plan * finest.fold(f64::INFINITY, f64::min).clamp(plan.panel.cell.0.min(20.0), 20.0)
}

impl Apron {
    /// As far as the fan carries paint past the rim and that is followed.
    fn around(plan: &Plan, reach: f64, panel: Area) -> Self {
        let around = (plan.panel.length.0 + 2.0 * reach) * (plan.panel.width.0 + 2.0 * reach);
        let cell = apron_cell(plan).max((around / MOST_APRON_CELLS).sqrt());
        let room = DVec2::splat(reach + cell);
        let area = Area { least: -room, most: panel.most + room };
        Self { strips: plan.panel.apron(Millimetres(reach + cell), Millimetres(cell)), area }
    }
}

/// How far past the rim the fan carries paint on a pass, mm, as far as it is followed.
pub(super) fn reach(plan: &Plan, spray: &Spray, pass: &Pass) -> f64 {
    // beyond a rolled rim or a steep edge the surface falls out of the fan's reach long before that
    let slope = plan.panel.gradient(DVec2::ZERO).abs().max_element();
    let falls = plan.panel.has_rim() || plan.panel.is_steep();
    let farthest = if falls { DEEPEST_PAST_RIM / slope } else { FARTHEST_PAST_RIM };
    let room = DVec2::splat(farthest.min(FARTHEST_PAST_RIM));
    let panel = plan.panel.area();
    let everywhere = Area { least: panel.least - room, most: panel.most + room };
    let past = |area: Area| (panel.least - area.least).max_element().max((area.most - panel.most).max_element());
    let areas = pass.stroke.moments.iter().filter_map(|moment| footprint(spray, &plan.panel, &moment.pose, everywhere));
    areas.map(past).fold(0.0, f64::max)
}

/// Cells that the apron may have, so that a far-flung fan of a small gun does not exhaust the machine.
const MOST_APRON_CELLS: f64 = 1_000_000.0;
/// Paint that flies farther past the rim than this is counted by its direction, no longer by where it lands, mm.
const FARTHEST_PAST_RIM: f64 = 1500.0;
/// The same where the rim is rolled or the edge steep: how far the surface that goes on beyond it may fall, mm.
const DEEPEST_PAST_RIM: f64 = 1000.0;
/// So often along a pass over a steep panel it is looked whether paint flies past it all.
const LOOKS_OVER_THE_HORIZON: usize = 100;
