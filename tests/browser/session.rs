//! One browser session: chromedriver and its browser, the server, and the blocking HTTP spoken to them; all of them end
//! with the test, also when it fails. Knows nothing of what is done in the session.

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::{OnceLock, mpsc};
use std::time::{Duration, Instant};

/// How long anything may take that normally takes a moment.
pub const PATIENCE: Duration = Duration::from_secs(30);
const INSTALL: &str = "run `bash tests/run`, which installs it";
/// An address of nobody's (RFC 5737) that the browser takes for this computer: a page from there is one over plain http
/// from another computer.
pub const OTHER_COMPUTER: &str = "198.51.100.7";
const BROWSER_FLAGS: [&str; 11] = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--window-size=1200,1000",
    "--host-resolver-rules=MAP 198.51.100.7 127.0.0.1",
];

/// A browser session, chromedriver with it. The order of the fields is the order of their end.
pub struct Session {
    id: String,
    chromedriver: Chromedriver,
    _profile: tempfile::TempDir,
}

impl Session {
    #[track_caller]
    pub fn new() -> Session {
        let chromedriver = Chromedriver::start();
        let profile = tempfile::tempdir().expect("a directory for the browser's profile");
        let mut args: Vec<String> = BROWSER_FLAGS.map(str::to_owned).into();
        args.push(format!("--user-data-dir={}", profile.path().display()));
        let wanted = json!({ "capabilities": { "alwaysMatch": {
            "browserName": "chrome",
            "timeouts": { "script": 120_000 },
            "goog:chromeOptions": { "binary": browser(), "args": args, "perfLoggingPrefs": { "enablePage": false } },
            "goog:loggingPrefs": { "browser": "ALL", "performance": "ALL" },
        }}});
        let answer = chromedriver.ask("POST", "/session", Some(wanted));
        let answer = answer.unwrap_or_else(|error| panic!("{} did not start: {error}", browser()));
        let session = Session { id: text_of(&answer["sessionId"]), chromedriver, _profile: profile };
        // a window that another one hides would not hear of its focus
        let focus = json!({ "cmd": "Emulation.setFocusEmulationEnabled", "params": { "enabled": true } });
        session.post("goog/cdp/execute", focus);
        session
    }

    #[track_caller]
    pub fn get(&self, path: &str) -> Value {
        let answer = self.chromedriver.ask("GET", &format!("/session/{}/{path}", self.id), None);
        answer.unwrap_or_else(|error| panic!("{path}: {error}"))
    }

    #[track_caller]
    pub fn post(&self, path: &str, body: Value) -> Value {
        self.try_post(path, body).unwrap_or_else(|error| panic!("{path}: {error}"))
    }

    #[track_caller]
    pub fn delete(&self, path: &str) -> Value {
        let answer = self.chromedriver.ask("DELETE", &format!("/session/{}/{path}", self.id), None);
        answer.unwrap_or_else(|error| panic!("{path}: {error}"))
    }

    pub fn try_post(&self, path: &str, body: Value) -> Result<Value, String> {
        self.chromedriver.ask("POST", &format!("/session/{}/{path}", self.id), Some(body))
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        let _ = self.chromedriver.ask("DELETE", &format!("/session/{}", self.id), None);
    }
}

/// A chromedriver of our own. Killed outright it would leave its browser behind, so it is asked to go first.
struct Chromedriver {
    port: u16,
    process: Running,
}

impl Chromedriver {
    /// It asks for any free port over IPv4 and then wants the same one over IPv6, which somebody else may have: then it
    /// says so and ends, and another one is drawn.
    #[track_caller]
    fn start() -> Chromedriver {
        let start = || {
            let mut command = Command::new("chromedriver");
            command.arg("--port=0").stderr(Stdio::null());
            start_until(command, "ChromeDriver was started successfully on port ")
        };
        let taken = |outcome: &Result<_, String>| matches!(outcome, Err(why) if why.contains("port not available"));
        let outcome = std::iter::repeat_with(start).take(5).find(|outcome| !taken(outcome));
        let outcome = outcome.unwrap_or_else(|| Err("five ports, and every one was somebody else's".to_owned()));
        let (process, port) = outcome.unwrap_or_else(|why| panic!("chromedriver did not start: {why}: {INSTALL}"));
        Chromedriver { port, process }
    }

