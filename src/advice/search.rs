//! The search for plans: first all settings with a faultless hand and the straying of a raster reckoned to it, then the
//! best of them with some hands, by which a few are chosen; what these give is told from hands that had no part in the
//! choice. Step by step, so that a page stays alive and shows the best so far.

use super::hands::{Hands, share, sprayed};
use super::settings::{SPEED_STEP, reached, strays};
use super::told::{TELLING, Told, lead, mean, surer};
use super::{Advice, Setting, VERSION, Window, Wishes, amounts};
use crate::appraisal::{Appraisal, Difference, FilmSpreads, WetFigures, appraise, film_window};
use crate::field::{Spread, Zone, share_within};
use crate::job::Job;
use crate::job::inputs::System;
use crate::maths::erf;
use crate::rehearsal::on_cells;
use crate::strokes::{Along, Reach, Sequence};
use crate::units::{Micrometres, Millimetres};
use crate::words::clock;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// Cells with a faultless hand, with the hands that choose, and with those that tell, mm, at least.
const FAULTLESS_CELL: Millimetres = Millimetres(16.0);
const CHOOSING_CELL: Millimetres = Millimetres(24.0);
const TELLING_CELL: f64 = 20.0;
/// How many settings are tried with how many hands, in rounds: from each the best go on to the next (successive halving).
const ROUNDS: [(usize, usize); 3] = [(20, 4), (6, 12), (3, 30)];
/// So many of the hands that tell spray on the job's own cells too.
const FINER: usize = 5;
/// A quicker or thriftier plan may be worse than the surest by this share of the panel.
const WORSE: f64 = 0.08;
/// By so many standard errors another plan must lie above the one that was chosen for the surest, by the hands that tell,
/// to come before it: so many that chance hardly ever does it, or the choice would hang on these hands after all.
const DOUBTLESS: f64 = 3.0;

/// What a rehearsal shows of a plan.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Figures {
    /// Hands by which the next three are told; none of them had a part in choosing the plan.
    pub hands: usize,
    /// Share of the panel in the window, mean of the hands.
    pub in_window: f64,
    /// The mean of all such hands lies between these, 19 times of 20.
    pub in_window_from_to: [f64; 2],
    /// What one hand in ten does not reach: of 60 hands the sixth from below.
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
    /// It comes first as the one a painter would spray: another has the higher share, but by no more than chance makes.
    pub usual_first: bool,
    /// In a sentence or two.
    pub text: String,
    /// Values by path of the job file: the job with these values is the plan.
    pub set: Map<String, Value>,
    /// Its dry film of the tinted clear, as `rehearse` reports it of that job, with the job's own hand.
    pub film: FilmSpreads,
    /// Its colour against the target, likewise.
    pub delta_e00: Difference,
    /// What it costs and gives with the hand that was asked for.
    pub figures: Figures,
}

impl Plan {
    /// The plan in a sentence, and where it comes first as the usual one, why.
    pub fn words(&self, job: &Job, system: System) -> String {
        let why = match self.setting.amounts.len() {
            _ if !self.usual_first => "",
            1 => {
                " No surer plan is known beyond chance; its first line lies where a painter begins (common practice, no source)."
            }
            _ => {
                " No surer plan is known beyond chance; the second coat is staggered, as usual (common practice, no source)."
            }
        };
        self.setting.text(job, system) + why
    }
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
        mean(&self.shares)
    }
}

/// A plan that was chosen, or the job as it stands, and what the hands that tell show of it so far.
struct Proof {
    job: Job,
    setting: Option<Setting>,
    /// It was put first though another was surer by the hands that chose.
    usual_first: bool,
    told: Told,
}

/// The search.
pub struct Search {
    job: Job,
    coarse: Job,
    wishes: Wishes,
    hands: Hands,
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
    /// Those that are told of, the one chosen for the surest first, each with its shares hand by hand.
    plans: Vec<(Plan, Vec<f64>)>,
    present: Option<Figures>,
    done: usize,
}

