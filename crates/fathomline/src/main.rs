//! The binary: commands, files, threads. It decides nothing about water; the pure crates do.
//!
//! Start reading at [`commands`].

mod alarm;
mod commands;
mod desk;
mod export;
mod glare;
mod picture;
mod places;
mod progress;
mod reach;
mod roster;
mod site_folder;
mod today;

use clap::Parser;
use std::process::ExitCode;

/// Survey the water, and put every guard over the right piece of bottom in the right order.
#[derive(Parser)]
#[command(name = "fathomline", version, about)]
struct Arguments {
    #[command(subcommand)]
    room: Room,
}

/// The rooms of the product that have commands.
#[derive(clap::Subcommand)]
enum Room {
    /// Know the water before anyone is missing.
    #[command(subcommand)]
    Water(commands::Water),
    /// Somebody is missing: belief, plan, orders.
    #[command(subcommand)]
    Alarm(commands::Alarm),
    /// Open the desk: one search, many hands, every screen.
    Serve(Box<commands::Serve>),
    /// The log of a desk: verify it, write it out, delete its names.
    #[command(subcommand)]
    Records(commands::Records),
    /// The desk's interface as an OpenAPI document.
    #[command(hide = true)]
    Openapi,
    /// The day as it is: how ready are people and kit for it?
    #[command(subcommand)]
    Today(commands::Today),
    /// Simulated searches: how good are the plans?
    #[command(subcommand)]
    Practice(commands::Practice),
    /// Every number by hand calculator: list models, read a page, evaluate one.
    Explain(commands::explain::Explain),
}

fn main() -> ExitCode {
    match Arguments::parse().room {
        Room::Water(command) => command.run(),
        Room::Alarm(command) => command.run(),
        Room::Serve(command) => command.run(),
        Room::Records(command) => command.run(),
        Room::Openapi => {
            println!("{:#}", desk::openapi::document());
            ExitCode::SUCCESS
        }
        Room::Today(command) => command.run(),
        Room::Practice(command) => command.run(),
        Room::Explain(command) => command.run(),
    }
}