    fn ask(&self, method: &str, path: &str, body: Option<Value>) -> Result<Value, String> {
        let body = body.map(|value| value.to_string());
        let answer = http(self.port, method, path, body.as_deref()).map_err(|error| error.to_string())?;
        let mut value: Value = serde_json::from_str(&answer.body).map_err(|_| answer.body.clone())?;
        match answer.status {
            200 => Ok(value["value"].take()),
            _ => Err(format!("{}: {}", value["value"]["error"], value["value"]["message"])),
        }
    }
}

impl Drop for Chromedriver {
    fn drop(&mut self) {
        let _ = http(self.port, "GET", "/shutdown", None);
        let start = Instant::now();
        while start.elapsed() < Duration::from_secs(5) && matches!(self.process.0.try_wait(), Ok(None)) {
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

/// A process of ours, ended when it is dropped.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// The page's server, ended when it is dropped.
pub struct Server {
    process: Running,
    port: u16,
}

impl Server {
    /// Serves the page, which is built once a test run, on a port (0 for any free one).
    #[track_caller]
    pub fn start(port: u16) -> Server {
        Server::start_with(port, &[])
    }

    /// The same with further options.
    #[track_caller]
    pub fn start_with(port: u16, options: &[&str]) -> Server {
        build_page();
        let mut command = fanlap();
        command.args(["--no-build", "--no-open", "--port", &port.to_string()]).args(options);
        Server::of(command, "fanlap is at http://127.0.0.1:")
    }

    /// Serves a folder by a server that knows nothing of fanlap.
    #[track_caller]
    pub fn of_folder(folder: &Path) -> Server {
        let mut command = Command::new("python3");
        command.args(["-u", "-m", "http.server", "0", "--bind", "127.0.0.1", "--directory"]).arg(folder);
        command.stderr(Stdio::null());
        Server::of(command, "Serving HTTP on 127.0.0.1 port ")
    }

    #[track_caller]
    fn of(command: Command, line_before_port: &'static str) -> Server {
        let (process, port) =
            start_until(command, line_before_port).unwrap_or_else(|error| panic!("the server did not start: {error}"));
        Server { process, port }
    }

    /// Lets the server take requests and answer none, or go on: a network that stalls.
    pub fn stall(&self, on: bool) {
        let signal = if on { "-STOP" } else { "-CONT" };
        let sent = Command::new("kill").args([signal, &self.process.0.id().to_string()]).status();
        assert!(sent.is_ok_and(|sent| sent.success()), "the server's process can be signalled");
    }

    /// The port it listens on.
    pub fn port(&self) -> u16 {
        self.port
    }

    /// Asks for a path exactly as it is written, with nothing tidied away.
    #[track_caller]
    pub fn get(&self, path: &str) -> Answer {
        http(self.port, "GET", path, None).unwrap_or_else(|error| panic!("{path}: {error}"))
    }
}

/// Builds the page, once a test run.
fn build_page() {
    static BUILT: OnceLock<()> = OnceLock::new();
    BUILT.get_or_init(|| {
        let status = fanlap().arg("--build-only").stdin(Stdio::null()).status().expect("fanlap starts");
        assert!(status.success(), "the page was not built; the compiler's message stands above");
    });
}

/// Publishes the page, with its code as it is built for this computer; what was said of it.
#[track_caller]
pub fn publish(to: &[&str]) -> String {
    build_page();
    let done = fanlap().args(["publish", "--quick"]).args(to).stdin(Stdio::null()).output().expect("fanlap starts");
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8_lossy(&done.stdout).into_owned()
}

fn fanlap() -> Command {
    Command::new(env!("CARGO_BIN_EXE_fanlap"))
}

/// Starts a program and waits for the line that tells its port; reads on, so that the program never stalls. A program
/// that ends before it told one is quoted.
fn start_until(mut command: Command, line_before_port: &'static str) -> Result<(Running, u16), String> {
    let started = command.stdin(Stdio::null()).stdout(Stdio::piped()).spawn();
    let mut process = Running(started.map_err(|error| error.to_string())?);
    let lines = BufReader::new(process.0.stdout.take().expect("piped")).lines().map_while(Result::ok);
    let port = move |said: &str| {
        let rest = said.strip_prefix(line_before_port)?;
        rest.split(|c: char| !c.is_ascii_digit()).next()?.parse().ok()
    };
    let (tell, told) = mpsc::channel();
    std::thread::spawn(move || {
        let mut last = String::new();
        for line in lines {
            if let Some(port) = port(&line) {
                let _ = tell.send(Ok(port));
            }
            last = line;
        }
        let _ = tell.send(Err(format!("it ended, and the last it said was {last:?}")));
    });
    match told.recv_timeout(PATIENCE) {
        Ok(told) => told.map(|port| (process, port)),
        Err(_) => Err(format!("it told no port in {PATIENCE:?}")),
    }
}

/// The browser to drive: the first one found whose version is chromedriver's.
#[track_caller]
fn browser() -> &'static str {
    static BROWSER: OnceLock<Option<&str>> = OnceLock::new();
    let found = BROWSER.get_or_init(|| {
        let wanted = major_version("chromedriver");
        let names = ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome"];
        let installed: Vec<_> = names.iter().filter_map(|name| Some((*name, major_version(name)?))).collect();
        let same = installed.iter().find(|(_, version)| Some(version) == wanted.as_ref());
        same.or(installed.first()).and_then(|(name, _)| path_of(name))
    });
    found.unwrap_or_else(|| panic!("there is no Chromium: {INSTALL}"))
}

fn major_version(program: &str) -> Option<String> {
    let out = Command::new(program).arg("--version").stdin(Stdio::null()).stderr(Stdio::null()).output().ok()?;
    let text = String::from_utf8_lossy(&out.stdout).into_owned();
    let number = text.split_whitespace().find(|word| word.starts_with(|c: char| c.is_ascii_digit()))?;
    number.split('.').next().map(str::to_owned)
}

fn path_of(program: &str) -> Option<&'static str> {
    let path = std::env::var_os("PATH")?;
    let file = std::env::split_paths(&path).map(|dir| dir.join(program)).find(|file| file.is_file())?;
    Some(String::leak(file.to_str()?.to_owned()))
}

/// An HTTP answer.
pub struct Answer {
    pub status: u16,
    /// Names in small letters.
    pub headers: Vec<(String, String)>,
    pub body: String,
}

impl Answer {
    /// A header's value, or nothing.
    pub fn header(&self, name: &str) -> &str {
        self.headers.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value)
    }
}

