//! What the system says of processes: the time that they spent on processors, the memory
//! that they used. Read from `/proc`, which Linux has; elsewhere nothing is known.

use std::fs;

/// Ticks of a second in which the system counts processor time. The kernel shows 100 to
/// programs whatever it uses inside (`USER_HZ`; proc(5)), on all machines in use.
const TICKS: f64 = 100.0;

/// Is there anything to read?
pub(super) fn known() -> bool {
    spent(std::process::id()).is_some()
}

/// A process and all that descend from it and still run.
pub(super) fn tree(root: u32) -> Vec<u32> {
    let mut found = vec![root];
    let mut next = 0;
    while let Some(&process) = found.get(next) {
        found.extend(children(process));
        next += 1;
    }
    found
}

fn children(process: u32) -> Vec<u32> {
    let Ok(threads) = fs::read_dir(format!("/proc/{process}/task")) else {
        return Vec::new();
    };
    let lists = threads.filter_map(|thread| {
        fs::read_to_string(thread.ok()?.path().join("children")).ok()
    });
    let lists: Vec<String> = lists.collect();
    let words = lists.iter().flat_map(|list| list.split_whitespace());
    words.filter_map(|word| word.parse().ok()).collect()
}

/// Processor seconds of a process, with those of its descendants for which it has waited.
pub(super) fn spent(process: u32) -> Option<f64> {
    let text = fs::read_to_string(format!("/proc/{process}/stat")).ok()?;
    let [own, waited] = times(&text)?;
    Some(own + waited)
}

/// Processor seconds of all descendants for which this process has waited.
pub(super) fn waited() -> Option<f64> {
    let text = fs::read_to_string("/proc/self/stat").ok()?;
    times(&text).map(|[_, waited]| waited)
}

/// Fields 14 to 17 of `/proc/PID/stat`: the process in user and system mode, and the same
/// for those waited for. The name of the program, field 2, may hold spaces and brackets.
fn times(stat: &str) -> Option<[f64; 2]> {
    let (_, rest) = stat.rsplit_once(')')?;
    let fields: Vec<&str> = rest.split_whitespace().collect();
    let sum = |first: usize| -> Option<f64> {
        let user: u64 = fields.get(first)?.parse().ok()?;
        let system: u64 = fields.get(first + 1)?.parse().ok()?;
        Some((user + system) as f64 / TICKS)
    };
    Some([sum(11)?, sum(13)?])
}

/// The most memory that a process has held so far, in bytes.
pub(super) fn peak(process: u32) -> Option<u64> {
    highest(&fs::read_to_string(format!("/proc/{process}/status")).ok()?)
}

fn highest(status: &str) -> Option<u64> {
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kilobytes: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(kilobytes * 1024)
}

/// Processor seconds that the whole machine has been busy since it started.
pub(super) fn busy() -> Option<f64> {
    sum_busy(&fs::read_to_string("/proc/stat").ok()?)
}

/// The first line counts user, nice, system, idle, waiting, interrupts, soft interrupts and
/// stolen time.
fn sum_busy(stat: &str) -> Option<f64> {
    let mut words = stat.lines().next()?.split_whitespace();
    if words.next() != Some("cpu") {
        return None;
    }
    let numbers: Vec<u64> = words.map_while(|word| word.parse().ok()).collect();
    let busy = [0, 1, 2, 5, 6, 7].into_iter().map(|at| numbers.get(at));
    let ticks: u64 = busy.collect::<Option<Vec<_>>>()?.into_iter().sum();
    Some(ticks as f64 / TICKS)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_read_behind_any_name() {
        let stat = "8 (a) b) S 7 8 8 0 -1 4194560 47 67 0 55 100 20 300 68 19 20 0 1 0";
        assert_eq!(times(stat), Some([1.2, 3.68]));
        assert_eq!(times("8 (a) S 7"), None);
        assert_eq!(times(""), None);
    }

    #[test]
    fn memory_is_read_in_bytes() {
        assert_eq!(highest("Name:\tx\nVmHWM:\t   12 kB\nVmRSS:\t 3 kB\n"), Some(12_288));
        assert_eq!(highest("Name:\tx\n"), None);
    }

    #[test]
    fn waiting_is_not_busy() {
        assert_eq!(sum_busy("cpu  100 200 300 999 888 1 2 3 0 0\ncpu0 1"), Some(6.06));
        assert_eq!(sum_busy("intr 5"), None);
        assert_eq!(sum_busy("cpu 1 2"), None);
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn this_process_is_known() {
        let me = std::process::id();
        assert!(known());
        assert_eq!(tree(me)[0], me);
        assert!(peak(me).unwrap() > 100_000);
        assert!(busy().unwrap() > 0.0);
        assert_eq!(spent(u32::MAX), None);
    }
}
