//! Reads measured colours from a file: plain tables, CGATS.17 text or CxF3. The layouts of the tables are our own; the
//! sources of the others stand in their files. Does not know what the colours are measured for.

mod bands;
mod cgats;
mod columns;
mod cxf;
mod delimited;
mod values;

pub use values::Scale;

use fanlap_colour::{ANGLES, Illuminant, Lab, Observer, Spectrum};
use fanlap_film::error::Problem;
use fanlap_film::units::Degrees;

/// One measured colour.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// What the file calls it, never empty; `sample 3` where the file gives no name.
    pub name: String,
    /// The angle from the mirror direction towards the light, degrees, if the file says.
    pub aspecular: Option<Degrees>,
    /// What was measured.
    pub reading: Reading,
}

/// What the instrument gave.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "nearly every sample holds a spectrum, and none is kept for long")]
pub enum Reading {
    /// Reflectance factor by band, 1 = perfect diffuser, 0 to 20.
    Spectrum(Spectrum),
    /// CIELAB, with the light and the eye it was computed for where the file says.
    Lab {
        /// The colour.
        lab: Lab,
        /// The light, if the file says.
        illuminant: Option<Illuminant>,
        /// The eye, if the file says.
        observer: Option<Observer>,
    },
}

/// What a person says of a file where the file itself is silent.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Said {
    /// The angle of every sample that has none, degrees from the mirror direction towards the light.
    pub aspecular: Option<Degrees>,
    /// The scale of its reflectances.
    pub scale: Scale,
}

/// Longest file that is read, bytes.
const MOST_BYTES: usize = 2_000_000;

/// Reads a file of measured colours, whichever of four formats it is: its content decides, not its name. `file` only
/// serves to say where a fault is. The samples come in the order of the file, at least one.
///
/// # Table by wavelength
///
/// The first column holds wavelengths: it is headed `wavelength_nm` (or `wavelength`, `nm`), or otherwise, in whatever
/// language, and its numbers are wavelengths. Every other column is one spectrum. A column that names an angle, or is
/// nothing but a number, is measured at that aspecular angle.
///
/// ```text
/// wavelength_nm,R_as25,R_as45
/// 380,0.071,0.052
/// 390,0.074,0.054
/// ...
/// ```
///
/// # Table by sample
///
/// One row a colour. Columns, in any order, capitals or not: `name` (or `sample_name`, `sample_id`, `sample`, `id`),
/// `aspecular_deg` (or `aspecular`, `aspecular_angle`, `angle`, `angle_deg`), and either the wavelengths (`380`, `380nm`, `nm380`, `R380`) or
/// `L`, `a`, `b` (or `L*`, `lab_l`, ...) with `illuminant` (`D65`, `A`, `LED-B3`) and `observer_deg` (`2`, `10`). Name,
/// angle, illuminant and observer may be missing, as columns or as empty cells. Another column is refused.
///
/// ```text
/// name,aspecular_deg,L,a,b,illuminant,observer_deg
/// door,45,41.2,38.5,21.0,D65,10
/// ```
///
/// Both tables: cells are parted by tabs, semicolons or commas, whichever of these, in this order, the header line
/// has; cells may stand in double quotes; the decimal sign may be a comma (in a table parted by commas only in
/// quotes); empty lines, lines of empty cells and lines that begin with `#` are passed over.
///
/// # CGATS.17 text (ANSI CGATS.17, ISO 28178)
///
/// The field names between `BEGIN_DATA_FORMAT` and `END_DATA_FORMAT`, the values between `BEGIN_DATA` and `END_DATA`,
/// both parted by white space and wrapped over lines at will; text in double quotes; `#` begins a comment. Read are
/// `SAMPLE_NAME`, else `SAMPLE_ID`; `ASPECULAR`, `ASPECULAR_DEG` or `ASPECULAR_ANGLE`; bands as `SPECTRAL_NM380`,
/// `SPECTRAL_380`, `NM380`, `NM_380`, `SPECTRAL_DEC380` or, in per cent, `SPECTRAL_PCT380`; `LAB_L`, `LAB_A`, `LAB_B`.
/// Other fields are passed over, and so is a table without colours. `NUMBER_OF_FIELDS` and `NUMBER_OF_SETS` are
/// checked where given. The keywords `ASPECULAR_ANGLE` and `MEASUREMENT_GEOMETRY` (`"as15"`, `"45/0"`) say the angle
/// of what follows. The light of CIELAB comes from `ILLUMINANT` and `OBSERVER` as fields or as keywords, or from
/// `WEIGHTING_FUNCTION "ILLUMINANT, D65"` and `WEIGHTING_FUNCTION "OBSERVER, 10 degree"`. `SPECTRAL_NORM 100` means
/// per cent. Several tables may follow each other; a later one without fields has those of the one before.
///
/// # CxF3 (ISO 17972-1)
///
/// XML whose root is `CxF` in the namespace `http://colorexchangeformat.com/CxF3-core`. Read are the `Object`s, by
/// their `Name`, else `Id`: every `ReflectanceSpectrum` of their `ColorValues`, else every `ColorCIELab`. The first
/// wavelength and the step come from `StartWL` and `Increment` of the spectrum itself or of the `WavelengthRange` of
/// its `ColorSpecification`, all of whose spectra must be equally long; light and eye come from the `Illuminant` and
/// `Observer` of its `TristimulusSpec`. The aspecular angle comes from its `MeasurementSpec` with an
/// `IlluminationAngle` of 45 and one `MeasurementAngle` counted from the normal, positive on the side of the light
/// (45 gives as90, 0 as45, -30 as15); 0 and 45 count as as45; or from one `AspecularAngle`, with light at 45. Other objects and values are passed over.
///
/// # What holds for all
///
/// The text is at most 2 MB long; a byte order mark is passed over. Where a sample has a spectrum and CIELAB, the
/// spectrum is taken.
///
/// - **Angle**: without a field or geometry that says it, from the name: at its end `door_as45`, `as-15`, or anywhere
///   one of the usual angles in degrees: `15deg`, `door 110°`. Where both say it they must agree. -90 to 180 degrees.
///   Where no sample says its angle, there are several, and each is named by another of the usual angles and nothing
///   else (`15`, `45`, `110`), these are the angles. Otherwise it is left open, never taken as 45 degrees.
/// - **Wavelengths**: upwards in even steps of 10 or 20 nm, on whole tens, from 400 nm or below to 700 nm or above.
///   Bands between steps of 20 nm are interpolated by a Lagrange polynomial of third order through four neighbours, of
///   second order through three in the first and last step (the way of ASTM E2022, from memory). Missing bands at the
///   ends are held at the last measured value, which adds their weights to it (ASTM E308). Bands beyond 380 to
///   730 nm are dropped.
/// - **Reflectance**: 1 is the perfect diffuser. Values above 2 are refused unless a comment of the one word `percent`
///   or `factor` says the scale (`# percent`, in CxF3 `<!-- percent -->`; the first such comment counts), or the
///   column's heading ends in `%`; then up to 20 or 2000 % are accepted. Below 0 down to -0.01 counts as 0.
/// - **CIELAB**: L 0 to 400, a and b -400 to 400.
///
/// # Errors
///
/// A [`Problem`] with the file and the line, sample or object, for anything else than the above.
///
/// ```
/// use fanlap_formats::measured::{Reading, read_measured};
/// let samples = read_measured("door.csv", "name;L;a;b\ndoor_as45;41,2;38,5;21\n").unwrap();
/// assert_eq!(samples[0].aspecular.unwrap().0, 45.0);
/// assert!(matches!(samples[0].reading, Reading::Lab { lab, .. } if lab.l == 41.2));
/// ```
pub fn read_measured(file: &str, text: &str) -> Result<Vec<Sample>, Problem> {
    read_measured_as(file, text, Said::default())
}

