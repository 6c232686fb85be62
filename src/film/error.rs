//! What is wrong with an input, said so that a person can mend it: where, what was given, what is allowed
//! with its unit, and what to do. Knows nothing of jobs, files or screens.

use std::fmt;

/// One refused input.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Where: a path such as `coats[1].overlap`, or a file's name.
    pub at: String,
    /// What was given, as the person wrote it.
    pub given: String,
    /// What is allowed, with its unit.
    pub allowed: String,
    /// What to do about it, one sentence.
    pub remedy: String,
}

impl Problem {
    /// Builds a problem from its four parts.
    pub fn new(
        at: impl Into<String>,
        given: impl Into<String>,
        allowed: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self {
            at: line(at.into()),
            given: line(given.into()),
            allowed: line(allowed.into()),
            remedy: line(remedy.into()),
        }
    }
}

impl Problem {
    /// The same of a place within a file.
    pub fn within(self, file: &str) -> Self {
        Self { at: line(format!("{file}, {}", self.at)), ..self }
    }

    /// For a person who sees the place at fault: what to do first, then what is allowed and what was given.
    ///
    /// ```
    /// let problem = fanlap_film::error::Problem::new("measured", "one card", "two cards", "Measure another card.");
    /// assert_eq!(problem.plainly(), "Measure another card. Wanted: two cards. Given: one card.");
    /// ```
    pub fn plainly(&self) -> String {
        format!("{} Wanted: {}. Given: {}.", self.remedy, self.allowed, self.given)
    }
}

/// Longest part of a message, in characters.
const LONGEST: usize = 300;

/// A part of a message on one line, not longer than a person reads, and never empty.
fn line(text: String) -> String {
    match text.char_indices().nth(LONGEST) {
        _ if text.trim().is_empty() => "nothing".to_string(),
        Some((end, _)) => visible(&text[..end]) + "...",
        None => visible(&text),
    }
}

/// A text as it can be shown on one line: what would steer the screen, turn the direction of writing or hide itself is
/// written out.
///
/// ```
/// use fanlap_film::error::visible;
/// assert_eq!(visible("red\u{202e}neerg\n"), "red\\u{202e}neerg\\u{a}");
/// assert_eq!(visible("\u{fc}ber \u{201c}rot\u{201d}"), "\u{fc}ber \u{201c}rot\u{201d}");
/// ```
pub fn visible(text: &str) -> String {
    let hidden = |c: char| c.is_control() || HIDDEN.iter().any(|(first, last)| (*first..=*last).contains(&c));
    let shown = |c: char| if hidden(c) { c.escape_unicode().to_string() } else { c.to_string() };
    text.chars().map(shown).collect()
}

/// Characters of Unicode that format and are not seen: joiners, marks, overrides and isolates of direction, line and
/// paragraph separators, byte order mark, annotations, tags.
const HIDDEN: [(char, char); 9] = [
    ('\u{ad}', '\u{ad}'),
    ('\u{61c}', '\u{61c}'),
    ('\u{180e}', '\u{180e}'),
    ('\u{200b}', '\u{200f}'),
    ('\u{2028}', '\u{202e}'),
    ('\u{2060}', '\u{206f}'),
    ('\u{feff}', '\u{feff}'),
    ('\u{fff9}', '\u{fffb}'),
    ('\u{e0000}', '\u{e007f}'),
];

/// What stands in a message for what was read in a file that is not to be repeated.
const NOT_REPEATED: &str = "text that is no number";
/// Words of the messages about a file, and of the formats themselves.
const WORDS: &str = "a a* after alone among and angle aspecular b b* begin_data bytes cells cie cielab cgats column columns count cxf3 \
                     data degrees end_data end_data_format begin_data_format fields first for format headed illuminant \
                     it its l l* lab line measured more name nm no nothing number_of_fields number_of_sets object observer \
                     of one or quotes row rows sample samples second sets spectra spectrum than that the to under value \
                     values wavelength wavelength_nm wavelengths which with without xml";

impl Problem {
    /// The same of a file that a job names: what the file holds is repeated only where it is a number or a word of its
    /// format. The file may be another than whoever sent the job says, and messages are passed on.
    ///
    /// ```
    /// # use fanlap_film::error::Problem;
    /// let problem = Problem::new("a.csv, line 1 (my secret)", "380 nm after root:x:0", "even steps", "Export anew.");
    /// let problem = problem.without_content("a.csv");
    /// assert_eq!(problem.at, "a.csv, line 1 text that is no number");
    /// assert_eq!(problem.given, "380 nm after text that is no number");
    /// ```
    pub fn without_content(self, file: &str) -> Self {
        let at = match self.at.strip_prefix(&line(file.to_string())) {
            Some(rest) => format!("{file}{}", plain_words(rest)),
            None => plain_words(&self.at),
        };
        Self { at: line(at), given: plain_words(&self.given), ..self }
    }
}

/// A text of which only numbers and known words are left.
fn plain_words(text: &str) -> String {
    let known = |word: &&str| {
        let bare = word.trim_matches(|c: char| ",;:()\"<>".contains(c)).to_ascii_lowercase();
        let number = bare.len() < 30 && bare.replace(',', ".").trim_start_matches("as").parse::<f64>().is_ok();
        bare.is_empty() || number || WORDS.split_whitespace().any(|known| known == bare)
    };
    let mut kept: Vec<&str> = Vec::new();
    for word in text.split(' ') {
        match known(&word) {
            true => kept.push(word),
            false if kept.last() == Some(&NOT_REPEATED) => {}
            false => kept.push(NOT_REPEATED),
        }
    }
    kept.join(" ")
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: given {}; allowed is {}. {}", self.at, self.given, self.allowed, self.remedy)
    }
}

impl std::error::Error for Problem {}
