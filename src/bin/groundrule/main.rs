//! The command line: picks a command and gives its exit status.

mod args;
mod check;
mod compare;
mod input;
mod language_server;
mod output;
mod progress;
mod prove;
mod publish;
mod rules;
mod ruleset;
mod screen;
mod start;
mod submit;
mod tidy;
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
        Command::Start(start) => start::run(start),
        Command::Compare(compare) => compare::run(compare),
        Command::Worksheet(worksheet) => worksheet::run(worksheet),
        Command::Rules(rules) => rules::run(rules),
        Command::Prove(prove) => prove::run(prove),
        Command::Sources(listing) => rules::sources(listing),
        Command::Tidy(tidy) => tidy::run(tidy),
        Command::LanguageServer(server) => language_server::run(server),
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
