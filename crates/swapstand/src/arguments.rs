//! The command line, defined once: parser, help, completions and man page come from here.

use std::{net::IpAddr, path::PathBuf};

use clap::{Args, Parser, Subcommand, ValueEnum, ValueHint};

/// One bike, one proposed change: does it fit, what does it do, how sure is that.
#[derive(Debug, Parser)]
#[command(name = "swapstand", version, about, arg_required_else_help = false, disable_help_subcommand = true)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Option<Command>,

    #[command(flatten)]
    pub(crate) common: Common,
}

/// Options of every command.
#[derive(Debug, Args)]
pub(crate) struct Common {
    /// Folder with knowledge files of your own; a file in it replaces the built-in one of the same name
    #[arg(long, global = true, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(crate) knowledge: Option<PathBuf>,

    /// When to use colour
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    pub(crate) colour: Colour,
}

/// When to use colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Colour {
    /// On a terminal, unless `NO_COLOR` is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// Units to print in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Units {
    /// mm, kg, bar
    Metric,
    /// in, lb, psi
    Imperial,
}

impl From<Units> for quantity::print::Units {
    fn from(units: Units) -> Self {
        match units {
            Units::Metric => Self::Metric,
            Units::Imperial => Self::Imperial,
        }
    }
}

/// What a picture is to be looked at on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Paper {
    /// Drawing paper, for light surroundings
    Light,
    /// A slate, for dark ones
    Dark,
}

impl From<Paper> for drawing::ink::Paper {
    fn from(paper: Paper) -> Self {
        match paper {
            Paper::Light => Self::Light,
            Paper::Dark => Self::Dark,
        }
    }
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Try a swap on a bike and print the answer
    Try(Try),
    /// List every part of the catalogue for one place: does it go, what else does it take, what does it do
    Fits(Fits),
    /// Put a bike on the stand as it is: reconcile its chart, say what is known and how well
    Check(Check),
    /// Look parts up in a bike's catalogue or in catalogue files
    Parts(Parts),
    /// Open the bench in a browser
    Serve(Serve),
    /// Print a JSON Schema, for completion in an editor
    Schema(Schema),
    /// Print shell completions
    Completions(Completions),
    /// Print the manual page
    Man,
}

/// Try a swap.
#[derive(Debug, Args)]
pub(crate) struct Try {
    /// The bike: a build file
    #[arg(value_name = "BUILD", value_hint = ValueHint::FilePath)]
    pub(crate) build: PathBuf,

    /// A file with the swap
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) swap: Option<PathBuf>,

    /// Fit a part: `fork=tarn-150`; may be given several times
    #[arg(long, value_name = "SLOT=PART")]
    pub(crate) set: Vec<String>,

    /// Leave a slot empty
    #[arg(long, value_name = "SLOT")]
    pub(crate) unset: Vec<String>,

    /// Change a number of set-up, rider, chart or a part: `stem_spacers=10 mm`, `stem.length=60 mm`
    #[arg(long, value_name = "NAME=VALUE")]
    pub(crate) adjust: Vec<String>,

    #[command(flatten)]
    pub(crate) terms: Terms,

    #[command(flatten)]
    pub(crate) output: Output,
}

/// What may be spent and changed.
#[derive(Debug, Args)]
pub(crate) struct Terms {
    /// The most the whole swap may cost, extras and work included, in the catalogue's currency
    #[arg(long, value_name = "SUM")]
    pub(crate) budget: Option<f64>,

    /// A place whose part has to stay; may be given several times
    #[arg(long, value_name = "SLOT")]
    pub(crate) keep: Vec<String>,

    /// New parts only, none used or reconditioned
    #[arg(long)]
    pub(crate) new: bool,

    /// The shop's rate an hour; without one, work is told in minutes and costs nothing
    #[arg(long, value_name = "SUM")]
    pub(crate) rate: Option<f64>,
}

/// List what fits.
#[derive(Debug, Args)]
pub(crate) struct Fits {
    /// The bike: a build file
    #[arg(value_name = "BUILD", value_hint = ValueHint::FilePath)]
    pub(crate) build: PathBuf,

