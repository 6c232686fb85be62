//! Reads measured colours from CxF3 (ISO 17972-1). Element names as in the schema CxF3_Core.xsd, version 3.0.018 (in the
//! Perl distribution ICC-Profile 0.82 on CPAN). Does not know CxF2, transmittance, emission or device values.

use super::bands::Grid;
use super::values::{Scale, aspecular, lab, named_angle, number};
use super::{Reading, Sample};
use fanlap_film::error::Problem;
use roxmltree::{Document, Node, ParsingOptions};
use std::collections::BTreeMap;

const NAMESPACE: &str = "http://colorexchangeformat.com/CxF3-core";
/// Most elements, texts and comments that are read.
const MOST_NODES: u32 = 200_000;

/// Reads every object that has a reflectance spectrum or CIELAB.
pub(super) fn read(file: &str, text: &str, scale: Scale) -> Result<Vec<Sample>, Problem> {
    // document type definitions, and so entities of one's own, are refused by default
    let options = ParsingOptions { nodes_limit: MOST_NODES, ..ParsingOptions::default() };
    let document = Document::parse_with_options(text, options).map_err(|fault| {
        let remedy = "Export the file anew: it is damaged, too large or no CxF3.";
        Problem::new(file, format!("XML with a fault: {fault}"), "well-formed CxF3 without a DTD", remedy)
    })?;
    let root = document.root_element();
    if !root.has_tag_name((NAMESPACE, "CxF")) {
        let given =
            format!("<{}> in namespace {:?}", root.tag_name().name(), root.tag_name().namespace().unwrap_or(""));
        let remedy = "Export as CxF3; older CxF and other XML are not read.";
        return Err(Problem::new(file, given, format!("<CxF> in namespace {NAMESPACE}"), remedy));
    }
    equally_long(file, root)?;
    let comments = root.descendants().filter(Node::is_comment).filter_map(|comment| comment.text());
    let book = Book { file, scale: Scale::said_by(comments).or(scale), specifications: specifications(root) };
    let mut samples = Vec::new();
    for (index, object) in root.descendants().filter(|node| is(*node, "Object")).enumerate() {
        book.object(index, object, &mut samples)?;
    }
    Ok(samples)
}

/// Refuses spectra of one specification that differ in length: nothing else in a file shows that a value is lost.
fn equally_long(file: &str, root: Node) -> Result<(), Problem> {
    let mut lengths = BTreeMap::new();
    for value in root.descendants().filter(|node| is(*node, "ReflectanceSpectrum")) {
        let count = text(value).split_whitespace().count();
        let kind = ["ColorSpecification", "StartWL", "Increment"].map(|key| value.attribute(key));
        let others = *lengths.entry(kind).or_insert(count);
        if count != others {
            let owner = value.ancestors().find(|node| is(*node, "Object")).and_then(|object| object.attribute("Name"));
            let at = format!("{file}, object {}", owner.unwrap_or("without a name"));
            let allowed = format!("{others} values, as the spectra before it with the same ColorSpecification");
            let remedy = "Export the file anew and whole.";
            return Err(Problem::new(at, format!("a spectrum of {count} values"), allowed, remedy));
        }
    }
    Ok(())
}

/// A file with what holds for all of it.
struct Book<'a> {
    file: &'a str,
    scale: Scale,
    specifications: BTreeMap<&'a str, Specification>,
}

/// How a value was measured; texts are empty and numbers none where the file does not say.
#[derive(Default)]
struct Specification {
    start: String,
    increment: String,
    illuminant: String,
    observer: String,
    aspecular: Option<f64>,
}

/// All specifications of a file by their Id.
fn specifications<'a>(root: Node<'a, 'a>) -> BTreeMap<&'a str, Specification> {
    let nodes = root.descendants().filter(|node| is(*node, "ColorSpecification"));
    nodes.filter_map(|node| Some((node.attribute("Id")?, Specification::of(node)))).collect()
}

impl Specification {
    fn of(node: Node) -> Self {
        let said = |tag| inside(node, &["TristimulusSpec", tag]).next().map_or(String::new(), text);
        let range = inside(node, &["MeasurementSpec", "WavelengthRange"]).next();
        let attribute = |key| range.and_then(|range| range.attribute(key)).unwrap_or("").to_string();
        Self {
            start: attribute("StartWL"),
            increment: attribute("Increment"),
            illuminant: said("Illuminant"),
            observer: said("Observer"),
            aspecular: geometry(node),
        }
    }
}

