//! The search for plans: first all settings with a faultless hand and the straying of a raster reckoned to it, then the
//! best of them with some hands, at last the chosen few with hands that were not seen before. Step by step, so that a page
//! stays alive and shows the best so far.

use super::hands::film;
use super::settings::{SPEED_STEP, reached, strays};
use super::{Advice, Setting, VERSION, Window, Wishes, amounts};
use crate::appraisal::{Spread, Zone, cells_in, share_within};
use crate::colour::ScreenSpace;
use crate::job::Job;
use crate::job::inputs::System;
use crate::maths::erf;
use crate::rehearsal::{Rehearsal, Wetness, rehearse_film};
use crate::report::{Difference, Film, Wet, appearance, appearance_of, report_unseen, wet};
use crate::strokes::{Along, Reach, Sequence};
use crate::units::Micrometres;
use crate::words::clock;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// Cells of the trials, mm, at least.
const TRIAL_CELL: f64 = 16.0;
/// How many settings are tried with how many hands, in rounds: from each the best go on to the next (successive halving).
const ROUNDS: [(usize, usize); 2] = [(24, 4), (8, 12)];
/// Hands that prove a plan, with seeds that no trial has.
const PROOFS: u32 = 20;
const FIRST_PROOF: u32 = 1001;
/// A quicker or thriftier plan may be worse than the surest by this share of the panel.
const WORSE: f64 = 0.08;
/// Student's t for the mean of [`PROOFS`] hands, 19 of 20 (two-sided, 19 degrees of freedom; handbook tables).
const STUDENT: f64 = 2.093;

/// What a rehearsal shows of a plan.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Figures {
    /// Share of the panel in the window, mean of the hands.
    pub in_window: f64,
    /// That mean lies between these, 19 times of 20.
    pub in_window_from_to: [f64; 2],
    /// What one hand in ten does not reach.
    pub in_window_tenth: f64,
    /// With a faultless hand.
    pub in_window_faultless: f64,
    /// Unevenness of its film in the interior, standard deviation over mean.
    pub unevenness_faultless: f64,
    /// Mean of its film there, um.
    pub mean_um: f64,
    /// Trigger open for the tinted clear, s.
    pub spraying_s: f64,
    /// With turns and flash-off, s.
    pub total_s: f64,
    /// Tinted clear sprayed, mL.
    pub sprayed_ml: f64,
    /// Passes of it in all.
    pub passes: usize,
    /// Places that run.
    pub runs: usize,
    /// Share of the panel where the wet edge is lost.
    pub edge_lost: f64,
}

/// One plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// What it is best at, of the plans that were proved.
    pub best_at: Vec<String>,
    /// What is set.
    pub setting: Setting,
    /// In a sentence.
    pub text: String,
    /// Values by path of the job file: the job with these values is the plan.
    pub set: Map<String, Value>,
    /// Its dry film of the tinted clear, as `rehearse` reports it of that job, with the job's own hand.
    pub film: Film,
    /// Its colour against the target, likewise.
    pub delta_e00: Difference,
    /// What it costs and gives with the hand that was asked for.
    pub figures: Figures,
}

/// A setting that was tried.
#[derive(Clone)]
struct Tried {
    setting: Setting,
    uneven: f64,
    /// The chance that a place is in the window, reckoned.
    reckoned: f64,
    spraying_s: f64,
    total_s: f64,
    /// With hands, once it was.
    shares: Vec<f64>,
}

impl Tried {
    /// Number of coats and direction: plans that differ in them are told beside each other.
    fn kind(&self) -> (usize, Along) {
        (self.setting.amounts.len(), self.setting.along)
    }

    fn share(&self) -> f64 {
        mean_of(&self.shares)
    }
}

/// A plan that is proved, or the job as it stands: with its shares, hand by hand.
type Proof = (Job, Option<Setting>, Vec<f64>);

/// The search.
pub struct Search {
    job: Job,
    coarse: Job,
    wishes: Wishes,
    target: Micrometres,
    window: (f64, f64),
    waiting: Vec<Setting>,
    count: usize,
    /// Some needed more paint or time than there is; some ran.
    over: bool,
    ran: bool,
    /// The least that had to be mixed, mL, and the least time, s, of those that a hand can spray.
    least: (f64, f64),
    /// Those that can be sprayed, the best as reckoned last.
    tried: Vec<Tried>,
    /// Kinds of plan that were looked at wet.
    looked: Vec<(usize, Along)>,
    /// Those that lose their wet edge.
    lost: Vec<Tried>,
    /// Those that are tried with hands, and in which round.
    best: Vec<Tried>,
    round: usize,
    proving: Vec<Proof>,
    plans: Vec<Plan>,
    present: Option<Figures>,
    done: usize,
}