impl Search {
    /// Of a job; none where it has no tinted clear, no coat of it, or a target out of its reach.
    pub fn new(job: &Job, wishes: &Wishes) -> Option<Self> {
        let tinted = job.tinted()?;
        job.coats.iter().find(|coat| coat.paint == job.paints[tinted].name)?;
        let (window, target) = film_window(job, wishes.within);
        let [low, high] = window?;
        let mut coarse = on_cells(job, FAULTLESS_CELL);
        // only the tinted clear's film is judged
        coarse.coats.retain(|coat| coat.paint == job.paints[tinted].name);
        for coat in &mut coarse.coats {
            coat.track = None;
        }
        coarse.hand = job.faultless_hand();
        let waiting = Setting::all(&coarse, wishes, target);
        let present = Proof { job: coarse.clone(), setting: None, usual_first: false, told: Told::default() };
        Some(Self {
            job: job.clone(),
            coarse,
            wishes: wishes.clone(),
            hands: Hands::of(job),
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
        self.choose() || self.tell()
    }

    /// One more hand for the settings of this round; false when all rounds are over.
    fn choose(&mut self) -> bool {
        let hands = ROUNDS.get(self.round).map_or(0, |(_, hands)| *hands);
        let Some(tried) = self.best.iter_mut().find(|tried| tried.shares.len() < hands) else { return false };
        let seed = self.hands.choosing().nth(tried.shares.len()).unwrap_or_default();
        let job = self.wishes.hand.sprays(&on_cells(&tried.setting.of(&self.coarse), CHOOSING_CELL), seed);
        tried.shares.push(share(&job, self.window));
        if self.best.iter().all(|tried| tried.shares.len() == hands) {
            self.round += 1;
            let chosen = self.chosen();
            match ROUNDS.get(self.round) {
                Some((count, _)) => self.keep(*count, &chosen),
                None => self.prove(chosen),
            }
        }
        true
    }

    /// The chosen are to be told of.
    fn prove(&mut self, chosen: Vec<Tried>) {
        let most = self.best.iter().map(Tried::share).fold(0.0, f64::max);
        for (i, one) in chosen.into_iter().enumerate() {
            let usual_first = i == 0 && one.share() < most;
            let (job, setting) = (one.setting.of(&self.coarse), Some(one.setting));
            self.proving.push(Proof { job, setting, usual_first, told: Told::default() });
        }
    }

    /// One more hand for the next plan that is told of; false when all are told.
    fn tell(&mut self) -> bool {
        let Some(proof) = self.proving.first_mut() else { return false };
        let Told { shares, finer } = &mut proof.told;
        let own = self.job.panel.cell.0;
        let on = |cell: f64, hand: usize| {
            let seed = self.hands.telling().nth(hand).unwrap_or_default();
            let mut job = self.wishes.hand.sprays(&proof.job, seed);
            job.panel.cell.0 = cell;
            share(&job, self.window)
        };
        if shares.len() < TELLING {
            shares.push(on(own.max(TELLING_CELL), shares.len()));
            return true;
        }
        if finer.len() < FINER && own < TELLING_CELL {
            finer.push(on(own, finer.len()) - shares[finer.len()]);
            return true;
        }
        let proof = self.proving.remove(0);
        let figures = self.figures(&proof.job, &proof.told);
        match proof.setting {
            None => self.present = Some(figures),
            Some(setting) => {
                let set = setting.set(&self.job);
                let (film, delta_e00) = reported(&setting.of(&self.job));
                let (best_at, text, usual_first) = (Vec::new(), String::new(), proof.usual_first);
                let plan = Plan { best_at, text, set, film, delta_e00, setting, usual_first, figures };
                self.plans.push((plan, proof.told.shares));
            }
        }
        true
    }

    /// How far it has come, 0..1.
    pub fn progress(&self) -> f64 {
        let rounds = ROUNDS.iter().scan(0, |before, (settings, hands)| {
            let more = settings * (hands - *before);
            *before = *hands;
            Some(more)
        });
        let hands = ROUNDS[0].0 + rounds.sum::<usize>() + 4 * (TELLING + FINER + 1);
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
        let plans = self.named();
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
        self.named().first().map_or_else(|| self.job.clone(), |plan| plan.setting.of(&self.job))
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
        let sprayed = sprayed(&job);
        let rehearsal = sprayed.rehearsal();
        let mut film = sprayed.tinted().unwrap_or_default().to_vec();
        let spread = Spread::over(&film, sprayed.cells(Zone::Interior));
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

    fn wet(&self, setting: &Setting) -> WetFigures {
        wet_of(&sprayed(&setting.of(&self.coarse)))
    }

    /// The surest of those that were tried with hands, and what is quicker, thriftier or evener and hardly worse. Where
    /// nothing is surer than the usual beyond chance, the usual stands for the surest.
    fn chosen(&self) -> Vec<Tried> {
        let by_share = |a: &&Tried, b: &&Tried| a.share().total_cmp(&b.share());
        let Some(surest) = self.best.iter().max_by(by_share) else { return Vec::new() };
        let alike = self.best.iter().filter(|tried| !surer(&surest.shares, &tried.shares));
        let usual = alike.filter(|tried| tried.setting.is_usual(&self.job)).max_by(by_share);
        let near = || self.best.iter().filter(|tried| tried.share() >= surest.share() - WORSE);
        let least = |of: &dyn Fn(&Tried) -> f64| near().min_by(|a, b| of(a).total_cmp(&of(b)));
        let candidates = [
            Some(usual.unwrap_or(surest)),
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

    fn figures(&self, job: &Job, told: &Told) -> Figures {
        let coarse = appraise(job);
        let (rehearsal, wet) = (coarse.rehearsal(), wet_of(&coarse));
        let mut own = job.clone();
        own.panel.cell = self.job.panel.cell;
        let own = sprayed(&own);
        let film = own.tinted().unwrap_or_default();
        let spread = Spread::over(film, own.cells(Zone::Interior));
        Figures {
            hands: told.shares.len(),
            in_window: told.mean(),
            in_window_from_to: told.interval(),
            in_window_tenth: told.tenth(),
            in_window_faultless: share_within(film, self.window),
            unevenness_faultless: uneven(&spread),
            mean_um: spread.mean().0,
            spraying_s: rehearsal.spraying().0,
            total_s: rehearsal.total().0,
            sprayed_ml: rehearsal.accounts().iter().map(|account| account.sprayed.0).sum(),
            passes: rehearsal.passes().len(),
            runs: wet.runs,
            edge_lost: wet.edge_lost,
        }
    }

    /// The plans by what they are best at, the one chosen for the surest first, unless another lies above it without doubt;
    /// one that is best at nothing is none.
    fn named(&self) -> Vec<Plan> {
        let shares: Vec<&[f64]> = self.plans.iter().map(|(_, shares)| shares.as_slice()).collect();
        let mut plans: Vec<Plan> = self.plans.iter().map(|(plan, _)| plan.clone()).collect();
        let Some(chosen) = shares.first() else { return Vec::new() };
        let beyond = (1..shares.len()).filter(|i| lead(shares[*i], chosen) > DOUBTLESS);
        let first = beyond.max_by(|a, b| mean(shares[*a]).total_cmp(&mean(shares[*b]))).unwrap_or(0);
        let most = plans.iter().map(|plan| plan.figures.in_window).fold(0.0, f64::max);
        for (i, plan) in plans.iter_mut().enumerate() {
            let above = plan.usual_first || plan.figures.in_window < most;
            plan.usual_first = i == 0 && first == 0 && above && plan.setting.is_usual(&self.job);
            plan.text = plan.words(&self.job, System::Metric);
        }
        plans[first].best_at.push("surest".to_string());
        let mut best = |name: &'static str, of: &dyn Fn(&Figures) -> f64| {
            let least = plans.iter_mut().min_by(|a, b| of(&a.figures).total_cmp(&of(&b.figures)));
            if let Some(plan) = least {
                plan.best_at.push(name.to_string());
            }
        };
        best("quickest", &|figures| figures.total_s);
        best("least paint", &|figures| figures.sprayed_ml);
        best("evenest without a hand\u{2019}s straying", &|figures| figures.unevenness_faultless);
        let surest = plans.remove(first);
        plans.retain(|plan| !plan.best_at.is_empty());
        plans.sort_by(|a, b| b.figures.in_window.total_cmp(&a.figures.in_window));
        plans.insert(0, surest);
        plans
    }
}

/// The wet film of the tinted clear.
fn wet_of(appraisal: &Appraisal) -> WetFigures {
    appraisal.job().tinted().map(|paint| appraisal.wet(paint)).unwrap_or_default()
}

/// The tinted clear's film and colour as a report of the job has them.
fn reported(job: &Job) -> (FilmSpreads, Difference) {
    let appraisal = sprayed(job);
    (job.tinted().map(|paint| appraisal.spreads(paint)).unwrap_or_default(), appraisal.colour().delta_e00)
}

fn uneven(spread: &Spread) -> f64 {
    spread.sd_um / spread.mean_um.max(1e-9)
}
