//! How one may get into the water from where one stands: depth and drop decide, and what is not known counts as shallow.

use measure::parameters::value;
use serde::{Deserialize, Serialize};
use water::{Limits, Units};

/// A way into the water.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Entry {
    /// Walk in from the shore.
    Wade,
    /// Sit on the edge and slide in, feet first, holding on.
    SlideIn,
    /// A wide step from a low edge, head kept above the water.
    Stride,
    /// Jump feet first, body upright.
    Jump,
    /// Head first, shallow and far out.
    HeadFirst,
    /// Too high: climb down first.
    ClimbDown,
}

impl Entry {
    /// The words for it.
    pub fn words(self) -> &'static str {
        match self {
            Entry::Wade => "wade in",
            Entry::SlideIn => "slide in feet first, holding the edge",
            Entry::Stride => "stride entry",
            Entry::Jump => "jump feet first",
            Entry::HeadFirst => "head first",
            Entry::ClimbDown => "climb down first",
        }
    }
}

/// Where somebody stands before going in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// Depth in front \[m\]; none where it is unknown or not trusted.
    pub depth_m: Option<f64>,
    /// Drop to the water \[m\]; none from a shore, where one walks in.
    pub drop_m: Option<f64>,
    /// Whether mask or fins are worn.
    pub mask_or_fins: bool,
}

/// What is allowed, the one to take first, and why.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Entries {
    /// Allowed entries, the one to take first.
    pub allowed: Vec<Entry>,
    /// Why nothing bolder.
    pub why: String,
}

/// The entries that depth and drop allow. Model `reach`, docs/models/reach.md.
///
/// # Inputs
/// - `edge`: depth, drop, gear · `limits`: the site's least depth for head-first entries · `units`: those of the words
///
/// # Gives
/// At least one entry. Feet first wherever the depth is unknown or under the site's limit; never head first with
/// mask or fins; the stride only from a low edge over enough water.
///
/// # Source
/// common practice, no published source
pub fn entries(edge: &Edge, limits: &Limits, units: Units) -> Entries {
    let one = |entry: Entry, why: String| Entries { allowed: vec![entry], why };
    let (slide_m, stride_m) = (value("slide_depth_m"), value("stride_depth_m"));
    let Some(drop_m) = edge.drop_m.filter(|d| !d.is_nan()) else {
        return one(Entry::Wade, "from the shore one walks in".into());
    };
    if drop_m > value("jump_drop_m") {
        return one(
            Entry::ClimbDown,
            format!("{} above the water is too high to jump", units.length(drop_m)),
        );
    }
    let Some(depth_m) = edge.depth_m.filter(|d| d.is_finite()) else {
        return one(Entry::SlideIn, "the depth here is not known: feet first".into());
    };
    if depth_m < slide_m.max(drop_m) {
        return one(Entry::SlideIn, format!("only {} of water: nobody jumps", units.length(depth_m)));
    }
    let mut allowed = Vec::new();
    if drop_m <= value("stride_drop_m") && depth_m >= stride_m {
        allowed.push(Entry::Stride);
    }
    if depth_m >= stride_m {
        allowed.push(Entry::Jump);
    }
    allowed.push(Entry::SlideIn);
    let deep = depth_m >= limits.head_first_depth_m;
    if deep && !edge.mask_or_fins && drop_m <= value("stride_drop_m") {
        allowed.push(Entry::HeadFirst);
    }
    let why = if !deep {
        let (here, least) = (units.length(depth_m), units.length(limits.head_first_depth_m));
        // What differs by less than is written is not called less than itself.
        let here = if here == least { "the depth".into() } else { here };
        format!("{here} is less than the site's {least}: feet first")
    } else if edge.mask_or_fins {
        "nobody goes head first with mask or fins".into()
    } else if drop_m > value("stride_drop_m") {
        format!("{} above the water is too high for a stride or head first", units.length(drop_m))
    } else {
        "deep enough for every entry; the stride keeps the eyes on the place".into()
    };
    Entries { allowed, why }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn allowed(depth_m: Option<f64>, drop_m: Option<f64>, mask_or_fins: bool) -> Vec<Entry> {
        entries(&Edge { depth_m, drop_m, mask_or_fins }, &Limits::default(), Units::Metric).allowed
    }

    // shows: RE-8
    #[test]
    fn feet_first_unless_everything_is_known_and_deep() {
        use Entry::*;
        assert_eq!(allowed(None, None, false), [Wade]);
        assert_eq!(allowed(None, Some(0.5), false), [SlideIn]);
        assert_eq!(allowed(Some(f64::NAN), Some(0.5), false), [SlideIn]);
        assert_eq!(allowed(Some(0.6), Some(0.3), false), [SlideIn]);
        assert_eq!(allowed(Some(2.0), Some(0.5), false), [Stride, Jump, SlideIn]);
        assert_eq!(allowed(Some(4.0), Some(0.5), false), [Stride, Jump, SlideIn, HeadFirst]);
        assert_eq!(allowed(Some(4.0), Some(0.5), true), [Stride, Jump, SlideIn]);
        assert_eq!(allowed(Some(4.0), Some(1.5), false), [Jump, SlideIn]);
        assert_eq!(allowed(Some(9.0), Some(3.0), false), [ClimbDown]);
        // Whatever the depth and drop, mask and fins never go head first, and unknown depth never does.
        for k in 0..200 {
            let (depth, drop) = (0.1 * f64::from(k % 20) * 3.0, 0.2 * f64::from(k / 20));
            assert!(!allowed(Some(depth), Some(drop), true).contains(&HeadFirst));
            assert_ne!(allowed(None, Some(drop), false)[0], HeadFirst);
            let boldest = allowed(Some(depth), Some(drop), false);
            assert!(!boldest.contains(&HeadFirst) || depth >= 3.0);
            assert!(!boldest.contains(&Stride) || drop <= 0.9);
        }
    }
}
