//! Files that may be pipes: another process has to open the other end, and a long wait for it is reported.
//!
//! A pipe is opened only when both ends are there, and read until its writer has closed it. A person who named one by
//! mistake, or whose writer hangs, would look at a program that does nothing and prints nothing.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::Path;
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread;
use std::time::Duration;

/// How long a wait lasts before it is reported.
const PATIENCE: Duration = Duration::from_secs(2);

/// Whether `path` can be read and written without another process: a plain file, a folder, or nothing at all.
pub fn is_plain(path: &Path) -> bool {
    fs::metadata(path).map_or(true, |there| there.is_file() || there.is_dir())
}

/// The bytes at `path`, at most one more than `most`; a device that never ends ends there too.
///
/// A long wait for a writer is reported on the standard error.
///
/// # Errors
/// Where it cannot be opened or read.
pub fn read(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    report_wait(path, "waiting for what writes to it", || {
        let mut bytes = Vec::new();
        File::open(path)?.take(most + 1).read_to_end(&mut bytes)?;
        Ok(bytes)
    })
}

/// A pipe or device opened to be written; a long wait for a reader is reported on the standard
/// error.
///
/// # Errors
/// Where it cannot be opened.
pub fn open_to_write(path: &Path) -> io::Result<File> {
    report_wait(path, "waiting for what reads from it", || {
        OpenOptions::new().write(true).open(path)
    })
}

/// Writes all bytes to a pipe or device; a long wait for the reader is reported on the
/// standard error.
///
/// # Errors
/// Where it cannot be opened or written.
pub fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = open_to_write(path)?;
    report_wait(path, "waiting for what reads from it", || {
        file.write_all(bytes)
    })
}

/// Does some work; where it takes long at what is no plain file, reports that once on the standard error.
fn report_wait<T>(path: &Path, waiting: &str, work: impl FnOnce() -> T) -> T {
    if is_plain(path) {
        return work();
    }
    let words = format!(
        "`{}` is a pipe or device: {waiting}; Ctrl-C ends the wait\n",
        path.display()
    );
    let (done, is_done) = mpsc::channel::<()>();
    let watch = thread::Builder::new().spawn(move || {
        if is_done.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
            // If even stderr is gone no reader is left.
            let _ = io::stderr().write_all(words.as_bytes());
        }
    });
    let result = work();
    drop(done);
    if let Ok(watch) = watch {
        // It has nothing to fail with.
        let _ = watch.join();
    }
    result
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::{is_plain, read};

    #[test]
    fn what_needs_nobody_else_is_plain() {
        assert!(is_plain(Path::new("Cargo.toml")) && is_plain(Path::new("src")));
        assert!(is_plain(Path::new("no-such-file")));
        #[cfg(unix)]
        assert!(!is_plain(Path::new("/dev/null")));
    }

    #[test]
    fn one_byte_more_than_the_most_is_read() {
        assert_eq!(
            read(Path::new("Cargo.toml"), 4)
                .map(|bytes| bytes.len())
                .ok(),
            Some(5)
        );
        #[cfg(unix)]
        assert_eq!(
            read(Path::new("/dev/zero"), 9)
                .map(|bytes| bytes.len())
                .ok(),
            Some(10)
        );
        assert!(read(Path::new("no-such-file"), 4).is_err());
    }
}
