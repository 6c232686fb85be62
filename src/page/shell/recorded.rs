//! What was recorded by hand beside the job, and what of it is kept: in a step of undo, in the browser, in a file.
//! Knows recordings and jobs; what else is in the hand is for its place to say.

use fanlap::job::Job;
use fanlap::strokes::Track;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use std::rc::Rc;

/// The recordings, coat by coat, and the coat in the hand.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Recorded {
    /// What was recorded, coat by coat.
    pub tracks: Vec<Track>,
    /// The coat that is being sprayed.
    pub coat: usize,
}

impl Recorded {
    /// Whether anything was recorded.
    pub fn any(&self) -> bool {
        self.tracks.iter().any(|track| !track.samples.is_empty())
    }

    /// The recording of the coat in the hand.
    pub fn track(&mut self) -> &mut Track {
        if self.tracks.len() <= self.coat {
            self.tracks.resize_with(self.coat + 1, Track::default);
        }
        &mut self.tracks[self.coat]
    }

    /// The job as it is sprayed by hand: a coat that was not recorded yet is not sprayed.
    pub fn by_hand(&self, job: &Job) -> Job {
        let mut job = job.clone();
        let recorded = self.tracks.iter().rposition(|track| !track.samples.is_empty()).unwrap_or(0);
        job.coats.truncate(recorded.max(self.coat) + 1);
        for (i, coat) in job.coats.iter_mut().enumerate() {
            coat.track = Some(self.tracks.get(i).cloned().unwrap_or_default());
        }
        job
    }
}

/// A step that can be undone: what it goes back to.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Link of the job.
    pub job: String,
    /// What was in the hand, as JSON; none where the step left that alone.
    pub hand: Option<Rc<str>>,
}

/// What is in the hand: recordings, and what its place keeps with them.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Kept {
    /// Recordings, coat by coat.
    pub tracks: Vec<Track>,
    /// The coat that is sprayed.
    #[serde(rename = "coat_in_hand")]
    pub coat: usize,
    /// What the place keeps.
    #[serde(flatten)]
    pub more: Map<String, Value>,
}

impl Kept {
    /// The job with its recordings, as a file holds both.
    pub fn with(&self, job: &Job) -> Job {
        with_tracks(job, &self.tracks)
    }
}

/// A job with recordings, as a file holds both.
pub fn with_tracks(job: &Job, tracks: &[Track]) -> Job {
    let mut job = job.clone();
    for (coat, track) in job.coats.iter_mut().zip(tracks) {
        coat.track = (!track.samples.is_empty()).then(|| track.clone());
    }
    job
}
