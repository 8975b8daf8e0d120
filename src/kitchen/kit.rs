//! The kit: tubs, cold spaces, pots, hob, oven, chilling means, packer, freezer, scales.

use crate::units::{Elapsed, Length, Mass, Temperature, Volume};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Inner shape and size of a vessel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Shape {
    /// A straight-sided box.
    Box { length: Length, width: Length, height: Length },
    /// A round bucket or pot.
    Round { diameter: Length, height: Length },
}

impl Shape {
    /// Floor, cm².
    pub fn floor(self) -> f64 {
        match self {
            Self::Box { length, width, .. } => length.as_cm() * width.as_cm(),
            Self::Round { diameter, .. } => std::f64::consts::FRAC_PI_4 * diameter.as_cm().powi(2),
        }
    }

    /// From floor to brim.
    pub const fn height(self) -> Length {
        match self {
            Self::Box { height, .. } | Self::Round { height, .. } => height,
        }
    }

    /// Litres to the brim.
    pub fn litres(self) -> f64 {
        self.floor() * self.height().as_cm() / 1000.0
    }
}

/// A food-grade curing vessel with a lid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tub {
    /// What it is called everywhere in the plan; no two of a kind share a name.
    pub name: String,
    /// Inner size.
    pub inner: Shape,
    /// Height over all with the lid on; inner height + 2 cm when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_with_lid: Option<Length>,
    /// How much thicker the walls make the footprint, each side; 0.5 cm when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wall: Option<Length>,
    /// Sealed bottles or jars put in to take up brine.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub filler: Option<Volume>,
}

/// What a cold space may hold. Raw and cooked food are kept apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// Tubs, joints resting after the brine, raw packs.
    #[default]
    Raw,
    /// Cooked hams, sliced ham.
    Cooked,
}

/// One level of a fridge or one rack of a cold room.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ColdSpace {
    /// What it is called everywhere in the plan; no two of a kind share a name.
    pub name: String,
    /// Clear width of the floor.
    pub width: Length,
    /// Clear depth, front to back.
    pub depth: Length,
    /// Clear height to what is above.
    pub height: Length,
    /// Litres that may be filled with the door shut and air still moving; 85 % of the clear space when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub litres: Option<Volume>,
    /// What the thermometer says. Left out means not known, which is never read as cold enough.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature: Option<Temperature>,
    #[serde(default)]
    pub side: Side,
    /// Spaces behind one door share their air: name the fridge or room they belong to. Left out: it stands alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fridge: Option<String>,
}

/// A pot for simmering and for boiling brine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pot {
    /// What it is called everywhere in the plan; no two of a kind share a name.
    pub name: String,
    /// Inner diameter.
    pub diameter: Length,
    /// Inner height.
    pub height: Length,
    /// Whether it needs a big ring. Left out: it does when wider than 24 cm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub big: Option<bool>,
    /// Time from cold water to a simmer with one joint in; 60 min when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heat_up: Option<Elapsed>,
}

/// The rings of the hob.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Hob {
    /// Rings that take a small pot.
    pub rings: u32,
    /// Of those, the rings that take a big pot.
    pub big_rings: u32,
}

impl Default for Hob {
    fn default() -> Self {
        Self { rings: 4, big_rings: 1 }
    }
}

/// The oven, for baking glazed hams.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Oven {
    /// Hams in one bake, tins and headroom allowed for.
    pub hams: u32,
    /// Clear height for a glazed ham.
    pub height: Length,
    /// Time to heat.
    pub heat_up: Elapsed,
}

impl Default for Oven {
    fn default() -> Self {
        Self { hams: 2, height: Length::cm(22.0), heat_up: Elapsed::minutes(15.0) }
    }
}

/// A way to get a hot ham cold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ChillingMeans {
    /// Bagged in iced water for two to three hours, then the cooked-side cold space.
    IcedWater,
    /// Forced very cold air.
    Blast,
    /// A cold room or outhouse at 4 °C or under, with a fan.
    ColdRoom,
    /// A home fridge, still air. Only with no curing tub behind the same door.
    Fridge,
}

/// One way of chilling hams, and what it takes at once.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Chilling {
    /// What it is called everywhere in the plan; no two of a kind share a name.
    pub name: String,
    /// How it chills.
    pub means: ChillingMeans,
    /// Hams it takes at once.
    pub hams: u32,
    /// Weight of hot ham it takes at once; no limit of its own when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub load: Option<Mass>,
    /// For `fridge` and `cold-room`: the cold space used, by name, so that hot hams are kept from curing tubs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub space: Option<String>,
}

/// The vacuum packer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Packer {
    /// Packs an hour, with weighing, wiping and labels.
    pub packs_per_hour: f64,
    /// Seals after which it must rest; null when it needs no rest. (Always written, since left out means 15.)
    pub rest_after: Option<u32>,
    /// How long it then rests.
    pub rest: Elapsed,
    /// True when raw and cooked have a machine each; a business needs two.
    pub separate_for_cooked: bool,
}

impl Default for Packer {
    fn default() -> Self {
        Self { packs_per_hour: 30.0, rest_after: Some(15), rest: Elapsed::minutes(15.0), separate_for_cooked: false }
    }
}

/// The freezer: what it freezes in a day, and what it still holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Freezer {
    /// Fresh weight it freezes in 24 hours.
    pub per_day: Mass,
    /// Weight it still has room for; no limit of its own when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub free: Option<Mass>,
}

/// What hams are sliced with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Slicer {
    /// Ham sliced an hour.
    pub per_hour: Mass,
    /// Strip and clean.
    pub clean: Elapsed,
}

impl Default for Slicer {
    fn default() -> Self {
        Self { per_hour: Mass::kg(4.5), clean: Elapsed::minutes(10.0) }
    }
}

/// The scales in the kitchen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Scales {
    /// Smallest step of the scale for salt, grams.
    pub salt_g: f64,
    /// Smallest step of the scale for curing salt, grams.
    pub curing_salt_g: f64,
}

impl Default for Scales {
    fn default() -> Self {
        Self { salt_g: 1.0, curing_salt_g: 0.1 }
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Kit {
    /// What there is to cure in.
    pub tubs: Vec<Tub>,
    /// Where there is room in the cold.
    pub cold: Vec<ColdSpace>,
    /// What there is to simmer in; a ham needs one.
    #[serde(default)]
    pub pots: Vec<Pot>,
    /// Sinks at which a tub can be filled, turned over or emptied at one time.
    #[serde(default = "one")]
    pub sinks: u32,
    /// The hob.
    #[serde(default)]
    pub hob: Hob,
    /// The oven; a ham needs one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub oven: Option<Oven>,
    /// How hot hams are got cold; a ham needs a way.
    #[serde(default)]
    pub chilling: Vec<Chilling>,
    /// The vacuum packer.
    #[serde(default)]
    pub packer: Packer,
    /// The freezer. Left out: packs are planned as if one of any size stood ready.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub freezer: Option<Freezer>,
    /// The slicer, or the knife.
    #[serde(default)]
    pub slicer: Slicer,
    /// The scales: amounts are rounded to what they can weigh.
    #[serde(default)]
    pub scales: Scales,
}

fn one() -> u32 {
    1
}
