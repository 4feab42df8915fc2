//! Units in which ledger rows are written, and their SI factors.

/// A unit of the ledger: `si = value * factor + offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValueUnit {
    /// As written in a row.
    pub symbol: &'static str,
    /// Factor to SI.
    pub factor: f64,
    /// Offset to SI.
    pub offset: f64,
}

/// Every unit a row may use. A share is a pure number between 0 and 1; `%` is a hundredth of it.
pub const UNITS: &[ValueUnit] = &[
    unit("1", 1.0),
    unit("%", 1e-2),
    unit("s", 1.0),
    unit("min", 60.0),
    unit("h", 3600.0),
    unit("d", 86_400.0),
    unit("K", 1.0),
    ValueUnit { symbol: "°C", factor: 1.0, offset: 273.15 },
    unit("kJ/mol", 1e3),
    unit("J/g", 1e3),
    unit("J/K", 1.0),
    unit("J/(kg K)", 1.0),
    unit("kJ/(kg K)", 1e3),
    unit("W/(m K)", 1.0),
    unit("W/(m2 K)", 1.0),
    unit("kg/m3", 1.0),
    unit("m2/s", 1.0),
    unit("m/s", 1.0),
    unit("mm", 1e-3),
    unit("µm", 1e-6),
    unit("°", core::f64::consts::PI / 180.0),
    unit("1e-6/K", 1e-6),
    unit("1/s", 1.0),
    unit("g", 1e-3),
    unit("mL", 1e-6),
    unit("g/mL", 1e3),
    unit("MPa", 1e6),
    unit("Pa s", 1.0),
    unit("N/m", 1.0),
    unit("N", 1.0),
    unit("J/m2", 1.0),
];

const fn unit(symbol: &'static str, factor: f64) -> ValueUnit {
    ValueUnit { symbol, factor, offset: 0.0 }
}

impl ValueUnit {
    /// The unit written with this symbol.
    pub fn from_symbol(symbol: &str) -> Option<ValueUnit> {
        UNITS.iter().copied().find(|unit| unit.symbol == symbol)
    }

    /// SI value of a number written in this unit.
    pub fn to_si(self, value: f64) -> f64 {
        value * self.factor + self.offset
    }

    /// SI size of a difference written in this unit.
    pub fn difference_to_si(self, value: f64) -> f64 {
        value * self.factor
    }
}
