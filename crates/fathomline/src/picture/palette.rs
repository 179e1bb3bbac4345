//! Colours by what they are for, and the letters' widths. A picture must read without any colour: these only help.

/// Colours of a picture.
#[derive(Debug)]
pub struct Palette {
    /// Page.
    pub paper: &'static str,
    /// Text and strong lines.
    pub ink: &'static str,
    /// Softer text.
    pub soft: &'static str,
    /// Hairlines without meaning.
    pub hair: &'static str,
    /// What to say or do next; nothing else has this colour.
    pub act: &'static str,
    /// Text on it.
    pub act_ink: &'static str,
    /// Header bar.
    pub bar: &'static str,
    /// Text on it.
    pub bar_ink: &'static str,
    /// Land.
    pub land: &'static str,
    /// Water to wade.
    pub wade: &'static str,
    /// Water to dive.
    pub dive: &'static str,
    /// Water too deep to dive.
    pub deep: &'static str,
    /// Contours.
    pub iso: &'static str,
    /// Contours that are limits.
    pub iso_key: &'static str,
    /// Belief: dots and outlines.
    pub belief: &'static str,
    /// Within the 50 % outline.
    pub belief_50: &'static str,
    /// Within the 80 % outline.
    pub belief_80: &'static str,
    /// People.
    pub people: &'static str,
    /// Docks and rafts.
    pub deck: &'static str,
}

/// In the sun, on white.
pub static SUN: Palette = Palette {
    paper: "#FFFFFF",
    ink: "#07141A",
    soft: "#2F4048",
    hair: "#8A979C",
    act: "#FFE100",
    act_ink: "#07141A",
    bar: "#07141A",
    bar_ink: "#FFFFFF",
    land: "#F3ECDD",
    wade: "#F2F8F8",
    dive: "#DFECEF",
    deep: "#BCD5DD",
    iso: "#7FA0AA",
    iso_key: "#22505C",
    belief: "#43127A",
    belief_50: "#D9C6EE",
    belief_80: "#EDE4F7",
    people: "#003A78",
    deck: "#C9B58F",
};

/// At dusk, on near-black.
pub static DUSK: Palette = Palette {
    paper: "#090E11",
    ink: "#F7E8CC",
    soft: "#D2C4A8",
    hair: "#5C5A50",
    act: "#2B2100",
    act_ink: "#FFD65A",
    bar: "#000000",
    bar_ink: "#F7E8CC",
    land: "#1D1A13",
    wade: "#15262C",
    dive: "#0E1C23",
    deep: "#08131A",
    iso: "#35525B",
    iso_key: "#93BECA",
    belief: "#D7BBFF",
    belief_50: "#3B2660",
    belief_80: "#241A3A",
    people: "#8CC4FF",
    deck: "#6B5C3D",
};

/// On paper: black only; every meaning has a line or a shape.
pub static PRINT: Palette = Palette {
    paper: "#FFFFFF",
    ink: "#000000",
    soft: "#000000",
    hair: "#808080",
    act: "#FFFFFF",
    act_ink: "#000000",
    bar: "#FFFFFF",
    bar_ink: "#000000",
    land: "#FFFFFF",
    wade: "#FFFFFF",
    dive: "#FFFFFF",
    deep: "#FFFFFF",
    iso: "#707070",
    iso_key: "#202020",
    belief: "#000000",
    belief_50: "#E4E4E4",
    belief_80: "#F4F4F4",
    people: "#000000",
    deck: "#FFFFFF",
};

/// Advance of the letters U+0020 to U+007E in thousandths of the size, weight 500.
#[rustfmt::skip]
pub const ADVANCE_500: [u16; 95] = [293, 293, 337, 697, 599, 939, 729, 180, 313, 313, 485, 601, 235, 366, 235, 408, 653, 420, 560, 586, 618, 596, 609, 521, 619, 585, 235, 235, 560, 621, 560, 507, 779, 647, 625, 650, 677, 580, 558, 704, 697, 405, 532, 644, 545, 838, 703, 727, 607, 737, 628, 599, 578, 688, 614, 868, 648, 605, 612, 326, 408, 344, 564, 383, 261, 536, 578, 495, 577, 548, 335, 572, 559, 271, 251, 518, 285, 860, 559, 559, 578, 584, 360, 486, 346, 551, 489, 707, 505, 478, 478, 359, 244, 359, 548];
/// The same, weight 800.
#[rustfmt::skip]
pub const ADVANCE_800: [u16; 95] = [330, 315, 430, 820, 618, 993, 726, 234, 351, 351, 486, 595, 299, 377, 300, 464, 664, 456, 593, 611, 628, 617, 638, 549, 627, 560, 300, 300, 577, 611, 577, 577, 784, 702, 659, 665, 700, 613, 574, 731, 709, 434, 585, 681, 558, 878, 733, 756, 647, 766, 668, 618, 628, 688, 669, 901, 713, 684, 624, 352, 464, 352, 596, 412, 310, 561, 613, 523, 612, 576, 389, 610, 585, 326, 266, 587, 347, 899, 585, 590, 613, 612, 406, 526, 398, 580, 562, 766, 566, 555, 527, 400, 266, 400, 529];