    /// The place: `fork`, `rear_wheel`, …
    #[arg(long, value_name = "SLOT")]
    pub(crate) slot: String,

    /// Show no more than so many
    #[arg(long, value_name = "COUNT", default_value_t = 20)]
    pub(crate) most: usize,

    #[command(flatten)]
    pub(crate) terms: Terms,

    /// Units to print in
    #[arg(long, value_name = "SYSTEM", default_value = "metric")]
    pub(crate) units: Units,

    /// Print as JSON, all of them (always in base units)
    #[arg(long)]
    pub(crate) json: bool,
}

/// Check a bike.
#[derive(Debug, Args)]
pub(crate) struct Check {
    /// The bike: a build file
    #[arg(value_name = "BUILD", value_hint = ValueHint::FilePath)]
    pub(crate) build: PathBuf,

    #[command(flatten)]
    pub(crate) output: Output,
}

/// How the answer is given.
#[derive(Debug, Args)]
pub(crate) struct Output {
    /// Units to print in
    #[arg(long, value_name = "SYSTEM", default_value = "metric")]
    pub(crate) units: Units,

    /// Print the answer as JSON (always in base units)
    #[arg(long)]
    pub(crate) json: bool,

    /// Show everything: all figures, all checks, what each ± comes from
    #[arg(long, conflicts_with = "json")]
    pub(crate) full: bool,

    /// Write the sheet; the ending decides: .html or .pdf
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) sheet: Option<PathBuf>,

    /// Write the drawing; the ending decides: .svg or .png
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) drawing: Option<PathBuf>,

    /// Write the card, one answer for a screen; the ending decides: .svg or .png
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) card: Option<PathBuf>,

    /// Write the bike moving from before to after; the ending decides: .svg or .png (animated)
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) animation: Option<PathBuf>,

    /// What card and animation are to be looked at on
    #[arg(long, value_name = "PAPER", default_value = "light")]
    pub(crate) paper: Paper,

    /// In drawing, card and animation, show the bike with the rider aboard instead of unladen
    #[arg(long)]
    pub(crate) sagged: bool,
}

/// Look parts up.
#[derive(Debug, Args)]
pub(crate) struct Parts {
    /// Build, catalogue file (.toml, .csv) or folder of catalogue files
    #[arg(value_name = "FILE", required = true, value_hint = ValueHint::AnyPath)]
    pub(crate) files: Vec<PathBuf>,

    /// Only this kind of part, or what goes in this slot
    #[arg(long, value_name = "KIND")]
    pub(crate) kind: Option<String>,

    /// Only parts with all these words in id, name or maker
    #[arg(long, value_name = "WORDS")]
    pub(crate) find: Option<String>,

    /// Units to print in
    #[arg(long, value_name = "SYSTEM", default_value = "metric")]
    pub(crate) units: Units,

    /// Print as JSON (always in base units)
    #[arg(long)]
    pub(crate) json: bool,
}

/// Open the bench in a browser.
#[derive(Debug, Args)]
pub(crate) struct Serve {
    /// Bikes to offer: build files, and folders of build files; without any, an invented workshop
    #[arg(value_name = "FILE", value_hint = ValueHint::AnyPath)]
    pub(crate) files: Vec<PathBuf>,

    /// Port to listen at; 0 takes any that is free
    #[arg(long, value_name = "NUMBER", default_value_t = 7240)]
    pub(crate) port: u16,

    /// Address to listen at; whoever reaches it can use the bench
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1")]
    pub(crate) host: IpAddr,

    /// Do not open the browser
    #[arg(long)]
    pub(crate) no_browser: bool,

    /// Write a line for each request to standard error, as JSON
    #[arg(long)]
    pub(crate) log: bool,
}

/// Print a schema.
#[derive(Debug, Args)]
pub(crate) struct Schema {
    /// Of which file
    #[arg(value_name = "FILE_KIND")]
    pub(crate) of: SchemaOf,
}

/// Files that have a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum SchemaOf {
    /// A build file
    Build,
    /// A catalogue file
    Catalogue,
    /// A swap file
    Swap,
}

/// Print completions.
#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// For which shell
    #[arg(value_name = "SHELL")]
    pub(crate) shell: clap_complete::Shell,
}