impl Book<'_> {
    /// Adds the samples of one object.
    fn object(&self, index: usize, object: Node, samples: &mut Vec<Sample>) -> Result<(), Problem> {
        let given = ["Name", "Id"].into_iter().filter_map(|key| object.attribute(key)).map(str::trim);
        let name = given.into_iter().find(|name| !name.is_empty());
        let name = name.map_or_else(|| format!("sample {}", index + 1), str::to_string);
        let mut values: Vec<Node> = inside(object, &["ColorValues", "ReflectanceSpectrum"]).collect();
        if values.is_empty() {
            values = inside(object, &["ColorValues", "ColorCIELab"]).collect();
        }
        for value in values {
            samples.push(self.sample(&name, value)?);
        }
        Ok(())
    }

    fn sample(&self, name: &str, value: Node) -> Result<Sample, Problem> {
        let at = format!("{}, object {name}", self.file);
        let unsaid = Specification::default();
        let specification = match value.attribute("ColorSpecification") {
            Some(identity) => self.specifications.get(identity).ok_or_else(|| unheld(&at, identity))?,
            None => &unsaid,
        };
        let named = value.attribute("Name").and_then(named_angle).or(named_angle(name));
        let aspecular = aspecular(&at, specification.aspecular, named)?;
        let colour = is(value, "ColorCIELab");
        let reading = if colour { cielab(&at, value, specification) } else { self.spectrum(&at, value, specification) };
        Ok(Sample { name: name.to_string(), aspecular, reading: reading? })
    }

    fn spectrum(&self, at: &str, value: Node, specification: &Specification) -> Result<Reading, Problem> {
        let nanometres = |key: &str, otherwise: &str| {
            let text = value.attribute(key).unwrap_or(otherwise);
            let remedy = "Give StartWL and Increment in the WavelengthRange of the ColorSpecification.";
            number(text).ok_or_else(|| Problem::new(format!("{at}, {key}"), text, "a wavelength, nm", remedy))
        };
        let first = nanometres("StartWL", &specification.start)?;
        let step = nanometres("Increment", &specification.increment)?;
        let text = text(value);
        let cells: Vec<&str> = text.split_whitespace().collect();
        let wavelengths: Vec<f64> = (0..cells.len()).map(|index| first + step * index as f64).collect();
        let grid = Grid::of(|_| at.to_string(), &wavelengths)?;
        let values = cells.iter().zip(&wavelengths);
        let values = values.map(|(cell, nm)| self.scale.reflectance(&format!("{at}, {nm} nm"), cell));
        Ok(Reading::Spectrum(grid.spectrum(&values.collect::<Result<Vec<f64>, Problem>>()?)))
    }
}

fn cielab(at: &str, value: Node, specification: &Specification) -> Result<Reading, Problem> {
    let [l, a, b] = ["L", "A", "B"].map(|tag| inside(value, &[tag]).next().map_or(String::new(), text));
    lab(at, [&l, &a, &b], &specification.illuminant, &specification.observer)
}

/// Says that the file names a specification and does not hold it.
fn unheld(at: &str, identity: &str) -> Problem {
    let given = format!("ColorSpecification \"{identity}\", which the file does not hold");
    Problem::new(at, given, "the Id of a ColorSpecification of the file", "Export the file anew and whole.")
}

/// Whether a node is an element of that name.
fn is(node: Node, tag: &str) -> bool {
    node.has_tag_name((NAMESPACE, tag))
}

/// The elements that a path of names leads to, in order; `*` is any name.
fn inside<'a>(node: Node<'a, 'a>, path: &[&str]) -> impl Iterator<Item = Node<'a, 'a>> + use<'a> {
    let step = |nodes: Vec<Node<'a, 'a>>, tag: &&str| {
        let children = nodes.into_iter().flat_map(|node| node.children());
        children.filter(|child| is(*child, tag) || *tag == "*" && child.is_element()).collect()
    };
    path.iter().fold(vec![node], step).into_iter()
}

/// The text of a node, comments left out.
fn text(node: Node) -> String {
    node.children()
        .filter(Node::is_text)
        .filter_map(|part| part.text())
        .collect::<Vec<_>>()
        .join(" ")
        .trim()
        .to_string()
}

/// The aspecular angle of a specification with one light and one view. Angles count from the normal, those of the view
/// positive on the side of the light, so that the mirror direction lies at -45 degrees (as ASTM E2539 writes its
/// geometries, from memory); 0:45 is 45:0 reversed.
fn geometry(specification: Node) -> Option<f64> {
    let one = |tag| {
        let mut found = inside(specification, &["MeasurementSpec", "GeometryChoice", "*", tag]);
        found.next().filter(|_| found.next().is_none()).and_then(|node| number(&text(node)))
    };
    if let Some(aspecular) = one("AspecularAngle") {
        let light = ["IlluminationAngle", "InfluxAngle"].into_iter().find_map(one);
        return light.is_none_or(|light| light == 45.0).then_some(aspecular);
    }
    match (one("IlluminationAngle")?, one("MeasurementAngle")?) {
        (light, view) if light == 45.0 => Some(light + view),
        (light, view) if light == 0.0 && view.abs() == 45.0 => Some(45.0),
        _ => None,
    }
}
