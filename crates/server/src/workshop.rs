//! What the pages work on: the stand, bikes with their catalogues.

use std::{
    fs,
    path::{Path, PathBuf},
    sync::{Arc, OnceLock},
};

use bike::{
    Build, Catalogue,
    read::{build_from, catalogue_of, is_build, read_build},
};
use knowledge::Knowledge;
use source_file::{Problem, Problems, SourceFile};
use stand::{Mounted, Stand, StandProblem};

use crate::{demo, hands::Hands, remembered::Remembered};

/// A bike that is offered.
#[derive(Debug)]
pub(crate) struct Offered {
    /// Its name in an address: that of its file.
    pub(crate) id: String,
    pub(crate) build: Arc<Build>,
    /// As it is written.
    pub(crate) file: SourceFile,
    pub(crate) catalogue: Arc<Catalogue>,
    /// Put on the stand when somebody first asks.
    mounted: OnceLock<Result<Arc<Mounted>, StandProblem>>,
}

impl Offered {
    fn new(id: String, build: Build, file: SourceFile, catalogue: Arc<Catalogue>) -> Self {
        Self { id, build: Arc::new(build), file, catalogue, mounted: OnceLock::new() }
    }

    /// The bike on the stand: it stands there for whoever asks.
    pub(crate) fn mounted(&self, stand: &Stand) -> Result<Arc<Mounted>, StandProblem> {
        self.mounted.get_or_init(|| stand.mount(Arc::clone(&self.build)).map(Arc::new)).clone()
    }
}

/// A workshop.
#[derive(Debug)]
pub struct Workshop {
    pub(crate) stand: Stand,
    pub(crate) bikes: Vec<Offered>,
    /// Catalogue for a bike that somebody brings.
    pub(crate) catalogue: Arc<Catalogue>,
    /// It is the invented one.
    pub(crate) is_demo: bool,
    /// What was worked out before.
    pub(crate) remembered: Remembered,
    /// Who works on what is asked.
    pub(crate) hands: Hands,
    /// Who works on what is asked while a slider moves.
    pub(crate) quick_hands: Hands,
}

impl Workshop {
    /// Opens a workshop: build files, and folders of build files. Without any, the invented one that is built in.
    ///
    /// # Errors
    /// All that is wrong in the files.
    pub fn open(knowledge: Knowledge, paths: &[PathBuf]) -> Result<Self, Problems> {
        let mut problems = Problems::new();
        let bikes =
            if paths.is_empty() { demo_bikes(&knowledge, &mut problems) } else { bikes(&knowledge, paths, &mut problems) };
        problems.unless_any(())?;
        let stand = Stand::new(knowledge).map_err(|problem| Problem::new(problem.to_string()).help_if(problem.help()))?;
        let catalogue = bikes.first().map(|bike| Arc::clone(&bike.catalogue)).unwrap_or_default();
        let (remembered, hands, quick_hands) = (Remembered::new(), Hands::default(), Hands::quick());
        Ok(Self { stand, bikes, catalogue, is_demo: paths.is_empty(), remembered, hands, quick_hands })
    }

    /// The knowledge.
    pub(crate) fn knowledge(&self) -> &Knowledge {
        self.stand.knowledge()
    }

    /// A bike by its name in an address.
    pub(crate) fn bike(&self, id: &str) -> Option<&Offered> {
        self.bikes.iter().find(|bike| bike.id == id)
    }
}

fn demo_bikes(knowledge: &Knowledge, problems: &mut Problems) -> Vec<Offered> {
    let catalogue = Arc::new(kept(catalogue_of(&demo::parts(), knowledge), problems).unwrap_or_default());
    let read = |file: &SourceFile| {
        let build = build_from(file, &catalogue, knowledge)?;
        let id = id_of(Path::new(file.name()));
        Ok(Offered::new(id, build, file.clone(), Arc::clone(&catalogue)))
    };
    demo::bikes().iter().filter_map(|file| kept(read(file), problems)).collect()
}

fn bikes(knowledge: &Knowledge, paths: &[PathBuf], problems: &mut Problems) -> Vec<Offered> {
    let mut bikes: Vec<Offered> = Vec::new();
    let files: Vec<PathBuf> = paths.iter().flat_map(|path| builds_in(path, problems)).collect();
    for path in files {
        let read = read_build(&path, knowledge).and_then(|read| Ok((read, SourceFile::read(&path)?)));
        let Some(((build, catalogue), file)) = kept(read, problems) else { continue };
        let id = id_of(&path);
        if bikes.iter().any(|bike| bike.id == id) {
            let twice = Problem::new(format!("two bikes are called `{id}`"));
            problems.push(twice.note(format!("the second is {}", path.display())).help("give one of the files another name"));
            continue;
        }
        bikes.push(Offered::new(id, build, file, Arc::new(catalogue)));
    }
    bikes
}

/// A file itself; of a folder, the build files in it.
fn builds_in(path: &Path, problems: &mut Problems) -> Vec<PathBuf> {
    if !path.is_dir() {
        return vec![path.to_path_buf()];
    }
    let entries = fs::read_dir(path).map(|entries| entries.flatten().map(|entry| entry.path()).collect::<Vec<_>>());
    let mut files: Vec<PathBuf> = match entries {
        Ok(files) => files.into_iter().filter(|file| file.extension().is_some_and(|e| e == "toml") && is_build(file)).collect(),
        Err(error) => {
            problems.push(Problem::new(format!("cannot read the folder `{}`: {error}", path.display())));
            return Vec::new();
        }
    };
    files.sort();
    if files.is_empty() {
        let none = Problem::new(format!("there is no build in the folder `{}`", path.display()));
        problems.push(none.help("a build is a `.toml` file with a `[frame]` or `[slots]`"));
    }
    files
}

/// The name of a bike in an address: that of its file, without its ending.
fn id_of(path: &Path) -> String {
    path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default()
}

fn kept<T>(result: Result<T, Problems>, problems: &mut Problems) -> Option<T> {
    match result {
        Ok(value) => Some(value),
        Err(more) => {
            more.into_iter().for_each(|problem| problems.push(problem));
            None
        }
    }
}
