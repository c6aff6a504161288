//! Threads for work that is done in parallel: no more than the machine has, and none where the system refuses them.

use std::env;
use std::num::NonZero;
use std::sync::Once;
use std::thread;

use rayon::ThreadPoolBuilder;

/// Makes the threads, once; where the system refuses them, the work is done by the thread that asks for it.
///
/// `RAYON_NUM_THREADS` may ask for fewer than there are processors; more would only wait for one another.
pub(super) fn start() {
    static STARTED: Once = Once::new();
    STARTED.call_once(|| {
        let asked = env::var("RAYON_NUM_THREADS").ok();
        let asked = asked.and_then(|text| text.parse::<NonZero<usize>>().ok());
        let most = thread::available_parallelism().unwrap_or(NonZero::<usize>::MIN);
        let threads = asked.map_or(most, |asked| asked.min(most)).get();
        let builder = || ThreadPoolBuilder::new().num_threads(threads);
        // The pool of the whole process is made once only, so that a first one has to show whether it can be.
        let shared = match builder().build() {
            Ok(_) => builder(),
            Err(_) => ThreadPoolBuilder::new().num_threads(1).use_current_thread(),
        };
        // One that is there already, as in tests, does as well.
        let _ = shared.build_global();
    });
}

/// Whether the system gives one more thread.
pub(super) fn is_given() -> bool {
    let spawned = thread::Builder::new().spawn(|| ());
    spawned.is_ok_and(|thread| thread.join().is_ok())
}