impl Search {
    /// Of a job; none where it has no tinted clear, no coat of it, or a target out of its reach.
    pub fn new(job: &Job, wishes: &Wishes) -> Option<Self> {
        let tinted = job.tinted()?;
        job.coats.iter().find(|coat| coat.paint == job.paints[tinted].name)?;
        let seen = appearance(job, ScreenSpace::Srgb, Micrometres(100.0));
        let target = seen.target_film();
        let (low, high) = seen.track().film_window(seen.target(), wishes.within)?;
        let mut coarse = job.clone();
        coarse.panel.cell.0 = coarse.panel.cell.0.max(TRIAL_CELL);
        // only the tinted clear's film is judged
        coarse.coats.retain(|coat| coat.paint == job.paints[tinted].name);
        for coat in &mut coarse.coats {
            coat.track = None;
        }
        coarse.hand = job.faultless_hand();
        let waiting = Setting::all(&coarse, wishes, target);
        let present = (coarse.clone(), None, Vec::new());
        Some(Self {
            job: job.clone(),
            coarse,
            wishes: wishes.clone(),
            target,
            window: (low.0, high.0),
            count: waiting.len(),
            waiting,
            over: false,
            ran: false,
            least: (f64::INFINITY, f64::INFINITY),
            tried: Vec::new(),
            looked: Vec::new(),
            lost: Vec::new(),
            best: Vec::new(),
            round: 0,
            proving: vec![present],
            plans: Vec::new(),
            present: None,
            done: 0,
        })
    }

    /// One rehearsal; false when all is done.
    pub fn step(&mut self) -> bool {
        self.done += 1;
        if let Some(setting) = self.waiting.pop() {
            let tried = self.faultless(setting);
            self.tried.extend(tried);
            if self.waiting.is_empty() {
                self.tried.sort_by(|a, b| a.reckoned.total_cmp(&b.reckoned));
            }
            return true;
        }
        if self.look_wet() {
            return true;
        }
        let hands = ROUNDS.get(self.round).map_or(0, |(_, hands)| *hands);
        if let Some(tried) = self.best.iter_mut().find(|tried| tried.shares.len() < hands) {
            let job = self.wishes.hand.sprays(&tried.setting.of(&self.coarse), tried.shares.len() as u32 + 1);
            tried.shares.push(share_within(&film(&job).1, self.window));
            if self.best.iter().all(|tried| tried.shares.len() == hands) {
                self.round += 1;
                let chosen = self.chosen();
                match ROUNDS.get(self.round) {
                    Some((count, _)) => self.keep(*count, &chosen),
                    None => {
                        let proof = |one: Tried| (one.setting.of(&self.coarse), Some(one.setting.clone()), Vec::new());
                        self.proving.extend(chosen.into_iter().map(proof));
                    }
                }
            }
            return true;
        }
        let Some((job, _, shares)) = self.proving.first_mut() else {
            return false;
        };
        if shares.len() < PROOFS as usize {
            let seed = FIRST_PROOF + shares.len() as u32;
            shares.push(share_within(&film(&self.wishes.hand.sprays(job, seed)).1, self.window));
            return true;
        }
        let (job, setting, shares) = self.proving.remove(0);
        let figures = self.figures(&job, &shares);
        match setting {
            None => self.present = Some(figures),
            Some(setting) => {
                let text = setting.text(&self.job, System::Metric);
                let set = setting.set(&self.job);
                let (film, delta_e00) = reported(&setting.of(&self.job));
                self.plans.push(Plan { best_at: Vec::new(), text, set, film, delta_e00, setting, figures });
            }
        }
        true
    }

    /// How far it has come, 0..1.
    pub fn progress(&self) -> f64 {
        let [(first, few), (second, more)] = ROUNDS;
        let hands = first + first * few + second * (more - few) + 5 * (PROOFS as usize + 1);
        // a straying hand takes several times as long
        let whole = (self.count + 4 * hands) as f64;
        let tried = self.count - self.waiting.len();
        let later = self.done.saturating_sub(self.count);
        ((tried + 4 * later) as f64 / whole).min(1.0)
    }

    /// How many plans were proved.
    pub fn proved(&self) -> usize {
        self.plans.len()
    }

    /// The best so far.
    pub fn advice(&self) -> Advice {
        let plans = named(&self.plans);
        Advice {
            fanlap_advice: VERSION,
            target_um: self.target.0,
            window: Window { film_low_um: self.window.0, film_high_um: self.window.1 },
            within_de00: self.wishes.within,
            hand: self.wishes.hand,
            tried: self.count - self.waiting.len(),
            none_because: self.none_because(),
            present: self.present.clone().unwrap_or_default(),
            forgives: None,
            amounts: amounts(&self.surest()),
            plans,
        }
    }

    /// The job as the surest plan has it; as it stands where there is none.
    pub(super) fn surest(&self) -> Job {
        named(&self.plans).first().map_or_else(|| self.job.clone(), |plan| plan.setting.of(&self.job))
    }

