//! The command line: picks a command and gives its exit status.

mod args;
mod check;
mod input;
mod output;
mod progress;
mod rules;
mod screen;
mod submit;
mod why;
mod worksheet;

use std::process::ExitCode;

use clap::Parser;

use args::{Arguments, Command};

/// The input or the call could not be read.
const UNREADABLE: u8 = 2;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let done = match &arguments.command {
        Command::Check(check) => check::run(check),
        Command::Screen(screen) => screen::run(screen),
        Command::Why(why) => why::run(why),
        Command::Worksheet(worksheet) => worksheet::run(worksheet),
        Command::Rules(rules) => rules::run(rules),
        Command::Sources(listing) => rules::sources(listing),
    };
    match done {
        Ok(status) => ExitCode::from(status),
        Err(failure) => {
            output::complain(&failure.to_string());
            ExitCode::from(UNREADABLE)
        }
    }
}
