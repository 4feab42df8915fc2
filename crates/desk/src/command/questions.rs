//! `trayward questions`.

use std::io::Write;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use clap::Subcommand;
use questions::answer_file::read_csv;
use questions::answers::mark_all;
use questions::marking::Rule;
use questions::{
    Blueprint, Frozen, Item, QuestionSet, Rejected, Templates, World, compose, generate, qti, recheck,
    take_over,
};
use terms::CaseCode;

use super::json;
use crate::load::{Known, bytes_of, text_of};
use crate::questions_page;
use crate::running::here;
use crate::school::{self, Sitting};
use crate::shelf::Shelf;

/// The largest file that is read, bytes.
const MOST_BYTES: u64 = 64 * 1024 * 1024;

/// What `trayward questions` is asked.
#[derive(clap::Args)]
pub struct QuestionsArguments {
    #[command(subcommand)]
    what: Option<What>,
}

#[derive(Subcommand)]
enum What {
    /// The templates: topic, level, which answer is asked for.
    List {
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// One item of a template, with its key and how it was found.
    Try {
        /// Template.
        template: String,
        /// Number.
        #[arg(long, default_value_t = 1)]
        number: u64,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// Every template with many numbers: which of them make no sound item, and why.
    Sweep {
        /// Numbers of each template.
        #[arg(long, default_value_t = 200)]
        numbers: u64,
    },
    /// A set from its number: the same number and ledger give the same set.
    Compose {
        /// Number of the set.
        #[arg(long, default_value_t = 1)]
        number: u64,
        /// Items.
        #[arg(long, default_value_t = 20)]
        items: usize,
        /// Only these topics.
        #[arg(long)]
        topic: Vec<String>,
        /// With keys and reasons.
        #[arg(long)]
        key: bool,
        /// The frozen set as JSON, for a file.
        #[arg(long)]
        json: bool,
    },
    /// Answers of a class marked and analysed.
    Mark {
        /// A frozen set: a file, or a code such as SET-0017 of the records.
        set: String,
        /// A table of answers: `learner`, then the identifiers of items; without it those of the records.
        answers: Option<PathBuf>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// Which items of a frozen set would come out otherwise with the ledger of today.
    Recheck {
        /// A frozen set: a file, or a code of the records; without it every set of the records.
        set: Option<String>,
    },
    /// A frozen set as a QTI 3.0 package.
    Export {
        /// A frozen set: a file, or a code of the records.
        set: String,
        /// The package to write; it must not be there.
        package: PathBuf,
    },
    /// The items of a QTI package, and what of it is not read.
    Import {
        /// The package, or one item as XML.
        package: PathBuf,
        /// Keeps the items as the set of this number, to be printed, answered and marked on the pages.
        #[arg(long, value_name = "NUMBER")]
        keep: Option<u64>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
}

/// Runs `trayward questions`.
///
/// # Errors
/// What cannot be read, composed, marked or written, with what is allowed.
pub fn run(arguments: &QuestionsArguments, shelf: Shelf, out: &mut impl Write) -> Result<()> {
    let known = Known::of(shelf.stock(false)?)?;
    let (templates, world) = (known.templates()?, known.world());
    match &arguments.what {
        None => list(templates, false, out),
        Some(What::List { json }) => list(templates, *json, out),
        Some(What::Try { template, number, json: as_json }) => {
            let frozen = one(&world, templates, template, *number)?;
            match as_json {
                true => json(&frozen, out),
                false => Ok(write!(out, "{}", questions_page::item(&frozen, 1, true).text())?),
            }
        }
        Some(What::Sweep { numbers }) => sweep(&world, templates, *numbers, out),
        Some(What::Compose { number, items, topic, key, json: as_json }) => {
            let mut blueprint = Blueprint::of_items(*items);
            blueprint.topics = topic.iter().map(|topic| (topic.clone(), 1.0)).collect();
            let set = compose(&world, templates, *number, &blueprint)?;
            match as_json {
                true => json(&set, out),
                false => Ok(write!(out, "{}", questions_page::set(&set, *key).text())?),
            }
        }
        Some(What::Mark { set, answers, json: as_json }) => {
            let given = open(set, shelf)?;
            let answers = match (answers, &given) {
                (Some(path), _) => read_csv(&text_of(path, MOST_BYTES)?, &given.items())
                    .with_context(|| format!("{} cannot be marked", path.display()))?,
                (None, Given::Kept(sitting)) => sitting.answers()?,
                (None, Given::File(_)) => bail!("answers: given none; allowed a table of answers"),
            };
            let answers = answers.without(|item| given.is_out(item));
            let marked = mark_all(&answers, &given.items(), Rule::Partial)?;
            let report = questions::analysis::analyse(&marked.columns)?;
            match as_json {
                true => json(&serde_json::json!({ "marked": marked, "analysis": report }), out),
                false => Ok(write!(out, "{}", questions_page::analysis(&marked, &report).text())?),
            }
        }
        Some(What::Recheck { set }) => {
            let sets = match set {
                Some(set) => vec![(set.clone(), open(set, shelf)?.set().clone())],
                None => kept(shelf)?,
            };
            if sets.is_empty() {
                writeln!(out, "no set is kept in the records")?;
            }
            for (name, set) in sets {
                let changed = recheck(&world, templates, &set);
                write!(
                    out,
                    "{}",
                    questions_page::changed(&name, &set, &changed, known.parameters.hash()).text()
                )?;
            }
            Ok(())
        }
        Some(What::Export { set, package }) => {
            let given = open(set, shelf)?;
            let bytes = qti::write(&format!("Trayward set {}", given.set().number), &given.items())?;
            let mut file = std::fs::File::create_new(package)
                .with_context(|| format!("{}: cannot be made", package.display()))?;
            file.write_all(&bytes)?;
            file.sync_all()?;
            writeln!(out, "{}: {} items, {} bytes", package.display(), given.items().len(), bytes.len())?;
            Ok(())
        }
        Some(What::Import { package, keep, json: as_json }) => {
            let read =
                qti::read(&bytes_of(package, MOST_BYTES)?).with_context(|| package.display().to_string())?;
            if let Some(number) = *keep {
                let set = take_over(&world, number, read.items.clone(), read.left_out.clone())?;
                let code = shelf.writing(async |store| {
                    let code = school::free(store, number).await?;
                    school::keep_composed(store, &code, &set, &here()).await?;
                    Ok(code)
                })?;
                writeln!(out, "kept as {code}")?;
            }
            match as_json {
                true => json(
                    &serde_json::json!({ "title": read.title, "items": read.items, "left_out": read.left_out }),
                    out,
                ),
                false => Ok(write!(out, "{}", questions_page::imported(&read).text())?),
            }
        }
    }
}

fn list(templates: &Templates, as_json: bool, out: &mut impl Write) -> Result<()> {
    if as_json {
        let list: Vec<_> = templates
            .list
            .iter()
            .map(|t| serde_json::json!({ "id": t.id, "title": t.title, "topic": t.topic, "level": t.level, "asks": t.asks }))
            .collect();
        return json(&list, out);
    }
    Ok(write!(out, "{}", questions_page::list(templates).text())?)
}

fn one(world: &World, templates: &Templates, id: &str, number: u64) -> Result<Frozen> {
    let Some(template) = templates.find(id) else {
        let near = case_file::nearest(id, templates.list.iter().map(|template| template.id.as_str()));
        let near = near.map_or(String::new(), |near| format!("; did you mean \"{near}\"?"));
        bail!("there is no template \"{id}\"{near}; `trayward questions` lists them");
    };
    Ok(generate(world, template, &templates.misconceptions, number)?)
}

fn sweep(world: &World, templates: &Templates, numbers: u64, out: &mut impl Write) -> Result<()> {
    let mut without = 0;
    for template in &templates.list {
        let mut made = 0_u64;
        for number in 0..numbers {
            match generate(world, template, &templates.misconceptions, number) {
                Ok(_) => made += 1,
                Err(Rejected { why, .. }) => {
                    without += 1;
                    writeln!(out, "{} {number}: {}", template.id, why.join("; "))?;
                }
            }
        }
        writeln!(out, "{:>5} of {numbers}  {}", made, template.id)?;
        out.flush()?;
    }
    if without > 0 {
        bail!("{without} numbers make no sound item");
    }
    writeln!(out, "every number of {} templates makes a sound item", templates.list.len())?;
    Ok(())
}

/// A set from a file or from the records.
enum Given {
    File(Box<QuestionSet>),
    Kept(Box<Sitting>),
}

impl Given {
    fn set(&self) -> &QuestionSet {
        match self {
            Given::File(set) => set,
            Given::Kept(sitting) => &sitting.set,
        }
    }

    /// Whether an item was taken out of the marking.
    fn is_out(&self, item: &str) -> bool {
        matches!(self, Given::Kept(sitting) if sitting.book.voided.contains_key(item))
    }

    fn items(&self) -> Vec<Item> {
        self.set().items.iter().map(|frozen| frozen.item.clone()).collect()
    }
}

fn open(name: &str, shelf: Shelf) -> Result<Given> {
    if let Ok(code) = CaseCode::new(name)
        && records::SetBook::is(&code)
    {
        let sitting = shelf.blocking(async |store| Sitting::open(store, &code).await)?;
        return Ok(Given::Kept(Box::new(sitting)));
    }
    let text = text_of(Path::new(name), MOST_BYTES)?;
    let set = serde_json::from_str(&text).with_context(|| format!("{name}: not a frozen set"))?;
    Ok(Given::File(Box::new(set)))
}

fn kept(shelf: Shelf) -> Result<Vec<(String, QuestionSet)>> {
    shelf.blocking(async |store| {
        let mut list = Vec::new();
        for code in school::all(store).await?.0 {
            list.push((code.to_string(), Sitting::open(store, &code).await?.set));
        }
        Ok(list)
    })
}
