//! Facts as they are written: a number with its unit, checked for its kind.

use std::fmt;

/// What kind of quantity a fact is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Kind {
    /// g/cm³.
    Density,
    /// Share, from percent.
    Share,
    /// s.
    Time,
    /// °C.
    Temperature,
    /// W/(m K).
    Conductivity,
    /// J/(g K).
    Heat,
    /// Pa s.
    Viscosity,
    /// Shore A.
    Hardness,
    /// ml.
    Volume,
}

/// Every way to write a unit of a kind: name, factor, and what is added before it.
type Units = &'static [(&'static str, f64, f64)];

impl Kind {
    fn units(self) -> Units {
        match self {
            Kind::Density => &[
                ("g/cm3", 1.0, 0.0),
                ("g/cm³", 1.0, 0.0),
                ("g/ml", 1.0, 0.0),
                ("kg/m3", 1e-3, 0.0),
                ("kg/m³", 1e-3, 0.0),
                ("kg/l", 1.0, 0.0),
            ],
            Kind::Share => &[("%", 0.01, 0.0)],
            Kind::Time => &[
                ("min", 60.0, 0.0),
                ("h", 3600.0, 0.0),
                ("s", 1.0, 0.0),
                ("d", 86_400.0, 0.0),
            ],
            Kind::Temperature => &[
                ("C", 1.0, 0.0),
                ("°C", 1.0, 0.0),
                ("F", 5.0 / 9.0, -32.0),
                ("°F", 5.0 / 9.0, -32.0),
            ],
            Kind::Conductivity => &[("W/mK", 1.0, 0.0), ("W/(m K)", 1.0, 0.0)],
            Kind::Heat => &[
                ("J/gK", 1.0, 0.0),
                ("J/(g K)", 1.0, 0.0),
                ("J/kgK", 1e-3, 0.0),
                ("J/(kg K)", 1e-3, 0.0),
                ("kJ/kgK", 1.0, 0.0),
            ],
            Kind::Viscosity => &[
                ("Pa s", 1.0, 0.0),
                ("Pa.s", 1.0, 0.0),
                ("mPa s", 1e-3, 0.0),
                ("mPa.s", 1e-3, 0.0),
                ("cP", 1e-3, 0.0),
            ],
            Kind::Hardness => &[("Shore A", 1.0, 0.0)],
            // The US fluid ounce is 231/128 in³, exactly 29.5735295625 ml (NIST HB 44, app. C).
            Kind::Volume => &[
                ("ml", 1.0, 0.0),
                ("l", 1000.0, 0.0),
                ("fl oz", super::FLUID_OUNCE, 0.0),
            ],
        }
    }

    /// What can be worked with (reasoned: wider than any material of the trade).
    fn limits(self) -> [f64; 2] {
        match self {
            Kind::Density => [0.05, 25.0],
            Kind::Share => [0.0, 1.0],
            Kind::Time => [1.0, 90.0 * 86_400.0],
            Kind::Temperature => [-50.0, 1500.0],
            Kind::Conductivity => [0.01, 500.0],
            Kind::Heat => [0.05, 5.0],
            Kind::Viscosity => [1e-4, 1e4],
            Kind::Hardness => [1.0, 95.0],
            Kind::Volume => [0.1, 100_000.0],
        }
    }

    /// Bounds as text, in the unit that values are kept in.
    #[must_use]
    pub fn between(self, low: f64, high: f64) -> String {
        let (times, unit) = match self {
            Kind::Density => (1.0, "g/cm3"),
            Kind::Share => (100.0, "%"),
            Kind::Time => (1.0 / 60.0, "min"),
            Kind::Temperature => (1.0, "C"),
            Kind::Conductivity => (1.0, "W/mK"),
            Kind::Heat => (1.0, "J/gK"),
            Kind::Viscosity => (1.0, "Pa.s"),
            Kind::Hardness => (1.0, "Shore A"),
            Kind::Volume => (1.0, "ml"),
        };
        // A hundredth is as fine as any limit is.
        let show = |v: f64| (100.0 * times * v).round() / 100.0;
        format!("{} to {} {unit}", show(low), show(high))
    }

    /// An example of how it is written.
    #[must_use]
    pub fn example(self) -> &'static str {
        match self {
            Kind::Density => "1.05 g/cm3",
            Kind::Share => "1.5 %",
            Kind::Time => "45 min",
            Kind::Temperature => "170 C",
            Kind::Conductivity => "0.17 W/mK",
            Kind::Heat => "1.6 J/gK",
            Kind::Viscosity => "0.3 Pa.s",
            Kind::Hardness => "25 Shore A",
            Kind::Volume => "120 ml",
        }
    }
}

/// Why a fact cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FactError {
    /// It does not begin with a number.
    #[error("this is not a number with a unit")]
    NotANumber,
    /// There is no unit; these would do.
    #[error("the unit is missing")]
    NoUnit(String),
    /// The unit is not one of its kind.
    #[error("`{unit}` is not a unit that belongs here")]
    Unit {
        /// What was written.
        unit: String,
        /// What would do.
        accepted: String,
    },
    /// The number is out of bounds, which are these.
    #[error("this is out of bounds")]
    Bounds(String),
    /// Two numbers in falling order.
    #[error("the first number of a band is the lower one")]
    Order,
    /// A mix that is none.
    #[error("this is not a mix of two parts")]
    Mix,
    /// A price that is none.
    #[error("this is not a price by weight or volume")]
    Price,
}