fn http(port: u16, method: &str, path: &str, body: Option<&str>) -> std::io::Result<Answer> {
    let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port))?;
    stream.set_read_timeout(Some(Duration::from_secs(180)))?;
    let body = body.unwrap_or_default();
    write!(
        stream,
        "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\
         Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    )?;
    read_answer(&mut BufReader::new(stream))
}

/// Reads one answer and no further: chromedriver's connections may stay open, its browser inherits them.
fn read_answer(from: &mut impl BufRead) -> std::io::Result<Answer> {
    let malformed = |line: &str| std::io::Error::other(format!("not an HTTP answer: {line}"));
    let mut lines = from.by_ref().lines();
    let first = lines.next().unwrap_or_else(|| Ok(String::new()))?;
    let status = first.split(' ').nth(1).and_then(|code| code.parse().ok()).ok_or_else(|| malformed(&first))?;
    let mut answer = Answer { status, headers: Vec::new(), body: String::new() };
    for line in lines {
        match line?.split_once(':') {
            Some((name, value)) => answer.headers.push((name.to_ascii_lowercase(), value.trim().to_owned())),
            None => break,
        }
    }
    let mut body = vec![0; answer.header("content-length").parse().unwrap_or(0)];
    from.read_exact(&mut body)?;
    answer.body = String::from_utf8_lossy(&body).into_owned();
    Ok(answer)
}

/// A text that WebDriver promises to be one.
#[track_caller]
pub fn text_of(value: &Value) -> String {
    value.as_str().unwrap_or_else(|| panic!("expected a text, got {value}")).to_owned()
}
