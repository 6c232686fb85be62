//! The search for plans: first all settings with a faultless hand and the straying of a raster reckoned to it, then the
//! best of them with some hands, by which a few are chosen; what these give is told from hands that had no part in the
//! choice. It says which trials come next and takes what they showed, one by one in their order, so that a page stays
//! alive, shows the best so far, and gets the same advice from any number of workers or cores.

use super::hands::Hands;
use super::settings::reached;
use super::told::{TELLING, Told, lead, mean, surer};
use super::trials::{Faultless, Shown, Trial, Trials};
use super::{Advice, Setting, VERSION, Window, Wishes, amounts};
use crate::job::Job;
use crate::job::inputs::System;
use crate::maths::in_turn;
use crate::report::{Difference, Film};
use crate::strokes::Along;
use crate::words::clock;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// Cells with the hands that choose, and with those that tell, mm, at least.
const CHOOSING_CELL: f64 = 24.0;
const TELLING_CELL: f64 = 20.0;
/// How many settings are tried with how many hands, in rounds: from each the best go on to the next (successive halving).
const ROUNDS: [(usize, usize); 3] = [(20, 4), (6, 12), (3, 30)];
/// So many trials at most are run at once.
const AT_ONCE: usize = 64;
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
    pub film: Film,
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

/// A setting that can be sprayed.
#[derive(Clone)]
struct Tried {
    faultless: Faultless,
    /// With hands, once it was.
    shares: Vec<f64>,
}

impl Tried {
    fn setting(&self) -> &Setting {
        &self.faultless.setting
    }

    /// Number of coats and direction: plans that differ in them are told beside each other.
    fn kind(&self) -> (usize, Along) {
        (self.setting().amounts.len(), self.setting().along)
    }

    fn share(&self) -> f64 {
        mean(&self.shares)
    }
}

/// A plan that was chosen, or the job as it stands, and what the hands that tell show of it so far.
struct Proof {
    setting: Option<Setting>,
    /// It was put first though another was surer by the hands that chose.
    usual_first: bool,
    told: Told,
}

