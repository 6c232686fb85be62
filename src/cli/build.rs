//! Builds the page: the core compiled to WebAssembly and its JavaScript door, into `www/pkg`; or, for a publication,
//! the same small and whole. Knows nothing of what the page shows, nor of who serves it.

use crate::split::split;
use anyhow::{Context, Result, bail, ensure};
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const TARGET: &str = "wasm32-unknown-unknown";
/// The package that is the page's code; its library is named alike, with `_` for `-`.
const PACKAGE: &str = "fanlap-page";
/// Raise it when the packaging below changes, so that what an older builder made is made anew.
const PACKAGING: &[u8] = b"2";
/// What comes after the first picture, and the script that brings it.
const REST: &str = include_str!("../page/rest.txt");
const BRINGS_REST: &str = include_str!("build/rest.js");

/// How the page's code is compiled.
#[derive(Clone, Copy, PartialEq)]
pub enum Make {
    /// Soon done, for this computer: as the program itself, whose build scripts and macros it shares.
    Soon,
    /// Small, for whoever loads it over a network.
    Small,
}

impl Make {
    /// Profile of `Cargo.toml`, and the folder under the root that cargo builds into.
    fn profile(self) -> (&'static str, &'static str) {
        match self {
            Make::Soon => ("release", "target"),
            Make::Small => ("wasm", "target/wasm"),
        }
    }
}

/// What binds the page's code to a browser.
#[derive(Clone, Copy)]
pub enum Door {
    /// `fanlap.js`, a module, beside `fanlap_bg.wasm`.
    Module,
    /// `fanlap.js`, a plain script that holds all in `wasm_bindgen`, beside `fanlap_bg.wasm`.
    Script,
}

/// Brings `www/pkg` up to date and returns the directory to serve; does no more than is needed.
/// Progress goes to standard error, unless `quiet`.
pub fn build_page(quiet: bool) -> Result<PathBuf> {
    let (root, www) = (root(), www());
    let (start, _lock) = (Instant::now(), begin(&root, quiet)?);
    let wasm = compile(&root, Make::Soon, quiet)?;
    let code = fingerprint([PACKAGING, REST.as_bytes(), BRINGS_REST.as_bytes(), &read(&wasm)?]);
    let rebuilt = !is_current(&www, &code);
    if rebuilt {
        package(&wasm, &www)?;
    }
    write_version(&www, &code)?;
    if rebuilt && !quiet {
        remember(&root, start.elapsed());
        eprintln!("the page is built: {}, {:.1} s", size(&www)?, start.elapsed().as_secs_f64());
    }
    Ok(www)
}

/// The page for somewhere else, in a fresh directory: the files of `www` and the code, as yet without their version.
pub fn build_into(into: &Path, door: Door, make: Make) -> Result<()> {
    let root = root();
    let _lock = begin(&root, false)?;
    if make == Make::Small {
        eprintln!("the code is made as small as it can be: that takes longer than a build for this computer");
    }
    let wasm = compile(&root, make, false)?;
    for file in page_files(&www())?.into_iter().chain(["sw.js".to_string()]) {
        if !file.starts_with("pkg/") {
            copy(&www().join(&file), &into.join(&file))?;
        }
    }
    let pkg = into.join("pkg");
    fs::create_dir_all(&pkg).with_context(|| format!("cannot make {}", pkg.display()))?;
    bind(&wasm, &pkg, door)
}

/// Says what is to come, and makes sure that it can be done.
fn begin(root: &Path, quiet: bool) -> Result<File> {
    let www = root.join("www");
    ensure!(www.is_dir(), "{} is missing: the page is built inside its source tree, so run it there", www.display());
    if !quiet {
        eprintln!("{}", to_come(last_time(root)));
    }
    let lock = lock(root)?;
    ensure_target(quiet)?;
    Ok(lock)
}

fn to_come(last: Option<Duration>) -> String {
    let known = match last {
        Some(last) => format!("a build took {:.0} s last time, without a change it takes a moment", last.as_secs_f64()),
        None => "the first time that takes a minute or two".to_string(),
    };
    format!("building the page: its code is compiled for the browser ({known})")
}

/// Where it is kept how long the last build took that had something to do.
fn seconds(root: &Path) -> PathBuf {
    root.join("target/page-seconds")
}

