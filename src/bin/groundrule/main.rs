//! The command line: picks a command and gives its exit status.

mod args;
mod check;
mod input;
mod output;
mod publish;
mod rules;
mod ruleset;
mod why;

use std::process::ExitCode;

use clap::Parser;

use args::{Arguments, Command};

/// The input or the call could not be read.
const UNREADABLE: u8 = 2;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let done = match &arguments.command {
        Command::Check(check) => check::run(check),
        Command::Why(why) => why::run(why),
        Command::Rules(rules) => rules::run(rules),
        Command::Sources(listing) => rules::sources(listing),
        Command::Publish(publish) => publish::run(publish),
    };
    match done {
        Ok(status) => ExitCode::from(status),
        Err(failure) => {
            output::complain(&failure.to_string());
            ExitCode::from(UNREADABLE)
        }
    }
}
