//! What commands print. Whoever reads it may have had enough and gone, as `head` does: that is no error,
//! and the command does what it was asked all the same.

use std::fmt::Display;
use std::io::{self, ErrorKind, Write};

use crate::cli::Ended;

/// Standard output, into which can be written when nobody reads it any more.
#[derive(Debug)]
pub(super) struct Out<W>(W);

/// Standard output.
pub(super) fn out() -> Out<io::StdoutLock<'static>> {
    Out(io::stdout().lock())
}

/// Prints a text as it is.
///
/// # Errors
/// Where standard output cannot be written, as on a full disk.
pub(super) fn print(text: impl Display) -> Result<(), Ended> {
    let mut out = out();
    write!(out, "{text}")?;
    Ok(out.flush()?)
}

/// Prints a line.
///
/// # Errors
/// As [`print()`].
pub(super) fn line(text: impl Display) -> Result<(), Ended> {
    print(format_args!("{text}\n"))
}

impl<W: Write> Write for Out<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self.0.write(bytes) {
            Err(e) if e.kind() == ErrorKind::BrokenPipe => Ok(bytes.len()),
            written => written,
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        match self.0.flush() {
            Err(e) if e.kind() == ErrorKind::BrokenPipe => Ok(()),
            flushed => flushed,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Fails in one way.
    struct Fails(ErrorKind);

    impl Write for Fails {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(self.0.into())
        }

        fn flush(&mut self) -> io::Result<()> {
            Err(self.0.into())
        }
    }

    #[test]
    fn a_reader_that_has_gone_is_no_error_and_a_full_disk_is() {
        let mut gone = Out(Fails(ErrorKind::BrokenPipe));
        assert!(gone.write_all(b"much").is_ok() && gone.flush().is_ok());
        let mut full = Out(Fails(ErrorKind::StorageFull));
        assert!(full.write_all(b"much").is_err() && full.flush().is_err());
    }
}
