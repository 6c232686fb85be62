//! Builds the page: the core compiled to WebAssembly, its JavaScript door and their compressed copies, into
//! `www/pkg`. Knows nothing of what the page shows, nor of who serves it.

use crate::split::split;
use anyhow::{Context, Result, bail, ensure};
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

/// The package that is the page.
const PAGE: &str = "fanlap-page";
const TARGET: &str = "wasm32-unknown-unknown";
/// Raise it when the packaging below changes, so that what an older builder made is made anew.
const PACKAGING: &[u8] = b"2";
/// What comes after the first picture.
const REST: &str = include_str!("../page/rest.txt");

/// Brings `www/pkg` up to date and returns the directory to serve; does no more than is needed.
/// Progress goes to standard error, unless `quiet`.
pub fn build_page(quiet: bool) -> Result<PathBuf> {
    let (root, www) = (root(), www());
    ensure!(www.is_dir(), "{} is missing: the page is built inside its source tree, so run it there", www.display());
    let _lock = lock(&root)?;
    let start = Instant::now();
    ensure_target(quiet)?;
    let wasm = compile(&root, quiet)?;
    let code = fingerprint([PACKAGING, REST.as_bytes(), &read(&wasm)?]);
    let rebuilt = !is_current(&www, &code);
    if rebuilt {
        package(&wasm, &www)?;
    }
    write_version(&www, &code)?;
    if rebuilt && !quiet {
        eprintln!("the page is built: {}, {:.1} s", sizes(&www)?, start.elapsed().as_secs_f64());
    }
    Ok(www)
}

/// The directory that holds the page, built or not.
pub fn www() -> PathBuf {
    root().join("www")
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

/// Compiles the library for the browser and returns the file made. Flags of the outer build are taken away:
/// they would replace those of `.cargo/config.toml`, and SIMD with them.
fn compile(root: &Path, quiet: bool) -> Result<PathBuf> {
    let target = root.join("target/wasm");
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo.current_dir(root).env_remove("CARGO_ENCODED_RUSTFLAGS").env_remove("RUSTFLAGS").stdin(Stdio::null());
    cargo
        .args(["build", "--package", PAGE, "--locked", "--profile", "wasm", "--target", TARGET, "--target-dir"])
        .arg(&target);
    if quiet {
        cargo.arg("--quiet");
    } else {
        eprintln!("building the page for WebAssembly");
    }
    let status = cargo.status().context("cannot start cargo, which builds the page")?;
    ensure!(status.success(), "the page was not built: the compiler's message stands above");
    Ok(target.join(TARGET).join("wasm/fanlap_page.wasm"))
}

/// Makes the new package beside the old one, then puts it in its place, so that a reader never meets half of one.
fn package(wasm: &Path, www: &Path) -> Result<()> {
    let scratch = www.join(".pkg-new");
    let (fresh, old, pkg) = (scratch.join("pkg"), scratch.join("old"), www.join("pkg"));
    remove(&scratch)?;
    fs::create_dir_all(&fresh).with_context(|| format!("cannot make {}", fresh.display()))?;
    bind(wasm, &fresh)?;
    compress_all(&fresh)?;
    if pkg.exists() {
        fs::rename(&pkg, &old).with_context(|| format!("cannot move {} away", pkg.display()))?;
    }
    fs::rename(&fresh, &pkg).with_context(|| format!("cannot put {} in place", pkg.display()))?;
    remove(&scratch)
}

/// Writes `fanlap.js`, and the core in two halves: `fanlap_bg.wasm` for the first picture, `fanlap_rest.wasm` for the rest.
fn bind(wasm: &Path, into: &Path) -> Result<()> {
    let mut bindgen = wasm_bindgen_cli_support::Bindgen::new();
    // the names of functions are needed until it is cut in two
    bindgen.input_path(wasm).typescript(false).remove_name_section(false).remove_producers_section(true);
    bindgen.out_name("fanlap");
    bindgen.omit_default_module_path(false); // so that `init()` needs no argument
    let mut bound = bindgen.web(true)?.generate_output().context("cannot write the JavaScript door to the core")?;
    write(&into.join("fanlap.js"), bound.js().as_bytes())?;
    let halves = split(&bound.wasm_mut().emit_wasm(), REST)?;
    write(&into.join("fanlap_bg.wasm"), &halves.first)?;
    write(&into.join("fanlap_rest.wasm"), &halves.rest)
}

/// Lays a `.br` beside every file, packed with Brotli, for the server to send instead: a quarter less than with gzip.
fn compress_all(dir: &Path) -> Result<()> {
    for path in files_under(dir)? {
        let mut packed = Vec::new();
        brotli::BrotliCompress(&mut read(&path)?.as_slice(), &mut packed, &Default::default())?;
        write(&PathBuf::from(format!("{}.br", path.display())), &packed)?;
    }
    Ok(())
}

/// Writes `pkg/version.js`, which tells the service worker the page's version and the files it needs.
fn write_version(www: &Path, code: &str) -> Result<()> {
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
    let whole = ["fanlap.js", "fanlap_bg.wasm", "fanlap_rest.wasm"];
    let whole = whole.into_iter().flat_map(|file| [file.to_string(), format!("{file}.br")]);
    version.contains(&format!("self.fanlapCode = \"{code}\";"))
        && whole.map(|file| www.join("pkg").join(file)).all(|file| file.is_file())
}

/// The files a browser needs, relative to `www`: all but compressed copies, the service worker and its version.
fn page_files(www: &Path) -> Result<Vec<String>> {
    let mut files = Vec::new();
    for path in files_under(www)? {
        let file = path.strip_prefix(www)?.to_string_lossy().replace('\\', "/");
        if !file.ends_with(".br") && file != "sw.js" && file != "pkg/version.js" {
            files.push(file);
        }
    }
    Ok(files)
}

/// Every file below a directory, in order of path; names that begin with a dot are passed over.
fn files_under(dir: &Path) -> Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(dir).with_context(|| format!("cannot list {}", dir.display()))? {
        let path = entry?.path();
        if path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.')) {
            continue;
        }
        if path.is_dir() { found.extend(files_under(&path)?) } else { found.push(path) }
    }
    found.sort();
    Ok(found)
}

