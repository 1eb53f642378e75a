//! Being asked to stop.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use anyhow::{Context, Result};
use signal_hook::consts::{SIGINT, SIGPIPE, SIGTERM};
use signal_hook::flag;

/// A flag that is raised by the first Ctrl-C or request to terminate; the second ends the
/// program at once, as if nobody listened. Until this is called every signal ends it.
pub(crate) fn stop_flag() -> Result<Arc<AtomicBool>> {
    let stop = Arc::new(AtomicBool::new(false));
    for signal in [SIGINT, SIGTERM] {
        // In this order: the first signal must find the flag down.
        flag::register_conditional_shutdown(signal, 128 + signal, Arc::clone(&stop))
            .and_then(|_| flag::register(signal, Arc::clone(&stop)))
            .context("can't listen to signals")?;
    }
    Ok(stop)
}

/// A reader that leaves early (`| head`) ends the program quietly, with the status that a
/// shell gives for it. What the program writes besides is written before it says so.
pub(crate) fn end_with_the_reader() -> Result<()> {
    let always = Arc::new(AtomicBool::new(true));
    flag::register_conditional_shutdown(SIGPIPE, 128 + SIGPIPE, always)
        .map(|_| ())
        .context("can't listen to signals")
}
