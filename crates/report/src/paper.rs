//! Paper sizes.

/// The paper that a document is printed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 x 297 mm (ISO 216).
    A4,
    /// 8.5 x 11 inches, 215.9 x 279.4 mm (ANSI/ASME Y14.1 size A).
    Letter,
}

impl Paper {
    /// Both sizes.
    pub const ALL: [Paper; 2] = [Paper::A4, Paper::Letter];

    /// The size named `a4` or `letter`.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.name() == name)
    }

    /// `a4` or `letter`: how files and commands call it.
    pub fn name(self) -> &'static str {
        match self {
            Paper::A4 => "a4",
            Paper::Letter => "letter",
        }
    }

    /// `A4` or `Letter`: how people call it.
    pub fn title(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::Letter => "Letter",
        }
    }

    /// Width and height of the upright page, mm.
    pub fn portrait_mm(self) -> (f64, f64) {
        match self {
            Paper::A4 => (210.0, 297.0),
            Paper::Letter => (215.9, 279.4),
        }
    }

    /// Width and height of the page lying on its long side, mm.
    pub fn landscape_mm(self) -> (f64, f64) {
        let (width, height) = self.portrait_mm();
        (height, width)
    }
}
