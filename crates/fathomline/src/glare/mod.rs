//! Glare of a day or a season on a site: from files and options to what is shown.
//!
//! Local times become moments here; everything else is the pure crates'. Start reading at [`Asked`].

mod json;
mod text;

pub use json::json;
pub use text::{single_days, text};

use jiff::civil::Date;
use jiff::tz::TimeZone;
use measure::parameters::value;
use watch::glare::{Loss, Moment, Scene, Season, Slopes, Surface, Thresholds, Wind, losses};
use watch::sun::{Air, Course, Station, delta_t_s};
use watch::view::{Post, Sights, Spots, Tops, posts, sights};
use water::{Day, Ground, Hours, Place, Problem, Site};

/// Minutes of a day.
const DAY_MIN: usize = 1440;

/// What is asked.
pub struct Asked<'a> {
    /// Site.
    pub site: &'a Site,
    /// Day, if one was given.
    pub day: Option<&'a Day>,
    /// First and last date; the day's own without a season.
    pub span: Option<(Date, Date)>,
    /// Wind, instead of the day's.
    pub wind: Option<Wind>,
    /// Posts by name; none: all.
    pub posts: Vec<String>,
    /// Opening hours \[minutes after midnight\].
    pub open: Option<(usize, usize)>,
    /// How far people on rafts rise over the deck \[m\].
    pub crowd_m: Option<f64>,
}

/// Everything computed.
pub struct Glare<'a> {
    /// Site.
    pub site: &'a Site,
    /// Posts that were asked for.
    pub posts: Vec<Post>,
    /// Water that is watched.
    pub spots: Spots,
    /// How the posts see it.
    pub sights: Vec<Sights>,
    /// Surface and eye.
    pub surface: Surface,
    /// Wind, and whether it was told.
    pub wind: (Wind, bool),
    /// Secchi depth, if told \[m\].
    pub secchi_m: Option<f64>,
    /// Dates of the span.
    pub dates: Vec<Date>,
    /// Names of the periods.
    pub periods: Vec<String>,
    /// Opening hours \[minutes\], and whether they were told.
    pub open: ((usize, usize), bool),
    /// Minutes that one moment stands for.
    pub step_min: usize,
    /// The season.
    pub season: Season,
    /// Hours lost, by post.
    pub losses: Vec<Loss>,
    /// Doubts to be shown.
    pub notes: Vec<String>,
}

/// The sun and the water's surface over the span that is asked for.
pub struct Light {
    /// Surface and eye.
    pub surface: Surface,
    /// Wind, and whether it was told.
    pub wind: (Wind, bool),
    /// Dates of the span.
    pub dates: Vec<Date>,
    /// Whether the span is one day.
    one_day: bool,
    /// Opening hours \[minutes\], and whether they were told.
    pub open: ((usize, usize), bool),
    /// Minutes that one moment stands for.
    step_min: usize,
    /// Moments of the span.
    pub moments: Vec<Moment>,
    /// Course of the sun over them.
    pub course: Course,
}

impl<'a> Asked<'a> {
    /// The sun and the surface alone, with what is to be said of them.
    pub fn light(&self, notes: &mut Vec<String>) -> Result<Light, Vec<Problem>> {
        let wind = self.wind(notes);
        let surface = Surface::new(Slopes::new(&wind.0, value("slope_factor")));
        let (dates, one_day) = self.dates();
        let zone = TimeZone::get(&self.site.time_zone).unwrap_or(TimeZone::UTC);
        let open = self.open(notes);
        let step_min = value("glare_step_min") as usize;
        let moments = moments(&dates, &zone, (step_min, open.0), one_day);
        let course = course(self.site, &moments)?;
        let times: Vec<f64> = moments.iter().filter(|m| m.open).map(|m| m.unix_s).collect();
        if !times.is_empty() && course.at(&times).0.iter().all(|up_deg| *up_deg <= 0.0) {
            notes.push("the sun is never up in these hours: no glare, and lamps decide what is seen".into());
        }
        Ok(Light { surface, wind, dates, one_day, open, step_min, moments, course })
    }