/// Reads a file of measured colours with what a person says where the file is silent; what the file says comes first.
///
/// ```
/// use fanlap_formats::measured::{Said, read_measured_as};
/// use fanlap_film::units::Degrees;
/// let said = Said { aspecular: Some(Degrees(15.0)), ..Said::default() };
/// let samples = read_measured_as("door.csv", "name,L,a,b\ndoor,41,38,21\n", said).unwrap();
/// assert_eq!(samples[0].aspecular.unwrap().0, 15.0);
/// ```
pub fn read_measured_as(file: &str, text: &str, said: Said) -> Result<Vec<Sample>, Problem> {
    if text.len() > MOST_BYTES {
        let remedy = "Divide the file, or export the colours alone.";
        return Err(Problem::new(file, format!("{} bytes", text.len()), "2 MB (2000000 bytes)", remedy));
    }
    let text = text.trim_start_matches('\u{feff}');
    let mut samples = if text.trim_start().starts_with('<') {
        cxf::read(file, text, said.scale)?
    } else if cgats::recognised(text) {
        cgats::read(file, text, said.scale)?
    } else {
        delimited::read(file, text, said.scale)?
    };
    if samples.is_empty() {
        let remedy = "Export the measured colours with their values.";
        return Err(Problem::new(file, "no measured colour", "at least one spectrum or CIELAB colour", remedy));
    }
    named_by_angle(&mut samples);
    samples.iter_mut().for_each(|sample| sample.aspecular = sample.aspecular.or(said.aspecular));
    Ok(samples)
}

/// Takes names that are nothing but angles for the angles.
fn named_by_angle(samples: &mut [Sample]) {
    let angle = |sample: &Sample| values::number(&sample.name).filter(|angle| ANGLES.contains(angle));
    let Some(angles) = samples.iter().map(angle).collect::<Option<Vec<f64>>>() else { return };
    let different = (1..angles.len()).all(|i| !angles[..i].contains(&angles[i]));
    if samples.len() > 1 && different && samples.iter().all(|sample| sample.aspecular.is_none()) {
        samples.iter_mut().zip(angles).for_each(|(sample, angle)| sample.aspecular = Some(Degrees(angle)));
    }
}
