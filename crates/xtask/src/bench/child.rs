//! A child process that is watched: interrupted when its processor time is spent, ended by
//! force when it does not stop.

use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail};

use super::processes;
use super::settings::GRACE;

/// How long a child may run.
#[derive(Debug, Clone, Copy)]
pub(super) struct Leash {
    /// It is ended by force after so much time.
    pub(super) patience: Duration,
    /// It is interrupted when it has spent so much processor time.
    pub(super) processor: Option<Duration>,
}

/// What a child took, as far as the system tells.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Usage {
    pub(super) wall: Duration,
    /// Processor seconds, its descendants' included.
    pub(super) processor: Option<f64>,
    /// The most memory that one process held, in bytes.
    pub(super) peak: Option<u64>,
    /// How many processors others kept busy meanwhile, on average.
    pub(super) others: Option<f64>,
}

/// Looks are so far apart at most; short-lived children are looked at more often.
const LOOK: Duration = Duration::from_millis(10);
/// To list descendants costs more than to look at those that are known.
const LIST: Duration = Duration::from_millis(100);

/// Waits for the end of a child. The usage counts from `begun`.
pub(super) fn watch(child: &mut Child, leash: Leash) -> (Result<ExitStatus>, Usage) {
    let begun = Instant::now();
    let (waited, busy) = (processes::waited(), processes::busy());
    let mut seen = Seen::new(child.id());
    let ended = wait(child, leash, &mut seen);
    let wall = begun.elapsed();
    // What the system counted for a child that was waited for is exact; a look is not.
    let exact = waited.and_then(|before| Some(processes::waited()? - before));
    let others = busy.and_then(|before| {
        let busy = processes::busy()? - before - exact?;
        Some((busy / wall.as_secs_f64().max(LOOK.as_secs_f64())).max(0.0))
    });
    let usage = Usage { wall, processor: exact, peak: seen.peak, others };
    (ended, usage)
}

fn wait(child: &mut Child, leash: Leash, seen: &mut Seen) -> Result<ExitStatus> {
    let begun = Instant::now();
    let mut interrupted: Option<Instant> = None;
    loop {
        if let Some(status) = child.try_wait()? {
            return Ok(status);
        }
        let spent = seen.look(begun);
        if interrupted.is_none() && leash.processor.is_some_and(|most| spent >= most) {
            signal("INT", &seen.processes)?;
            interrupted = Some(Instant::now());
        }
        let stubborn = interrupted.is_some_and(|at| at.elapsed() > GRACE);
        if stubborn || begun.elapsed() > leash.patience {
            let (after, why) = match interrupted {
                Some(at) => (at.elapsed(), "being asked to stop"),
                None => (begun.elapsed(), "its start"),
            };
            end(child, &seen.processes)?;
            bail!(
                "the solver was ended by force, {:.1} s after {why}",
                after.as_secs_f64()
            );
        }
        std::thread::sleep(LOOK.min(begun.elapsed() / 8).max(LOOK / 10));
    }
}

/// What was seen of a child and its descendants so far.
struct Seen {
    processes: Vec<u32>,
    listed: Option<Instant>,
    peak: Option<u64>,
}

impl Seen {
    fn new(child: u32) -> Self {
        Self { processes: vec![child], listed: None, peak: None }
    }

    /// Looks at them; returns the processor time that they have spent.
    fn look(&mut self, begun: Instant) -> Duration {
        // At first a wrapper may not have started the program proper.
        let early = begun.elapsed() < LIST;
        if early || self.listed.is_none_or(|at| at.elapsed() > LIST) {
            self.processes = processes::tree(self.processes[0]);
            self.listed = Some(Instant::now());
        }
        let peak = self.processes.iter().filter_map(|&id| processes::peak(id)).max();
        self.peak = self.peak.max(peak);
        let spent = self.processes.iter().filter_map(|&id| processes::spent(id)).sum();
        Duration::from_secs_f64(spent)
    }
}

/// The standard library sends no other signal than that which ends; `kill` does.
fn signal(name: &str, processes: &[u32]) -> Result<()> {
    let mut command = Command::new("kill");
    command.args(["-s", name]).args(processes.iter().map(u32::to_string));
    command.stdout(Stdio::null()).stderr(Stdio::null());
    // One that ended in between makes `kill` complain: that is no failure.
    command.status().context("can't start `kill` to interrupt the solver")?;
    Ok(())
}

fn end(child: &mut Child, processes: &[u32]) -> Result<()> {
    child.kill()?;
    if processes.len() > 1 {
        signal("KILL", &processes[1..])?;
    }
    child.wait()?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shell(script: &str) -> Child {
        let mut command = Command::new("sh");
        command.args(["-c", script]).stdout(Stdio::null());
        command.spawn().unwrap()
    }

    const LONG: Duration = Duration::from_mins(10);

    #[test]
    fn a_child_that_does_not_end_is_ended() {
        let mut child = shell("sleep 600; true");
        let leash = Leash { patience: Duration::from_millis(60), processor: None };
        let (ended, usage) = watch(&mut child, leash);
        let error = ended.unwrap_err().to_string();
        assert!(error.contains("by force"), "{error}");
        assert!(usage.wall >= leash.patience);
        assert!(child.try_wait().unwrap().is_some());
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_child_is_interrupted_when_its_processor_time_is_spent() {
        // The loop runs in a grandchild; both must be told.
        let script = "sh -c 'trap \"exit 0\" INT; while :; do :; done'; exit 7";
        let mut child = shell(&format!("trap : INT; {script}"));
        let spent = Duration::from_millis(80);
        let leash = Leash { patience: LONG, processor: Some(spent) };
        let (ended, usage) = watch(&mut child, leash);
        assert_eq!(ended.unwrap().code(), Some(7));
        assert!(usage.processor.unwrap() >= spent.as_secs_f64());
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn memory_and_time_are_seen() {
        let mut child = shell("sleep 0.1");
        let (ended, usage) = watch(&mut child, Leash { patience: LONG, processor: None });
        assert!(ended.unwrap().success());
        assert!(usage.peak.unwrap() > 50_000, "{usage:?}");
        assert!(usage.others.is_some());
    }
}