    /// Computes it, or says everything that keeps it from being computed.
    pub fn compute(&self) -> Result<Glare<'a>, Vec<Problem>> {
        let site = self.site;
        let stage_m = self.day.map_or(site.datum_stage_m, |day| day.stage_m);
        let ground = Ground::build(site, stage_m).value;
        let mut notes = self.assumed();
        let posts = self.chosen(stage_m, &mut notes)?;
        let spots = Spots::of(site, &ground, value("glare_spots_most") as usize);
        if spots.is_empty() {
            notes.push("no bathing water is under water at this stage: nothing is watched".into());
        }
        let seen = sights(&posts, &spots, &Tops::of(site, &ground, self.crowd_m));
        let light = self.light(&mut notes)?;
        let Light { surface, wind, dates, one_day, open, step_min, moments, course } = light;
        let periods = periods(&dates, one_day);
        let scene = Scene {
            posts: &posts,
            spots: &spots,
            sights: &seen,
            surface,
            thresholds: Thresholds::usual(),
            limit_m: value("watch_limit_m"),
        };
        let season = Season::of(&scene, &moments, &course);
        let losses = losses(&season, (&posts, &spots, site), &periods, value("glare_share"));
        let secchi_m = self.day.map(|day| day.secchi_m);
        Ok(Glare {
            site,
            posts,
            spots,
            sights: seen,
            surface,
            wind,
            secchi_m,
            dates,
            periods,
            open,
            step_min,
            season,
            losses,
            notes,
        })
    }

    /// What the day did not tell and this answer rests on.
    fn assumed(&self) -> Vec<String> {
        let matters = |name: &str| {
            name == "stage_m" || name == "secchi_m" || (name == "wind_mps" && self.wind.is_none())
        };
        let all = self.day.map(|day| day.assumed.as_slice()).unwrap_or_default();
        let told = |(name, text, standing): &(String, String, measure::Standing)| {
            format!("assumed for the day: {name} = {text} ({standing})")
        };
        all.iter().filter(|(name, ..)| matters(name)).map(told).collect()
    }

    fn chosen(&self, stage_m: f64, notes: &mut Vec<String>) -> Result<Vec<Post>, Vec<Problem>> {
        let all = posts(self.site, stage_m);
        let place = |item: Option<String>| Place { file: "map.geojson".into(), line: None, item };
        if all.is_empty() {
            let (what, remedy) = ("has no post, so nobody watches from anywhere", "add a point of kind post");
            return Err(vec![problem("A171", place(None), what.into(), remedy.into())]);
        }
        let same = |post: &Post, name: &String| post.name.eq_ignore_ascii_case(name.trim());
        let names: Vec<&str> = all.iter().map(|post| post.name.as_str()).collect();
        let missing: Vec<Problem> = self
            .posts
            .iter()
            .filter(|name| !all.iter().any(|post| same(post, name)))
            .map(|name| {
                let remedy = format!("write one of {}", names.join(", "));
                problem("A172", place(Some(name.clone())), "is not a post of this site".into(), remedy)
            })
            .collect();
        if !missing.is_empty() {
            return Err(missing);
        }
        for post in all.iter().filter(|post| !post.measured) {
            notes.push(format!(
                "{}: no eye_m on the map, an eye {} over the water is taken",
                post.name,
                self.site.units.length(post.eye_m)
            ));
        }
        let wanted = |post: &Post| self.posts.is_empty() || self.posts.iter().any(|name| same(post, name));
        Ok(all.into_iter().filter(wanted).collect())
    }

    fn wind(&self, notes: &mut Vec<String>) -> (Wind, bool) {
        let assumed = |name: &str| self.day.is_some_and(|day| day.assumed.iter().any(|(of, ..)| of == name));
        let of_day = self.day.map(|day| Wind {
            speed_mps: day.wind_mps,
            // A side that nobody told would make the path lean where it may not.
            from: Some(day.wind_from).filter(|_| !assumed("wind_from_deg")),
        });
        let told = self.wind.is_some() || !assumed("wind_mps");
        let (wind, told) = match self.wind.or(of_day) {
            Some(wind) => (wind, told),
            None => {
                let wind = Wind { speed_mps: value("glare_wind_mps"), from: None };
                notes
                    .push(format!("no wind is told: {:.1} m/s is taken, the same all round", wind.speed_mps));
                (wind, false)
            }
        };
        if wind.speed_mps > value("cox_munk_wind_most_mps") {
            notes.push(
                "the slopes of water were measured up to 14 m/s of wind; beyond that they are carried on"
                    .into(),
            );
        }
        (wind, told)
    }

    fn dates(&self) -> (Vec<Date>, bool) {
        let own = self.day.and_then(|day| day.date.parse::<Date>().ok());
        let (from, to) = self
            .span
            .or(own.map(|d| (d, d)))
            .unwrap_or((Date::constant(2026, 7, 1), Date::constant(2026, 7, 1)));
        let mut dates = vec![from];
        while let Some(next) = dates.last().and_then(|d| d.tomorrow().ok()).filter(|d| *d <= to) {
            dates.push(next);
        }
        let one_day = dates.len() == 1;
        (dates, one_day)
    }

    /// Opening hours: as told, else from the first guard on duty to the last, else the register's.
    fn open(&self, notes: &mut Vec<String>) -> ((usize, usize), bool) {
        if let Some(open) = self.open {
            return (open, true);
        }
        let hours: Vec<Hours> =
            self.day.map(|day| day.crew.iter().flat_map(|m| m.hours.clone()).collect()).unwrap_or_default();
        let from = hours.iter().map(|h| h.from_s).fold(f64::INFINITY, f64::min);
        let to = hours.iter().map(|h| h.to_s).fold(f64::NEG_INFINITY, f64::max);
        if from < to {
            let minute = |s: f64| ((s / 60.0) as usize).min(DAY_MIN);
            let past = (to / 60.0) as usize;
            if past > DAY_MIN {
                notes.push(format!(
                    "the watch goes on to {} of the next day: what lies past midnight is not in it",
                    clock(past - DAY_MIN)
                ));
            }
            return ((minute(from), minute(to)), true);
        }
        let open = [value("open_from_h"), value("open_to_h")].map(|h| (60.0 * h) as usize);
        notes.push(format!("no opening hours are told: {}-{} is taken", clock(open[0]), clock(open[1])));
        ((open[0], open[1]), false)
    }
}