fn last_time(root: &Path) -> Option<Duration> {
    Duration::try_from_secs_f64(fs::read_to_string(seconds(root)).ok()?.trim().parse().ok()?).ok()
}

/// A build whose time is not kept is as good.
fn remember(root: &Path, took: Duration) {
    let _ = fs::write(seconds(root), format!("{:.1}\n", took.as_secs_f64()));
}

/// The directory that holds the page, built or not: in the source tree; for a program that has left it, beside it.
pub fn www() -> PathBuf {
    let beside = || Some(std::env::current_exe().ok()?.parent()?.join("www")).filter(|www| www.is_dir());
    let here = root().join("www");
    if has_source() { here } else { beside().unwrap_or(here) }
}

/// Whether the page can be built here.
pub fn has_source() -> bool {
    root().join("Cargo.toml").is_file()
}

/// The top of the source tree.
fn root() -> PathBuf {
    let package = Path::new(env!("CARGO_MANIFEST_DIR"));
    package.ancestors().nth(2).expect("the package lies in src/cli").to_path_buf()
}

/// Holds other processes off until it is dropped: tests build the page in parallel.
fn lock(root: &Path) -> Result<File> {
    let target = root.join("target");
    fs::create_dir_all(&target).with_context(|| format!("cannot make {}", target.display()))?;
    let file = File::create(target.join("wasm.lock")).context("cannot make target/wasm.lock")?;
    file.lock().context("cannot lock target/wasm.lock")?;
    Ok(file)
}

/// Makes sure that the installed Rust can compile for the browser; never changes its version.
fn ensure_target(quiet: bool) -> Result<()> {
    if has_target() {
        return Ok(());
    }
    if !quiet {
        eprintln!("installing the Rust target {TARGET}, once");
    }
    let added = Command::new("rustup").args(["target", "add", TARGET]).stdin(Stdio::null()).status();
    match added {
        Ok(status) if status.success() && has_target() => Ok(()),
        Ok(status) => bail!("`rustup target add {TARGET}` failed ({status}); run it by hand to see why"),
        Err(_) => bail!(
            "this Rust cannot compile for the browser and there is no rustup to mend it: install the target \
             {TARGET} with the system's package manager, or Rust from https://rustup.rs"
        ),
    }
}

fn has_target() -> bool {
    let rustc = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let asked = Command::new(rustc).args(["--print", "target-libdir", "--target", TARGET]).output();
    asked.is_ok_and(|out| out.status.success() && Path::new(String::from_utf8_lossy(&out.stdout).trim()).is_dir())
}

/// Compiles the page's code for the browser and returns the file made. Flags of the outer build are taken away:
/// they would replace those of `.cargo/config.toml`, and SIMD with them.
fn compile(root: &Path, make: Make, quiet: bool) -> Result<PathBuf> {
    let (profile, target) = make.profile();
    let target = root.join(target);
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo.current_dir(root).env_remove("CARGO_ENCODED_RUSTFLAGS").env_remove("RUSTFLAGS").stdin(Stdio::null());
    if make == Make::Soon && std::env::var_os("CARGO_INCREMENTAL").is_none() {
        cargo.env("CARGO_INCREMENTAL", "1");
    }
    cargo.args(["build", "--package", PACKAGE, "--lib", "--locked", "--target", TARGET, "--profile", profile]);
    cargo.arg("--target-dir").arg(&target);
    if quiet {
        cargo.arg("--quiet");
    }
    let status = cargo.status().context("cannot start cargo, which builds the page")?;
    ensure!(status.success(), "the page was not built: the compiler's message stands above");
    Ok(target.join(TARGET).join(profile).join(format!("{}.wasm", PACKAGE.replace('-', "_"))))
}

/// Makes the new package beside the old one, then puts it in its place, so that a reader never meets half of one.
fn package(wasm: &Path, www: &Path) -> Result<()> {
    let scratch = www.join(".pkg-new");
    let (fresh, old, pkg) = (scratch.join("pkg"), scratch.join("old"), www.join("pkg"));
    remove(&scratch)?;
    fs::create_dir_all(&fresh).with_context(|| format!("cannot make {}", fresh.display()))?;
    bind(wasm, &fresh, Door::Module)?;
    if pkg.exists() {
        fs::rename(&pkg, &old).with_context(|| format!("cannot move {} away", pkg.display()))?;
    }
    fs::rename(&fresh, &pkg).with_context(|| format!("cannot put {} in place", pkg.display()))?;
    remove(&scratch)
}