impl FactError {
    /// What would have been accepted, where that is a matter of numbers or units.
    #[must_use]
    pub fn accepted(&self) -> Option<&str> {
        match self {
            FactError::Bounds(accepted)
            | FactError::NoUnit(accepted)
            | FactError::Unit { accepted, .. } => Some(accepted),
            _ => None,
        }
    }
}

/// Reads a number with its unit into the unit of its kind.
///
/// # Errors
/// If it has no number, no unit, a unit of another kind, or is out of bounds.
pub fn quantity(kind: Kind, text: &str) -> Result<f64, FactError> {
    let text = text.trim();
    let (value, unit) = number(text)?;
    let value = in_unit(kind, value, unit)?;
    let [low, high] = kind.limits();
    if (low..=high).contains(&value) {
        Ok(value)
    } else {
        Err(FactError::Bounds(kind.between(low, high)))
    }
}

/// Reads `0.3 to 5 Pa.s`, or one number as a band without breadth.
///
/// # Errors
/// As [`quantity`].
pub fn band(kind: Kind, text: &str) -> Result<[f64; 2], FactError> {
    let Some((low, high)) = text.split_once(" to ") else {
        return quantity(kind, text).map(|value| [value; 2]);
    };
    let (_, unit) = number(high.trim())?;
    let low = quantity(kind, &format!("{} {unit}", low.trim()))?;
    let high = quantity(kind, high)?;
    if low > high {
        return Err(FactError::Order);
    }
    Ok([low, high])
}

fn in_unit(kind: Kind, value: f64, unit: &str) -> Result<f64, FactError> {
    kind.units()
        .iter()
        .find(|(name, ..)| name.eq_ignore_ascii_case(unit))
        .map(|(_, factor, before)| (value + before) * factor)
        .ok_or_else(|| {
            let names: Vec<&str> = kind.units().iter().map(|(name, ..)| *name).collect();
            let accepted = names.join(", ");
            match unit {
                "" => FactError::NoUnit(accepted),
                unit => FactError::Unit {
                    unit: unit.to_owned(),
                    accepted,
                },
            }
        })
}

/// The number a text begins with, and the rest.
fn number(text: &str) -> Result<(f64, &str), FactError> {
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .unwrap_or(text.len());
    let value: f64 = text[..end].parse().map_err(|_| FactError::NotANumber)?;
    if !value.is_finite() {
        return Err(FactError::NotANumber);
    }
    Ok((value, text[end..].trim()))
}

/// What the parts of a mix are measured by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// On the scale.
    Weight,
    /// In the measuring cup.
    Volume,
}

/// Parts A and B.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mix {
    /// Parts of A and of B.
    pub parts: [f64; 2],
    /// What they are measured by.
    pub by: By,
}

impl Mix {
    /// Reads `10:1 by weight` or `1:1 by volume`.
    ///
    /// # Errors
    /// If it is not two numbers above zero and one of the two words.
    pub fn read(text: &str) -> Result<Self, FactError> {
        let read = || {
            let (parts, by) = text.trim().split_once(" by ")?;
            let (a, b) = parts.split_once(':')?;
            let by = match by.trim() {
                "weight" => By::Weight,
                "volume" => By::Volume,
                _ => return None,
            };
            let parts: [f64; 2] = [a.trim().parse().ok()?, b.trim().parse().ok()?];
            let sound = parts.iter().all(|p| *p > 0.0 && *p <= 1e4);
            sound.then_some(Mix { parts, by })
        };
        read().ok_or(FactError::Mix)
    }
}

impl fmt::Display for Mix {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let by = match self.by {
            By::Weight => "weight",
            By::Volume => "volume",
        };
        write!(f, "{}:{} by {by}", self.parts[0], self.parts[1])
    }
}

/// A price.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    /// Money for one unit.
    pub amount: f64,
    /// The money, as it was written.
    pub money: String,
    /// What is paid by.
    pub by: By,
}

impl Price {
    /// Reads `24.50 EUR/kg`; by kg, lb, l or ml.
    ///
    /// # Errors
    /// If it is none of these.
    pub fn read(text: &str) -> Result<Self, FactError> {
        let (value, rest) = number(text.trim()).map_err(|_| FactError::Price)?;
        let (money, unit) = rest.split_once('/').ok_or(FactError::Price)?;
        let (factor, by) = match unit.trim() {
            "kg" => (1.0, By::Weight),
            // 453.59237 g exactly (NIST HB 44, app. C).
            "lb" => (1.0 / 0.453_592_37, By::Weight),
            "l" => (1.0, By::Volume),
            "ml" => (1000.0, By::Volume),
            _ => return Err(FactError::Price),
        };
        let money = money.trim().to_owned();
        let plain = !money.is_empty() && money.chars().count() <= 8;
        if value < 0.0 || !plain || money.chars().any(char::is_control) {
            return Err(FactError::Price);
        }
        Ok(Price {
            amount: value * factor,
            money,
            by,
        })
    }

    /// What `mass` in g or `volume` in ml costs.
    #[must_use]
    pub fn of(&self, mass: f64, volume: f64) -> f64 {
        let measure = match self.by {
            By::Weight => mass,
            By::Volume => volume,
        };
        self.amount * measure / 1000.0
    }
}
