//! `publish`: the page as a folder for any web server, packed beside plain, or as one file that needs none. What is
//! made is whole before it takes its place, and nothing that a person made is lost. Knows nothing of what the page shows.

mod one_file;

use super::build::{self, Door, Make};
use super::files::Files;
use super::serve::ROOM;
use super::serve::site::{HEADERS, gzip, worth_packing};
use anyhow::{Context, Result};
use fanlap::error::Problem;
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};

/// Marks a folder as a publication and names its files, so that the next one knows what it may replace.
const MARK: &str = "fanlap-publication.json";

/// Publishes the page as a folder.
pub fn folder(folder: &Path, make: Make) -> Result<()> {
    let folder = &plain(folder)?;
    let earlier = earlier(folder)?;
    let fresh = Scratch::beside(folder, "new")?;
    build::build_into(&fresh.0, Door::Module, make)?;
    // the server of a room says its addresses here; a published page has its own
    build::write(&fresh.0.join(&ROOM[1..]), b"[]\n")?;
    let index = fresh.0.join("index.html");
    build::write(&index, with_policy(&fs::read_to_string(&index)?, &policy())?.as_bytes())?;
    build::write_version(&fresh.0, "published")?;
    let weight = pack_all(&fresh.0)?;
    let files = build::files_under(&fresh.0)?;
    let names = files.iter().map(|file| name_within(&fresh.0, file)).collect::<Result<Vec<_>>>()?;
    let mark = json!({ "fanlap_publication": 1, "by": version(), "files": names });
    build::write(&fresh.0.join(MARK), format!("{mark:#}\n").as_bytes())?;
    carry_over(folder, earlier.as_deref(), &fresh.0)?;
    take_place(fresh, folder)?;
    println!("{}", told(folder, names.len() + 1, &weight));
    Ok(())
}

/// Publishes the page as one file.
pub fn one_file(file: &Path, make: Make) -> Result<()> {
    let refused = |given: &str, remedy: &str| {
        Problem::new(format!("--one-file {}", file.display()), given, "a name for a web page", remedy)
    };
    let folder = file.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let name = file.file_name().map(|name| name.to_string_lossy().into_owned());
    let page = |name: &String| [".html", ".htm"].iter().any(|end| name.to_ascii_lowercase().ends_with(end));
    let name = name.filter(page).ok_or_else(|| refused("another name", "Let it end in .html."))?;
    if fs::symlink_metadata(file).is_ok() && !fs::read_to_string(file).is_ok_and(|text| one_file::is_one(&text)) {
        return Err(
            refused("a name that something else has", "Choose another name, or move away what is there.").into()
        );
    }
    let made = Scratch::beside(&std::path::absolute(file)?, "new")?;
    build::build_into(&made.0, Door::Script, make)?;
    let text = one_file::page(&made.0, &version())?;
    Files::new(true).write(folder, &[(name, text.clone().into_bytes())])?;
    println!(
        "One file of {}: it opens by double click, from a stick too, without a server and without the net, in any usual \
         browser since 2023.\nJobs and lessons leave it as files, since no link can lead to it.",
        megabytes(text.len())
    );
    Ok(())
}

fn version() -> String {
    format!("fanlap {}", env!("CARGO_PKG_VERSION"))
}

/// A folder beside the place of what is made, removed in the end whatever becomes of it.
struct Scratch(PathBuf);

