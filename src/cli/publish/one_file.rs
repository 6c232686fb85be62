//! The page as one file: styles, fonts, icon, code and workers laid into `index.html`. No server stands behind it, so
//! nothing may be fetched: the core is a plain script with its WebAssembly as text, from which page and workers unpack it.

use crate::build::read;
use crate::serve::site::gzip;
use anyhow::{Context, Result, ensure};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::fmt::Write;
use std::fs;
use std::path::Path;

/// Unpacks the core and has workers started from the page's own text.
const INSIDE: &str = include_str!("inside.js");
const GENERATOR: &str = "<meta name=\"generator\" content=\"";
const ONE: &str = ", one file\">\n";

/// Whether a text is a page of one file, which the next one may replace.
pub fn is_one(html: &str) -> bool {
    let head = &html[..html.floor_char_boundary(2000)];
    head.split_once(GENERATOR).is_some_and(|(_, rest)| rest.starts_with("fanlap ") && rest.contains(ONE))
}

/// The page of a folder, whose core is a plain script.
pub fn page(folder: &Path, version: &str) -> Result<String> {
    let text = |name: &str| fs::read_to_string(folder.join(name)).with_context(|| format!("cannot read {name}"));
    let wasm = STANDARD.encode(gzip(&read(&folder.join("pkg/fanlap_bg.wasm"))?, flate2::Compression::best()));
    let core = format!("{}\n{}", text("pkg/fanlap.js")?, INSIDE.replace("PACKED", &wasm));
    let main = format!("startWorkersFrom(\"core\", \"worker\");\n{}", of_the_core(&text("main.js")?)?);
    let (core, worker, main) = (inline(core)?, inline(of_the_core(&text("worker.js")?)?)?, inline(main)?);
    let (html, styles) = with_styles(&text("index.html")?, folder)?;
    let (html, main_tag) = (without_links(&html, folder)?, "<script type=\"module\" src=\"main.js\"></script>\n");
    let scripts = format!(
        "<script id=\"core\">{core}</script>\n<script id=\"worker\" type=\"text/plain\">{worker}</script>\n\
         <script type=\"module\">{main}</script>\n"
    );
    let html = replaced(&html, main_tag, &scripts)?;
    let policy = policy(&[core, main], &styles);
    let html = super::with_policy(&html, &policy)?;
    replaced(&html, "<title>", &format!("{GENERATOR}{version}{ONE}<title>"))
}

/// Nothing is fetched, and only these very scripts and styles count.
fn policy(scripts: &[String], styles: &[String]) -> String {
    let hashes = |texts: &[String]| {
        let hash = |text: &String| format!(" 'sha256-{}'", STANDARD.encode(hmac_sha256::Hash::hash(text.as_bytes())));
        texts.iter().map(hash).collect::<String>()
    };
    format!(
        "default-src 'none'; script-src 'wasm-unsafe-eval'{}; style-src{}; img-src data: blob:; font-src data:; \
         worker-src blob:; base-uri 'none'; form-action 'none'",
        hashes(scripts),
        hashes(styles)
    )
}

/// A module that imports the core, as one that finds it in the same place.
fn of_the_core(module: &str) -> Result<String> {
    let line = module.lines().find(|line| line.starts_with("import ")).unwrap_or_default();
    let names = line.strip_prefix("import init, {").and_then(|rest| rest.strip_suffix("} from \"./pkg/fanlap.js\";"));
    let names = names.with_context(|| format!("a script imports the core in an unknown way: {line}"))?;
    let found = replaced(module, line, &format!("const init = unpackedCore, {{{names}}} = wasm_bindgen;"))?;
    ensure!(
        !found.contains("\nimport ") && !found.contains("\nexport "),
        "a script imports or exports more than the core"
    );
    Ok(found)
}

/// A script as it may stand in a page.
fn inline(script: String) -> Result<String> {
    let small = script.to_ascii_lowercase();
    ensure!(
        !["</script", "<script", "<!--"].iter().any(|end| small.contains(end)),
        "a script holds the word that would end it"
    );
    Ok(script)
}

/// The page with its style sheets in their places, and those.
fn with_styles(html: &str, folder: &Path) -> Result<(String, Vec<String>)> {
    let (mut page, mut styles) = (String::new(), Vec::new());
    for line in html.lines() {
        let sheet = line.strip_prefix("<link rel=\"stylesheet\" href=\"").and_then(|rest| rest.strip_suffix("\">"));
        match sheet {
            None => page += line,
            Some(sheet) => {
                let text = String::from_utf8(read(&folder.join(sheet))?)?;
                let style = with_fonts(&text, folder)?;
                let _ = write!(page, "<style>{style}</style>");
                styles.push(style);
            }
        }
        page.push('\n');
    }
    ensure!(!styles.is_empty(), "index.html has no style sheet of a known form");
    Ok((page, styles))
}

/// A style sheet with its fonts inside.
fn with_fonts(css: &str, folder: &Path) -> Result<String> {
    const BEFORE: &str = "url(\"fonts/";
    let mut parts = css.split(BEFORE);
    let mut text = parts.next().unwrap_or_default().to_string();
    for part in parts {
        let (name, rest) = part.split_once('"').context("a font's address has no end")?;
        let font = STANDARD.encode(read(&folder.join("fonts").join(name))?);
        let _ = write!(text, "url(\"data:font/woff2;base64,{font}\"{rest}");
    }
    Ok(text)
}

/// The page without what needs a server, and with its icon inside.
fn without_links(html: &str, folder: &Path) -> Result<String> {
    let needs_server =
        |line: &&str| ["manifest", "preload"].iter().any(|rel| line.starts_with(&format!("<link rel=\"{rel}\"")));
    let html: String = html.lines().filter(|line| !needs_server(line)).map(|line| format!("{line}\n")).collect();
    let icon = STANDARD.encode(read(&folder.join("icon.svg"))?);
    replaced(&html, "href=\"icon.svg\"", &format!("href=\"data:image/svg+xml;base64,{icon}\""))
}

/// A text with one place of it replaced; an error where that is not there once.
fn replaced(text: &str, from: &str, to: &str) -> Result<String> {
    ensure!(text.matches(from).count() == 1, "the page does not hold {from} once");
    Ok(text.replacen(from, to, 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scripts_find_the_core_in_the_page() {
        let module = "// first\nimport init, { start } from \"./pkg/fanlap.js\";\nstart();\n";
        let want = "// first\nconst init = unpackedCore, { start } = wasm_bindgen;\nstart();\n";
        assert_eq!(of_the_core(module).unwrap(), want);
        for other in ["start();", "import x from \"./y.js\";\n", &format!("{module}import y from \"./z.js\";\n")] {
            assert!(of_the_core(other).is_err(), "{other}");
        }
        assert!(inline("let a = '</SCRIPT>'".to_string()).is_err());
    }

    #[test]
    fn only_a_page_of_one_file_is_told_as_one() {
        let one = format!("<!DOCTYPE html>\n{GENERATOR}fanlap 0.1.0{ONE}");
        assert!(is_one(&one) && !is_one(&one.replace("one file", "two files")) && !is_one("<!DOCTYPE html>"));
        assert!(!is_one(&format!("{}{one}", "\u{fc}".repeat(1001))));
    }
}
