//! The program `trayward`.

use std::io::{ErrorKind, Write};
use std::process::ExitCode;

use clap::Parser;
use desk::command::{Arguments, run};
use jiff::tz::TimeZone;
use terms::Instant;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let machine = Instant::from_millis(jiff::Timestamp::now().as_millisecond());
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    let done = run(&arguments, machine, &TimeZone::system(), &mut out).and_then(|()| Ok(out.flush()?));
    match done {
        Ok(()) => ExitCode::SUCCESS,
        // A reader that has seen enough, such as `head`, closes the pipe: that is not a failure.
        Err(error)
            if error
                .downcast_ref::<std::io::Error>()
                .is_some_and(|io| io.kind() == ErrorKind::BrokenPipe) =>
        {
            ExitCode::SUCCESS
        }
        Err(error) => {
            if error.downcast_ref::<desk::load::Unreadable>().is_some() {
                eprintln!("{error}");
            } else {
                eprintln!("trayward: {error:#}");
            }
            ExitCode::from(2)
        }
    }
}