impl Glare<'_> {
    /// What the posts look at.
    pub fn scene(&self) -> Scene<'_> {
        Scene {
            posts: &self.posts,
            spots: &self.spots,
            sights: &self.sights,
            surface: self.surface,
            thresholds: Thresholds::usual(),
            limit_m: value("watch_limit_m"),
        }
    }

    /// Numbers of the moments of one day.
    pub fn moments_of(&self, day: usize) -> impl Iterator<Item = usize> + '_ {
        (0..self.season.moments.len()).filter(move |k| self.season.moments[*k].day == day)
    }

    /// The day whose maps and hours are shown: the only one, or the middle one of a season.
    pub fn shown_day(&self) -> usize {
        (self.dates.len() - 1) / 2
    }

    /// The span in words: `8 July 2026`, `15 May to 15 September 2026`.
    pub fn span_words(&self) -> String {
        let (from, to) = (self.dates[0], self.dates[self.dates.len() - 1]);
        if from == to {
            return day_words(from, true);
        }
        format!("{} to {}", day_words(from, from.year() != to.year()), day_words(to, true))
    }

    /// The wind in words.
    pub fn wind_words(&self) -> String {
        let Wind { speed_mps, from } = self.wind.0;
        match from {
            Some(from) => format!("wind {speed_mps:.1} m/s from {from}"),
            None => format!("wind {speed_mps:.1} m/s"),
        }
    }
}

/// What the mean glint does not contain: said beside every answer.
pub const NOT_CONTAINED: &str = "mean glint of many waves under a clear sky: single flashes, boat wake, whitecaps and swell come on top; cloud takes it away. \
                                 Planning aid: look for yourself, and keep to local rules";

/// A date as people say it.
pub fn day_words(date: Date, year: bool) -> String {
    let text = format!("{} {}", date.day(), month_words(date));
    if year { format!("{text} {}", date.year()) } else { text }
}

/// Name of the month.
pub fn month_words(date: Date) -> &'static str {
    const NAMES: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    NAMES[(date.month() - 1) as usize]
}

/// `16:40` of minutes after midnight.
pub fn clock(minute: usize) -> String {
    format!("{:02}:{:02}", minute / 60, minute % 60)
}

fn problem(code: &str, place: Place, what: String, remedy: String) -> Problem {
    Problem { code: code.into(), fatal: true, place, what, remedy }
}

/// Number of the period of a date: months are counted from the first.
fn period_of(dates: &[Date], date: Date) -> usize {
    let months = |d: Date| i32::from(d.year()) * 12 + i32::from(d.month());
    (months(date) - months(dates[0])).max(0) as usize
}

fn periods(dates: &[Date], one_day: bool) -> Vec<String> {
    if one_day {
        return vec![day_words(dates[0], false)];
    }
    let long = dates.len() > 366 || dates[0].year() != dates[dates.len() - 1].year();
    let mut names: Vec<String> = Vec::new();
    for date in dates {
        if period_of(dates, *date) == names.len() {
            let month = month_words(*date);
            names.push(if long { format!("{month} {}", date.year()) } else { month.into() });
        }
    }
    names
}

fn moments(
    dates: &[Date],
    zone: &TimeZone,
    (step_min, open): (usize, (usize, usize)),
    one_day: bool,
) -> Vec<Moment> {
    let mut all = Vec::new();
    for (day, date) in dates.iter().enumerate() {
        for minute in (0..DAY_MIN).step_by(step_min) {
            let local = date.at((minute / 60) as i8, (minute % 60) as i8, 0, 0);
            let Ok(stamp) = zone.to_timestamp(local) else { continue };
            all.push(Moment {
                unix_s: stamp.as_second() as f64,
                day,
                minute,
                period: if one_day { 0 } else { period_of(dates, *date) },
                open: (open.0..open.1).contains(&minute),
            });
        }
    }
    all
}

/// The sun over the moments, from the site's origin; its height over the sea is not known and matters at the horizon only.
fn course(site: &Site, moments: &[Moment]) -> Result<Course, Vec<Problem>> {
    let origin = site.frame.origin();
    let station = Station { lat_deg: origin.lat, lon_deg: origin.lon, height_m: 0.0 };
    let times = || moments.iter().map(|m| m.unix_s);
    let span = (times().fold(f64::INFINITY, f64::min), times().fold(f64::NEG_INFINITY, f64::max));
    Course::over(span, station, Air::at_height(0.0), delta_t_s(span.0)).ok_or_else(|| {
        let place = Place { file: "--season".into(), line: None, item: None };
        let what = "the sun cannot be computed for this span".to_string();
        vec![problem("A173", place, what, "give dates of the years 1900 to 2200".into())]
    })
}