/// Writes `fanlap.js` and the code: for a module in two halves, `fanlap_bg.wasm` for the first picture and
/// `fanlap_rest.wasm` for the rest; for a plain script, which is loaded whole, in one.
fn bind(wasm: &Path, into: &Path, door: Door) -> Result<()> {
    let mut bindgen = wasm_bindgen_cli_support::Bindgen::new();
    // the names of functions are needed until it is cut in two
    bindgen.input_path(wasm).out_name("fanlap").typescript(false);
    bindgen.remove_name_section(matches!(door, Door::Script)).remove_producers_section(true);
    match door {
        // so that `init()` needs no argument
        Door::Module => bindgen.omit_default_module_path(false).web(true)?,
        Door::Script => bindgen.no_modules(true)?,
    };
    let mut bound = bindgen.generate_output().context("cannot write the JavaScript door to the core")?;
    let whole = bound.wasm_mut().emit_wasm();
    if let Door::Script = door {
        write(&into.join("fanlap.js"), bound.js().as_bytes())?;
        return write(&into.join("fanlap_bg.wasm"), &whole);
    }
    write(&into.join("fanlap.js"), format!("{}\n{BRINGS_REST}", bound.js()).as_bytes())?;
    let halves = split(&whole, REST)?;
    write(&into.join("fanlap_bg.wasm"), &halves.first)?;
    write(&into.join("fanlap_rest.wasm"), &halves.rest)
}

/// Writes `pkg/version.js`, which tells the service worker the page's version and the files it needs.
pub fn write_version(www: &Path, code: &str) -> Result<()> {
    let text = version_text(www, code)?;
    let (path, scratch) = (www.join("pkg/version.js"), www.join("pkg/.version.js"));
    if fs::read_to_string(&path).is_ok_and(|old| old == text) {
        return Ok(());
    }
    write(&scratch, text.as_bytes())?;
    fs::rename(&scratch, &path).with_context(|| format!("cannot put {} in place", path.display()))
}

fn version_text(www: &Path, code: &str) -> Result<String> {
    let files = page_files(www)?;
    let mut parts = Vec::new();
    for file in &files {
        parts.push(file.as_bytes().to_vec());
        parts.push(read(&www.join(file))?);
    }
    let version = fingerprint(parts.iter().map(Vec::as_slice));
    let list = serde_json::to_string_pretty(&files)?;
    Ok(format!(
        "// Written by the builder: the page's version, by content, and every file it needs. Knows no cache.\n\
         self.fanlapVersion = \"{version}\";\n\
         self.fanlapCode = \"{code}\";\n\
         self.fanlapFiles = {list};\n"
    ))
}

fn is_current(www: &Path, code: &str) -> bool {
    let version = fs::read_to_string(www.join("pkg/version.js")).unwrap_or_default();
    version.contains(&format!("self.fanlapCode = \"{code}\";"))
        && ["fanlap.js", "fanlap_bg.wasm", "fanlap_rest.wasm"].iter().all(|file| www.join("pkg").join(file).is_file())
}

/// The files a browser needs, relative to `www`: all but the service worker and its version, and the help, which is part of
/// the code.
fn page_files(www: &Path) -> Result<Vec<String>> {
    let mut files = Vec::new();
    for path in files_under(www)? {
        let file = path.strip_prefix(www)?.to_string_lossy().replace('\\', "/");
        if !["sw.js", "pkg/version.js", "help.html"].contains(&file.as_str()) {
            files.push(file);
        }
    }
    Ok(files)
}

/// Every file below a directory, in order of path; names that begin with a dot are passed over.
pub fn files_under(dir: &Path) -> Result<Vec<PathBuf>> {
    let hidden = |path: &Path| path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
    gather(dir, &|path| !hidden(path))
}

/// Every file below a directory, the hidden ones too.
pub fn all_files_under(dir: &Path) -> Result<Vec<PathBuf>> {
    gather(dir, &|_| true)
}