/// FNV-1a, 64 bits, over the parts and their lengths: tells contents apart, and is no defence against malice.
fn fingerprint<'a>(parts: impl IntoIterator<Item = &'a [u8]>) -> String {
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for part in parts {
        for byte in (part.len() as u64).to_le_bytes().iter().chain(part) {
            hash = (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }
    format!("{hash:016x}")
}

fn sizes(www: &Path) -> Result<String> {
    let kilobytes = |file: &str| -> Result<f64> { Ok(fs::metadata(www.join("pkg").join(file))?.len() as f64 / 1000.0) };
    let (first, rest) = (kilobytes("fanlap_bg.wasm.br")?, kilobytes("fanlap_rest.wasm.br")?);
    Ok(format!("{first:.0} kB of code as sent, {rest:.0} kB later"))
}

fn remove(dir: &Path) -> Result<()> {
    if dir.exists() {
        fs::remove_dir_all(dir).with_context(|| format!("cannot remove {}", dir.display()))?;
    }
    Ok(())
}

fn read(path: &Path) -> Result<Vec<u8>> {
    fs::read(path).with_context(|| format!("cannot read {}", path.display()))
}

fn write(path: &Path, bytes: &[u8]) -> Result<()> {
    fs::write(path, bytes).with_context(|| format!("cannot write {}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn small_page() -> tempfile::TempDir {
        let www = tempfile::tempdir().unwrap();
        for file in ["index.html", "sw.js", "fonts/a.woff2", "pkg/fanlap.js", "pkg/fanlap.js.br", ".pkg-new/half"] {
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
        for file in ["fanlap_bg.wasm", "fanlap_bg.wasm.br", "fanlap_rest.wasm", "fanlap_rest.wasm.br"] {
            fs::write(www.path().join("pkg").join(file), "").unwrap();
        }
        assert!(is_current(www.path(), "code"));
        assert!(!is_current(www.path(), "other code"));
    }

    #[test]
    fn compressed_copies_unpack_to_the_original() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("a.js"), "let x = 1;").unwrap();
        compress_all(dir.path()).unwrap();
        let packed = File::open(dir.path().join("a.js.br")).unwrap();
        assert_eq!(std::io::read_to_string(brotli::Decompressor::new(packed, 4096)).unwrap(), "let x = 1;");
    }
}
