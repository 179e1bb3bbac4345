//! The door: a site folder's files and a day file, everything checked at once.
//!
//! Each file is read as far as it goes, so that one visit names all problems. Fatal ones keep the site
//! from being used; the others are said and the site is used. Start reading at [`read_site`], [`read_day`].

mod crew;
mod day;
mod folder;
mod map;
mod outline;
mod photo;
mod projection;
mod raster;
mod rings;
mod settings;
mod soundings;
mod stray;

use crate::Problem;
pub use day::read_day;
pub use folder::{DAY_FILE, MAP_FILE, SITE_FILE, named_files, read_site};
pub use photo::{Photo, read_photo};

/// The files of a site folder, read by somebody else.
#[derive(Clone, Debug, Default)]
pub struct SiteFiles {
    /// File name without its folder, and what is in it.
    pub files: Vec<(String, Vec<u8>)>,
}

impl SiteFiles {
    /// What a file holds, upper and lower case as written.
    pub(crate) fn bytes(&self, name: &str) -> Option<&[u8]> {
        self.files.iter().find(|(file, _)| file == name).map(|(_, bytes)| bytes.as_slice())
    }
}

/// What came through the door, and everything that is wrong with it.
#[derive(Clone, Debug)]
pub struct Checked<T> {
    /// The value; `None` when a problem is fatal.
    pub value: Option<T>,
    /// All problems, in the order of the files.
    pub problems: Vec<Problem>,
}

impl<T> Checked<T> {
    /// Lets the value through unless a problem is fatal.
    fn of(value: Option<T>, problems: Vec<Problem>) -> Self {
        let refused = problems.iter().any(|problem| problem.fatal);
        Checked { value: value.filter(|_| !refused), problems }
    }
}