    /// Why the search ended without a plan.
    fn none_because(&self) -> Option<String> {
        if !self.plans.is_empty() || !self.proving.is_empty() || !self.waiting.is_empty() || !self.tried.is_empty() {
            return None;
        }
        let (slow, fast) = self.wishes.speed;
        let (length, width) = (self.job.panel.length.0, self.job.panel.width.0);
        let reached = |along| reached(&self.job, &self.wishes, along).is_some();
        Some(if !reached(Along::Length) && !reached(Along::Width) {
            format!(
                "Even from both sides this panel needs a reach of {:.0} mm: reach farther, or spray it in parts.",
                (length.min(width) / 2.0).ceil()
            )
        } else if self.ran {
            "Every plan that lays the film runs: more and thinner coats, or longer flash-offs.".to_string()
        } else if self.over {
            format!(
                "No plan lays the film within what you allow: the least is {:.0} mL mixed, and {} in all. Allow more, or aim at less film.",
                (self.least.0 / 5.0).ceil() * 5.0,
                clock(self.least.1)
            )
        } else {
            format!(
                "Nothing from one coat to {:.0} lays {:.0} \u{b5}m with this gun at {slow:.0} to {fast:.0} mm/s: change the fluid \
                 delivery, the distance or the target.",
                self.wishes.coats, self.target.0
            )
        })
    }

    /// A setting with a faultless hand; the speed is put right where a crown lets the mean be off.
    fn faultless(&mut self, setting: Setting) -> Option<Tried> {
        let job = setting.of(&self.coarse);
        let (rehearsal, mut film) = film(&job);
        let interior = cells_in(Zone::Interior, &job.panel, job.gun.fan_width, rehearsal.patch());
        let spread = Spread::over(&film, &interior);
        let speed = setting.speed_mm_per_s * spread.mean().0 / self.target.0;
        let speed = (speed / SPEED_STEP).round() * SPEED_STEP;
        if !setting.can(speed, &self.wishes) {
            return None;
        }
        // the film goes as one over the speed, and so does the time
        let by = setting.speed_mm_per_s / speed;
        let spraying_s = rehearsal.spraying().0 * by;
        let total_s = rehearsal.total().0 - rehearsal.spraying().0 + spraying_s;
        let mixed = self.mixed(spraying_s);
        self.least = (self.least.0.min(mixed), self.least.1.min(total_s));
        let too_much = |most: Option<f64>, needed: f64| most.is_some_and(|most| needed > most);
        if too_much(self.wishes.most_ml, mixed) || too_much(self.wishes.most_min, total_s / 60.0) {
            self.over = true;
            return None;
        }
        film.iter_mut().for_each(|film| *film *= by);
        let sd = strays(&self.coarse, &setting, &self.wishes.hand);
        let chance = |film: &f64| {
            let s = std::f64::consts::SQRT_2 * (sd * film).max(1e-9);
            0.5 * (erf((self.window.1 - film) / s) - erf((self.window.0 - film) / s))
        };
        let reckoned = film.iter().map(chance).sum::<f64>() / film.len().max(1) as f64;
        Some(Tried {
            uneven: uneven(&spread),
            reckoned,
            spraying_s,
            total_s,
            setting: Setting { speed_mm_per_s: speed, ..setting },
            shares: Vec::new(),
        })
    }

    /// What has to be mixed for a time of spraying, mL.
    fn mixed(&self, spraying_s: f64) -> f64 {
        let reserve = self.job.tinted().map_or(0.0, |paint| self.job.paints[paint].reserve.0);
        self.job.gun.fluid.0 / 60.0 * spraying_s * (1.0 + reserve)
    }

    /// Looks at the next promising setting wet, the best of each kind of plan first: what runs or is near it is none; what
    /// loses its wet edge is sprayed straight across, and is a plan only where nothing keeps it. False when enough are found.
    fn look_wet(&mut self) -> bool {
        if self.best.len() >= ROUNDS[0].0 || self.tried.is_empty() {
            if self.best.is_empty() {
                self.best.append(&mut self.lost);
            }
            self.tried.clear();
            return false;
        }
        let next = self.tried.iter().rposition(|tried| !self.looked.contains(&tried.kind()));
        let mut tried = self.tried.remove(next.unwrap_or(self.tried.len() - 1));
        self.looked.push(tried.kind());
        let mut wet = self.wet(&tried.setting);
        if wet.edge_lost > 0.0 && tried.setting.reach == Reach::BothSides {
            tried.setting.sequence = Sequence::StraightAcross;
            wet = self.wet(&tried.setting);
        }
        match wet {
            wet if wet.runs + wet.near_limit > 0 => self.ran = true,
            wet if wet.edge_lost > 0.0 => self.lost.push(tried),
            _ => self.best.push(tried),
        }
        true
    }