impl Scratch {
    fn beside(place: &Path, what: &str) -> Result<Self> {
        let name = place.file_name().context("this place has no name")?.to_string_lossy();
        let folder = place.with_file_name(format!(".{name}.fanlap-{what}"));
        build::remove(&folder)?;
        fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
        Ok(Self(folder))
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// The folder itself, where links lead to it.
fn plain(folder: &Path) -> Result<PathBuf> {
    if let Ok(place) = fs::canonicalize(folder) {
        return Ok(place);
    }
    std::path::absolute(folder).with_context(|| format!("cannot find {}", folder.display()))
}

/// The names of the files of an earlier publication; none in a folder that is empty or not there. Anything else is
/// refused.
fn earlier(folder: &Path) -> Result<Option<Vec<String>>, Problem> {
    let refused = |given: &str| {
        let allowed = "a folder that is empty, not there, or holds an earlier publication";
        Problem::new(folder.display().to_string(), given, allowed, "Name another folder, or move away what is there.")
    };
    if fs::symlink_metadata(folder).is_err() {
        return Ok(None);
    }
    let mut inside = fs::read_dir(folder).map_err(|_| refused("something that is no readable folder"))?;
    if inside.next().is_none() {
        return Ok(None);
    }
    let mark = fs::read_to_string(folder.join(MARK)).map_err(|_| refused("a folder with other files"))?;
    let mark: Value = serde_json::from_str(&mark).map_err(|_| refused("a folder whose mark cannot be read"))?;
    let names: Option<Vec<String>> =
        mark["files"].as_array().and_then(|files| files.iter().map(|file| file.as_str().map(str::to_string)).collect());
    let names = names.filter(|_| mark["fanlap_publication"] == 1);
    names.map(Some).ok_or_else(|| refused("a folder whose mark is another program's"))
}

/// What somebody laid into an earlier publication, such as a server's settings, stays.
fn carry_over(folder: &Path, earlier: Option<&[String]>, fresh: &Path) -> Result<()> {
    let Some(own) = earlier else { return Ok(()) };
    for file in build::all_files_under(folder)? {
        let name = name_within(folder, &file)?;
        let place = fresh.join(&name);
        if name != MARK && !own.contains(&name) && !place.exists() {
            build::copy(&file, &place)?;
            eprintln!("kept, as it is not of an earlier publication: {name}");
        }
    }
    Ok(())
}

fn name_within(folder: &Path, file: &Path) -> Result<String> {
    Ok(file.strip_prefix(folder)?.to_string_lossy().replace('\\', "/"))
}

/// Puts the new folder in the place of the old one: two renames, so that no reader meets files of both.
fn take_place(fresh: Scratch, folder: &Path) -> Result<()> {
    let old = Scratch::beside(folder, "old")?;
    let there = folder.exists();
    if there {
        let away = old.0.join("old");
        fs::rename(folder, &away).with_context(|| format!("cannot move {} away", folder.display()))?;
    }
    fs::rename(&fresh.0, folder).with_context(|| format!("cannot put {} in place", folder.display())).inspect_err(
        |_| {
            if there {
                let _ = fs::rename(old.0.join("old"), folder);
            }
        },
    )
}

/// Bytes of all files: as they are, and as sent by a server that knows Brotli, or gzip.
#[derive(Default, Debug, PartialEq)]
struct Weight {
    plain: usize,
    brotli: usize,
    gzip: usize,
}

/// Lays a `.br` and a `.gz` beside every file that gets smaller by it.
fn pack_all(folder: &Path) -> Result<Weight> {
    eprintln!("packing, as tightly as it goes");
    let mut weight = Weight::default();
    for path in build::files_under(folder)? {
        let plain = build::read(&path)?;
        let packs = worth_packing(&path).unwrap_or(false);
        let beside = |packed: Vec<u8>, ending: &str| -> Result<usize> {
            if !packs || packed.len() >= plain.len() {
                return Ok(plain.len());
            }
            build::write(&PathBuf::from(format!("{}.{ending}", path.display())), &packed)?;
            Ok(packed.len())
        };
        weight.plain += plain.len();
        weight.brotli += beside(brotli(&plain)?, "br")?;
        weight.gzip += beside(gzip(&plain, flate2::Compression::best()), "gz")?;
    }
    Ok(weight)
}

fn brotli(bytes: &[u8]) -> Result<Vec<u8>> {
    let mut packed = Vec::new();
    brotli::BrotliCompress(&mut &*bytes, &mut packed, &Default::default())?;
    Ok(packed)
}

fn megabytes(bytes: usize) -> String {
    format!("{:.2} MB", bytes as f64 / 1e6)
}

/// The policy as a page itself can carry it: framing is the server's affair.
fn policy() -> String {
    let parts: Vec<&str> = HEADERS[0].1.split("; ").filter(|part| !part.starts_with("frame-ancestors")).collect();
    parts.join("; ")
}

/// The page with its policy, right after it has said how it is written.
fn with_policy(html: &str, policy: &str) -> Result<String> {
    const BEFORE: &str = "<meta charset=\"utf-8\">\n";
    let (head, rest) = html.split_once(BEFORE).context("index.html does not say its charset first")?;
    Ok(format!("{head}{BEFORE}<meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\">\n{rest}"))
}

/// What is said in the end: what was written, and what a server needs to be told.
fn told(folder: &Path, files: usize, weight: &Weight) -> String {
    let headers: Vec<String> = HEADERS.iter().map(|(name, value)| format!("    {name}: {value}")).collect();
    format!(
        "{}: {files} files; the page weighs {}, {} as sent with Brotli, {} with gzip.\n\
         Any web server can serve the folder, below any address; by double click it does not start (for that there is \
         --one-file). It works best so:\n\
         - over https: only then does it work offline, and may copy links (localhost counts as https)\n\
         - .wasm as application/wasm, .js as text/javascript\n\
         - the .br and .gz copies in the place of the files, to browsers that take them (nginx: brotli_static and\n  \
           gzip_static; Caddy: precompressed br gzip; Apache: MultiViews or mod_rewrite)\n\
         - with these headers; without them the page still carries its own content security policy\n{}",
        folder.display(),
        megabytes(weight.plain),
        megabytes(weight.brotli),
        megabytes(weight.gzip),
        headers.join("\n")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read;

    fn folder_with(files: &[(&str, &str)]) -> tempfile::TempDir {
        let dir = tempfile::tempdir().unwrap();
        for (name, text) in files {
            let path = dir.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        }
        dir
    }

    #[test]
    fn only_an_earlier_publication_is_replaced() {
        assert_eq!(earlier(folder_with(&[]).path()).unwrap(), None);
        assert_eq!(earlier(&folder_with(&[]).path().join("not/there")).unwrap(), None);
        let mark = r#"{ "fanlap_publication": 1, "files": ["index.html"] }"#;
        let own = folder_with(&[(MARK, mark), ("index.html", "")]);
        assert_eq!(earlier(own.path()).unwrap(), Some(vec!["index.html".to_string()]));
        let others: [&[(&str, &str)]; 5] = [
            &[("thesis.txt", "")],
            &[(".git/config", "")],
            &[(MARK, "{}"), ("a", "")],
            &[(MARK, "no JSON")],
            &[(MARK, r#"{ "fanlap_publication": 2, "files": [] }"#)],
        ];
        for files in others {
            let given = earlier(folder_with(files).path()).unwrap_err().to_string();
            assert!(given.contains("earlier publication"), "{given}");
        }
        let file = folder_with(&[("file", "")]);
        assert!(earlier(&file.path().join("file")).is_err());
    }

    #[test]
    fn the_new_takes_the_place_of_the_old_and_keeps_what_was_laid_into_it() {
        let parent = folder_with(&[
            ("site/index.html", "old"),
            ("site/gone.js", ""),
            ("site/.htaccess", "set"),
            ("site/my/a.txt", "b"),
        ]);
        let place = parent.path().join("site");
        let fresh = Scratch::beside(&place, "new").unwrap();
        fs::write(fresh.0.join("index.html"), "new").unwrap();
        carry_over(&place, Some(&["index.html".to_string(), "gone.js".to_string()]), &fresh.0).unwrap();
        take_place(fresh, &place).unwrap();
        let text = |name: &str| fs::read_to_string(place.join(name)).ok();
        assert_eq!(text("index.html").as_deref(), Some("new"));
        assert_eq!(
            (text("gone.js"), text(".htaccess").as_deref(), text("my/a.txt").as_deref()),
            (None, Some("set"), Some("b"))
        );
        let beside: Vec<_> = fs::read_dir(parent.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        assert_eq!(beside, ["site"], "nothing is left beside it");
    }

    #[test]
    fn packed_copies_unpack_to_the_original() {
        let text = "let x = 1; ".repeat(50);
        let dir = folder_with(&[("a.js", &text), ("b.woff2", &text), ("c.js", "1")]);
        let weight = pack_all(dir.path()).unwrap();
        let packed = |name: &str| fs::read(dir.path().join(name)).unwrap();
        let (mut from_br, mut from_gz) = (String::new(), String::new());
        brotli::Decompressor::new(packed("a.js.br").as_slice(), 4096).read_to_string(&mut from_br).unwrap();
        flate2::read::GzDecoder::new(packed("a.js.gz").as_slice()).read_to_string(&mut from_gz).unwrap();
        assert_eq!((&from_br, &from_gz), (&text, &text));
        assert_eq!(
            build::files_under(dir.path()).unwrap().len(),
            5,
            "fonts are packed already, and one letter does not shrink"
        );
        let left = 1 + text.len();
        assert_eq!((weight.plain, weight.brotli), (text.len() + left, packed("a.js.br").len() + left));
    }

    #[test]
    fn the_page_carries_its_policy_without_what_only_a_server_may_say() {
        let html = with_policy("<head>\n<meta charset=\"utf-8\">\n<title>", &policy()).unwrap();
        assert!(
            html.contains("content=\"default-src 'none'; script-src 'self'") && !html.contains("frame-ancestors"),
            "{html}"
        );
        assert!(with_policy("<head>", "").is_err());
    }
}