/// The search.
pub struct Search {
    trials: Trials,
    hands: Hands,
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
        let trials = Trials::new(job, wishes)?;
        let waiting = Setting::all(&trials.coarse, wishes, trials.target);
        let present = Proof { setting: None, usual_first: false, told: Told::default() };
        Some(Self {
            trials,
            hands: Hands::of(job),
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

    /// One trial; false when all is done.
    pub fn step(&mut self) -> bool {
        let Some(trial) = self.ready(1).pop() else { return false };
        let shown = self.trials.run(&trial);
        self.take(shown);
        true
    }

    /// Some trials at once, on all cores; false when all is done. The advice is the same as step by step.
    pub fn stride(&mut self) -> bool {
        let ready = self.ready(AT_ONCE);
        let shown = in_turn(ready.len(), |i| self.trials.run(&ready[i]));
        shown.into_iter().for_each(|shown| self.take(shown));
        !ready.is_empty()
    }

    /// The trials that come next and wait for no other, in their order, so many at most; none when all is done.
    pub fn ready(&self, most: usize) -> Vec<Trial> {
        if !self.waiting.is_empty() {
            return self.waiting.iter().rev().take(most).cloned().map(Trial::Faultless).collect();
        }
        let wet = self.promising().take(most).map(|i| Trial::Wet(self.tried[i].setting().clone()));
        let wet: Vec<Trial> = wet.collect();
        if !wet.is_empty() {
            return wet;
        }
        let choosing: Vec<Trial> = self.choosing().take(most).collect();
        if choosing.is_empty() { self.telling().take(most).collect() } else { choosing }
    }

    /// Takes what the first of the trials that are ready showed.
    pub fn take(&mut self, shown: Shown) {
        self.done += 1;
        match shown {
            Shown::Faultless(faultless) => self.take_faultless(faultless),
            Shown::Wet { setting, moves, edge_lost } => self.take_wet(setting, moves, edge_lost),
            Shown::Share(share) if self.choosing().next().is_some() => self.take_choosing(share),
            Shown::Share(share) => self.take_telling(share),
            Shown::Plan(figures, film, difference) => self.take_plan(figures, film, difference),
        }
    }

    fn take_faultless(&mut self, faultless: Option<Faultless>) {
        self.waiting.pop();
        let can = faultless.filter(|faultless| self.is_within_wishes(faultless));
        self.tried.extend(can.map(|faultless| Tried { faultless, shares: Vec::new() }));
        if self.waiting.is_empty() {
            self.tried.sort_by(|a, b| a.faultless.reckoned.total_cmp(&b.faultless.reckoned));
        }
    }

    /// Whether there is paint and time enough.
    fn is_within_wishes(&mut self, faultless: &Faultless) -> bool {
        let mixed = self.mixed(faultless.spraying_s);
        self.least = (self.least.0.min(mixed), self.least.1.min(faultless.total_s));
        let wishes = &self.trials.wishes;
        let too_much = |most: Option<f64>, needed: f64| most.is_some_and(|most| needed > most);
        let over = too_much(wishes.most_ml, mixed) || too_much(wishes.most_min, faultless.total_s / 60.0);
        self.over |= over;
        !over
    }

    /// What has to be mixed for a time of spraying, mL.
    fn mixed(&self, spraying_s: f64) -> f64 {
        let job = &self.trials.job;
        let reserve = job.tinted().map_or(0.0, |paint| job.paints[paint].reserve.0);
        job.gun.fluid.0 / 60.0 * spraying_s * (1.0 + reserve)
    }

    /// The settings to look at wet, by their place among those that were tried: the best of each kind of plan first, then
    /// the best; as many as may still be needed.
    fn promising(&self) -> impl Iterator<Item = usize> {
        let mut looked = self.looked.clone();
        let mut left: Vec<usize> = (0..self.tried.len()).collect();
        (self.best.len()..ROUNDS[0].0).map_while(move |_| {
            let new = left.iter().rposition(|i| !looked.contains(&self.tried[*i].kind()));
            let next = left.remove(new.or(left.len().checked_sub(1))?);
            looked.push(self.tried[next].kind());
            Some(next)
        })
    }

    /// What runs or is near it is no plan; what loses its wet edge is one only where nothing keeps it.
    fn take_wet(&mut self, setting: Setting, moves: bool, edge_lost: f64) {
        let Some(next) = self.promising().next() else { return };
        let mut tried = self.tried.remove(next);
        self.looked.push(tried.kind());
        tried.faultless.setting = setting;
        match edge_lost {
            _ if moves => self.ran = true,
            lost if lost > 0.0 => self.lost.push(tried),
            _ => self.best.push(tried),
        }
        if self.best.len() >= ROUNDS[0].0 || self.tried.is_empty() {
            if self.best.is_empty() {
                self.best.append(&mut self.lost);
            }
            self.tried.clear();
        }
    }

    /// The hands that this round still lacks.
    fn choosing(&self) -> impl Iterator<Item = Trial> {
        let hands = ROUNDS.get(self.round).map_or(0, |(_, hands)| *hands);
        let cell_mm = self.trials.coarse.panel.cell.0.max(CHOOSING_CELL);
        self.best.iter().flat_map(move |tried| {
            let seeds = self.hands.choosing().take(hands).skip(tried.shares.len());
            seeds.map(move |seed| Trial::Hand { setting: Some(tried.setting().clone()), seed, cell_mm })
        })
    }

    fn take_choosing(&mut self, share: f64) {
        let hands = ROUNDS[self.round].1;
        if let Some(tried) = self.best.iter_mut().find(|tried| tried.shares.len() < hands) {
            tried.shares.push(share);
        }
        if self.best.iter().all(|tried| tried.shares.len() == hands) {
            self.round += 1;
            let chosen = self.chosen();
            match ROUNDS.get(self.round) {
                Some((count, _)) => self.keep(*count, &chosen),
                None => self.prove(chosen),
            }
        }
    }

    /// The chosen are to be told of.
    fn prove(&mut self, chosen: Vec<Tried>) {
        let most = self.best.iter().map(Tried::share).fold(0.0, f64::max);
        for (i, one) in chosen.into_iter().enumerate() {
            let usual_first = i == 0 && one.share() < most;
            let setting = Some(one.faultless.setting);
            self.proving.push(Proof { setting, usual_first, told: Told::default() });
        }
    }

    /// How many of the hands that tell spray on the job's own cells too.
    fn finer(&self) -> usize {
        if self.trials.job.panel.cell.0 < TELLING_CELL { FINER } else { 0 }
    }

    /// What is still to be told: plan by plan its hands, the first of them on the job's own cells too, and the rest.
    fn telling(&self) -> impl Iterator<Item = Trial> {
        let own = self.trials.job.panel.cell.0;
        self.proving.iter().flat_map(move |proof| {
            let hand = move |cell_mm: f64| move |seed| Trial::Hand { setting: proof.setting.clone(), seed, cell_mm };
            let (coarse, finer) = (proof.told.shares.len(), proof.told.finer.len());
            let shares = self.hands.telling().take(TELLING).skip(coarse).map(hand(own.max(TELLING_CELL)));
            let finer = self.hands.telling().take(self.finer()).skip(finer).map(hand(own));
            shares.chain(finer).chain([Trial::Plan(proof.setting.clone())])
        })
    }

    fn take_telling(&mut self, share: f64) {
        let Some(proof) = self.proving.first_mut() else { return };
        let Told { shares, finer } = &mut proof.told;
        if shares.len() < TELLING { shares.push(share) } else { finer.push(share - shares[finer.len()]) }
    }

    fn take_plan(&mut self, figures: Figures, film: Film, delta_e00: Difference) {
        let Proof { setting, usual_first, told } = self.proving.remove(0);
        let figures = Figures {
            hands: told.shares.len(),
            in_window: told.mean(),
            in_window_from_to: told.interval(),
            in_window_tenth: told.tenth(),
            ..figures
        };
        let Some(setting) = setting else {
            self.present = Some(figures);
            return;
        };
        let (set, best_at, text) = (setting.set(&self.trials.job), Vec::new(), String::new());
        self.plans.push((Plan { best_at, text, set, film, delta_e00, setting, usual_first, figures }, told.shares));
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
            target_um: self.trials.target.0,
            window: Window { film_low_um: self.trials.window.0, film_high_um: self.trials.window.1 },
            within_de00: self.trials.wishes.within,
            hand: self.trials.wishes.hand,
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
        self.named().first().map_or_else(|| self.trials.job.clone(), |plan| plan.setting.of(&self.trials.job))
    }

    /// Why the search ended without a plan.
    fn none_because(&self) -> Option<String> {
        if !self.plans.is_empty() || !self.proving.is_empty() || !self.waiting.is_empty() || !self.tried.is_empty() {
            return None;
        }
        let (slow, fast) = self.trials.wishes.speed;
        let (length, width) = (self.trials.job.panel.length.0, self.trials.job.panel.width.0);
        let reached = |along| reached(&self.trials.job, &self.trials.wishes, along).is_some();
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
                self.trials.wishes.coats, self.trials.target.0
            )
        })
    }

    /// The surest of those that were tried with hands, and what is quicker, thriftier or evener and hardly worse. Where
    /// nothing is surer than the usual beyond chance, the usual stands for the surest.
    fn chosen(&self) -> Vec<Tried> {
        let by_share = |a: &&Tried, b: &&Tried| a.share().total_cmp(&b.share());
        let Some(surest) = self.best.iter().max_by(by_share) else { return Vec::new() };
        let alike = self.best.iter().filter(|tried| !surer(&surest.shares, &tried.shares));
        let usual = alike.filter(|tried| tried.setting().is_usual(&self.trials.job)).max_by(by_share);
        let near = || self.best.iter().filter(|tried| tried.share() >= surest.share() - WORSE);
        let least = |of: &dyn Fn(&Tried) -> f64| near().min_by(|a, b| of(a).total_cmp(&of(b)));
        let candidates = [
            Some(usual.unwrap_or(surest)),
            least(&|tried| tried.faultless.total_s),
            least(&|tried| tried.faultless.spraying_s),
            least(&|tried| tried.faultless.uneven),
        ];
        let mut taken: Vec<Tried> = Vec::new();
        for tried in candidates.into_iter().flatten() {
            if !taken.iter().any(|one| one.setting() == tried.setting()) {
                taken.push(tried.clone());
            }
        }
        taken
    }

    /// The best go on to the next round, and with them the chosen.
    fn keep(&mut self, count: usize, chosen: &[Tried]) {
        self.best.sort_by(|a, b| b.share().total_cmp(&a.share()));
        let rest = self.best.split_off(count.min(self.best.len()));
        self.best.extend(rest.into_iter().filter(|tried| chosen.iter().any(|one| one.setting() == tried.setting())));
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
            plan.usual_first = i == 0 && first == 0 && above && plan.setting.is_usual(&self.trials.job);
            plan.text = plan.words(&self.trials.job, System::Metric);
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