    fn wet(&self, setting: &Setting) -> Wet {
        wet_of(&film(&setting.of(&self.coarse)).0)
    }

    /// The surest of those that were tried with hands, and what is quicker, thriftier or evener and hardly worse.
    fn chosen(&self) -> Vec<Tried> {
        let Some(surest) = self.best.iter().max_by(|a, b| a.share().total_cmp(&b.share())) else { return Vec::new() };
        let near = || self.best.iter().filter(|tried| tried.share() >= surest.share() - WORSE);
        let least = |of: &dyn Fn(&Tried) -> f64| near().min_by(|a, b| of(a).total_cmp(&of(b)));
        let candidates = [
            Some(surest),
            least(&|tried| tried.total_s),
            least(&|tried| tried.spraying_s),
            least(&|tried| tried.uneven),
        ];
        let mut taken: Vec<Tried> = Vec::new();
        for tried in candidates.into_iter().flatten() {
            if !taken.iter().any(|one| one.setting == tried.setting) {
                taken.push(tried.clone());
            }
        }
        taken
    }

    /// The best go on to the next round, and with them the chosen.
    fn keep(&mut self, count: usize, chosen: &[Tried]) {
        self.best.sort_by(|a, b| b.share().total_cmp(&a.share()));
        let rest = self.best.split_off(count.min(self.best.len()));
        self.best.extend(rest.into_iter().filter(|tried| chosen.iter().any(|one| one.setting == tried.setting)));
    }

    fn figures(&self, job: &Job, shares: &[f64]) -> Figures {
        let (mut rehearsal, film) = film(job);
        while rehearsal.follow_next() {}
        let interior = cells_in(Zone::Interior, &job.panel, job.gun.fan_width, rehearsal.patch());
        let spread = Spread::over(&film, &interior);
        let mean = mean_of(shares);
        let about = (shares.iter().map(|share| (share - mean) * (share - mean)).sum::<f64>()
            / (shares.len().max(2) - 1) as f64)
            .sqrt();
        let off = STUDENT * about / (shares.len().max(1) as f64).sqrt();
        let mut sorted = shares.to_vec();
        sorted.sort_by(f64::total_cmp);
        let wet = wet_of(&rehearsal);
        Figures {
            in_window: mean,
            in_window_from_to: [(mean - off).max(0.0), (mean + off).min(1.0)],
            in_window_tenth: sorted.get(sorted.len() / 10).copied().unwrap_or(0.0),
            in_window_faultless: share_within(&film, self.window),
            unevenness_faultless: uneven(&spread),
            mean_um: spread.mean().0,
            spraying_s: rehearsal.spraying().0,
            total_s: rehearsal.total().0,
            sprayed_ml: sprayed(&rehearsal),
            passes: rehearsal.passes().len(),
            runs: wet.runs,
            edge_lost: wet.edge_lost,
        }
    }
}

/// The plans by what they are best at, the surest first; one that is best at nothing is none.
fn named(proved: &[Plan]) -> Vec<Plan> {
    let mut plans = proved.to_vec();
    let mut best = |name: &'static str, of: &dyn Fn(&Figures) -> f64| {
        let first = plans.iter_mut().min_by(|a, b| of(&a.figures).total_cmp(&of(&b.figures)));
        if let Some(plan) = first {
            plan.best_at.push(name.to_string());
        }
    };
    best("surest", &|figures| -figures.in_window);
    best("quickest", &|figures| figures.total_s);
    best("least paint", &|figures| figures.sprayed_ml);
    best("evenest without a hand\u{2019}s straying", &|figures| figures.unevenness_faultless);
    plans.retain(|plan| !plan.best_at.is_empty());
    plans.sort_by(|a, b| b.figures.in_window.total_cmp(&a.figures.in_window));
    plans
}

/// The wet film of the tinted clear.
fn wet_of(rehearsal: &Rehearsal) -> Wet {
    let job = rehearsal.job();
    job.tinted().map(|paint| wet(job, &Wetness::of(rehearsal), paint)).unwrap_or_default()
}

/// The tinted clear's film and colour as a report of the job has them.
fn reported(job: &Job) -> (Film, Difference) {
    let rehearsal = rehearse_film(job);
    let report = report_unseen(&rehearsal, &appearance_of(&rehearsal));
    let film = job.tinted().and_then(|paint| report.film.get(&job.paints[paint].name)).copied();
    (film.unwrap_or_default(), report.colour.delta_e00)
}

fn mean_of(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

fn uneven(spread: &Spread) -> f64 {
    spread.sd_um / spread.mean_um.max(1e-9)
}

fn sprayed(rehearsal: &Rehearsal) -> f64 {
    rehearsal.accounts().iter().map(|account| account.sprayed.0).sum()
}