fn gather(dir: &Path, wanted: &dyn Fn(&Path) -> bool) -> Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(dir).with_context(|| format!("cannot list {}", dir.display()))? {
        let path = entry?.path();
        if !wanted(&path) {
            continue;
        }
        if path.is_dir() { found.extend(gather(&path, wanted)?) } else { found.push(path) }
    }
    found.sort();
    Ok(found)
}

/// FNV-1a, 64 bits, over the parts and their lengths: tells contents apart, and is no defence against malice.
pub fn fingerprint<'a>(parts: impl IntoIterator<Item = &'a [u8]>) -> String {
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for part in parts {
        for byte in (part.len() as u64).to_le_bytes().iter().chain(part) {
            hash = (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }
    format!("{hash:016x}")
}

fn size(www: &Path) -> Result<String> {
    let kilobytes = |file: &str| -> Result<f64> { Ok(fs::metadata(www.join("pkg").join(file))?.len() as f64 / 1000.0) };
    let (first, rest) = (kilobytes("fanlap_bg.wasm")?, kilobytes("fanlap_rest.wasm")?);
    Ok(format!("{:.0} kB of code, {first:.0} of them for the first picture", first + rest))
}

pub fn copy(from: &Path, to: &Path) -> Result<()> {
    let made = to.parent().map_or(Ok(()), fs::create_dir_all);
    made.and_then(|()| fs::copy(from, to))
        .with_context(|| format!("cannot copy {} to {}", from.display(), to.display()))?;
    Ok(())
}

pub fn remove(dir: &Path) -> Result<()> {
    if dir.exists() {
        fs::remove_dir_all(dir).with_context(|| format!("cannot remove {}", dir.display()))?;
    }
    Ok(())
}

pub fn read(path: &Path) -> Result<Vec<u8>> {
    fs::read(path).with_context(|| format!("cannot read {}", path.display()))
}

pub fn write(path: &Path, bytes: &[u8]) -> Result<()> {
    fs::write(path, bytes).with_context(|| format!("cannot write {}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn small_page() -> tempfile::TempDir {
        let www = tempfile::tempdir().unwrap();
        for file in ["index.html", "sw.js", "fonts/a.woff2", "pkg/fanlap.js", ".pkg-new/half"] {
            let path = www.path().join(file);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, file).unwrap();
        }
        www
    }

    #[test]
    fn the_list_has_what_a_browser_needs_and_nothing_else() {
        assert_eq!(page_files(small_page().path()).unwrap(), ["fonts/a.woff2", "index.html", "pkg/fanlap.js"]);
    }

    #[test]
    fn the_version_changes_with_a_file_and_only_then() {
        let www = small_page();
        let before = version_text(www.path(), "code").unwrap();
        write_version(www.path(), "code").unwrap();
        assert_eq!(version_text(www.path(), "code").unwrap(), before);
        fs::write(www.path().join("index.html"), "other").unwrap();
        assert_ne!(version_text(www.path(), "code").unwrap(), before);
    }

    #[test]
    fn fingerprints_tell_parts_apart() {
        assert_ne!(fingerprint([b"ab".as_slice(), b"c"]), fingerprint([b"a".as_slice(), b"bc"]));
        assert_eq!(fingerprint([]), "cbf29ce484222325");
    }

    #[test]
    fn a_package_with_a_file_missing_is_not_current() {
        let www = small_page();
        write_version(www.path(), "code").unwrap();
        assert!(!is_current(www.path(), "code"));
        for file in ["pkg/fanlap_bg.wasm", "pkg/fanlap_rest.wasm"] {
            assert!(!is_current(www.path(), "code"));
            fs::write(www.path().join(file), "").unwrap();
        }
        assert!(is_current(www.path(), "code"));
        assert!(!is_current(www.path(), "other code"));
    }

    #[test]
    fn what_is_to_come_is_told_with_the_time_it_took() {
        let root = tempfile::tempdir().unwrap();
        fs::create_dir(root.path().join("target")).unwrap();
        assert!(to_come(last_time(root.path())).contains("the first time"));
        remember(root.path(), Duration::from_millis(34_200));
        assert!(to_come(last_time(root.path())).contains("took 34 s last time"), "{:?}", last_time(root.path()));
        for nonsense in ["", "-3", "soon", "1e300"] {
            fs::write(seconds(root.path()), nonsense).unwrap();
            assert_eq!(last_time(root.path()), None, "{nonsense}");
        }
    }
}
