//! `trayward serve`, and `trayward` alone: the local pages.

use std::io::{IsTerminal, Write};
use std::path::PathBuf;
use std::sync::Arc;

use anyhow::{Context, Result};
use jiff::tz::TimeZone;

use crate::load::Hand;
use crate::pages::{House, fill, listen};
use crate::running::Place;
use crate::shelf::Shelf;

/// What `trayward serve` is asked.
#[derive(clap::Args)]
pub struct ServeArguments {
    /// Address of this machine to listen on; port 0 takes any that is free.
    #[arg(long, default_value = "127.0.0.1:8413")]
    listen: String,
    /// Do not open a browser.
    #[arg(long)]
    no_browser: bool,
    /// The invented scenario in a store of its own, which is gone at the end, or in `--store` where that is new.
    #[arg(long)]
    demo: bool,
}

/// The demo scenario in a fresh store.
///
/// # Errors
/// When it cannot be served.
pub fn demo(shelf: Shelf, zone: &TimeZone, out: &mut impl Write) -> Result<()> {
    // Where the usual port is taken, any other will do for a look.
    let free = std::net::TcpListener::bind("127.0.0.1:8413").is_ok();
    let listen = if free { "127.0.0.1:8413" } else { "127.0.0.1:0" }.to_owned();
    run(&ServeArguments { listen, no_browser: false, demo: true }, Shelf { store: None, ..shelf }, zone, out)
}

/// Runs `trayward serve`.
///
/// # Errors
/// When the address is not of this machine alone, or the store cannot be opened.
pub fn run(arguments: &ServeArguments, shelf: Shelf, zone: &TimeZone, out: &mut impl Write) -> Result<()> {
    let scratch = (arguments.demo && shelf.store.is_none()).then(tempfile::tempdir).transpose()?;
    let path: Option<PathBuf> = scratch.as_ref().map(|folder| folder.path().join("demo.sqlite"));
    let place = Place::of(path.as_ref().and_then(|path| path.to_str()).or(shelf.store))?;
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async {
        // The address comes first: whoever gives another one is told before anything is made.
        let listening = listen(&arguments.listen).await?;
        let store = place.open().await?;
        let mut house = House::over(store, Hand::of(shelf.clinic), zone.clone(), arguments.demo)?;
        house.scratch = scratch.is_some();
        let house = Arc::new(house);
        if arguments.demo && house.cases().await?.is_empty() {
            fill(&house).await?;
        }
        // What is wrong with a clinic file is said here and not on the first page.
        house.known()?;
        let address = format!("http://{}/", listening.address);
        match arguments.demo {
            true => writeln!(out, "\ndemo: an invented clinic, in a store of its own. Pages: {address}")?,
            false => writeln!(out, "Records: {}\nPages: {address}", place.path().display())?,
        }
        writeln!(
            out,
            "Only this machine can see them. Ctrl-C ends; what is recorded is kept{}.",
            if scratch.is_some() { " no longer than that (--store FILE keeps it)" } else { "" }
        )?;
        out.flush()?;
        if !arguments.no_browser && std::io::stdout().is_terminal() {
            // Where there is no browser, the address stands above.
            let _ = open::that_detached(&address);
        }
        listening.serve(house, over()).await.context("the pages")
    })
}

/// Ctrl-C, or being asked to end.
async fn over() {
    let interrupted = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        let asked = tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate());
        match asked {
            Ok(mut asked) => tokio::select! {
                _ = interrupted => {}
                _ = asked.recv() => {}
            },
            Err(_) => {
                let _ = interrupted.await;
            }
        }
    }
    #[cfg(not(unix))]
    let _ = interrupted.await;
}
