//! The first interrupt ends long work early, with what it has; the next one ends the program.

use std::io;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering::Relaxed;
use std::sync::{Arc, OnceLock};

use signal_hook::consts::SIGINT;
use signal_hook::flag::{register, register_conditional_default};

/// What an interrupt does.
struct Interrupt {
    /// Whether one has come while work could be ended early.
    heard: Arc<AtomicBool>,
    /// Whether the next one ends the program.
    ends: Arc<AtomicBool>,
}

/// Does work that looks now and then whether it has been interrupted.
pub(super) fn until_interrupted<T>(work: impl FnOnce(&AtomicBool) -> T) -> T {
    static INTERRUPT: OnceLock<Option<Interrupt>> = OnceLock::new();
    // Without a handler an interrupt ends the program, as ever.
    let Some(interrupt) = INTERRUPT.get_or_init(|| Interrupt::new().ok()) else {
        return work(&AtomicBool::new(false));
    };
    let heard = &interrupt.heard;
    interrupt.ends.store(heard.load(Relaxed), Relaxed);
    let done = work(heard);
    interrupt.ends.store(true, Relaxed);
    done
}

impl Interrupt {
    fn new() -> io::Result<Interrupt> {
        let (heard, ends) = (Arc::default(), Arc::new(AtomicBool::new(true)));
        // In this order: what ends the program looks at what earlier interrupts have left.
        register_conditional_default(SIGINT, Arc::clone(&ends))?;
        register(SIGINT, Arc::clone(&heard))?;
        register(SIGINT, Arc::clone(&ends))?;
        Ok(Interrupt { heard, ends })
    }
}
