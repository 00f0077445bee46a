//! Made-up questions, from a seed.
#![allow(dead_code, reason = "each test file uses its own part of this")]

use shimwright_record::{
    Corner, CornerGap, Drive, DriveDescription, Located, OtherClearance, Phrase, Quantity, SpacerAdvice,
    SpacerQuestion, SpacerStock,
};

/// The sentences of a part of advice.
pub fn sentences(advice: &SpacerAdvice, part: &str) -> Vec<Phrase> {
    let sections = advice.guidance.sections();
    let lines = sections.iter().filter(|section| section.title == part);
    lines.flat_map(|section| section.lines.to_vec()).collect()
}

/// Its headline.
pub fn headline(advice: &SpacerAdvice) -> String {
    sentences(advice, "headline").concat()
}

/// SplitMix64 (Steele, Lea and Flood 2014): small, seeded, good enough for made-up cases.
pub struct Dice(pub u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly between two limits.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A whole number from 0 up to, not including, `limit`.
    pub fn below(&mut self, limit: usize) -> usize {
        (self.next() % limit as u64) as usize
    }

    pub fn coin(&mut self) -> bool {
        self.next() & 1 == 1
    }

    /// Standard normal, by Box and Muller.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.between(0.0, 1.0)).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.between(0.0, 1.0)).cos()
    }
}

pub fn mm(value: f64, u95: f64) -> Quantity {
    Quantity {
        value,
        u95,
        unit: "mm".into(),
    }
}

pub fn ring(label: &str, thickness: f64, u95: f64, count: u32) -> SpacerStock {
    SpacerStock {
        label: label.into(),
        thickness,
        u95,
        count,
    }
}

/// A corner with a 7/16 inch spacer.
pub fn corner(corner: Corner, gap: Quantity, belt_offset: Quantity) -> CornerGap {
    CornerGap {
        corner,
        gap,
        spacer_thickness: 11.1125,
        spacer_label: "7/16 in".into(),
        belt_offset,
    }
}

pub fn question(drive: Drive, corners: Vec<CornerGap>, stock: Vec<SpacerStock>) -> SpacerQuestion {
    SpacerQuestion {
        drive,
        corners,
        stock,
        earlier: Vec::new(),
    }
}

/// A question of any kind: every located part, one or two corners, known and unknown fitted spacers, stacks, ties.
pub fn any_question(dice: &mut Dice, most_sizes: usize) -> SpacerQuestion {
    let sizes = dice.below(most_sizes + 1);
    let on_a_grid = dice.coin();
    let stock: Vec<SpacerStock> = (0..sizes)
        .map(|place| {
            let free = dice.between(9.0, 14.0);
            let thickness = if on_a_grid {
                (free * 4.0).round() / 4.0
            } else {
                free
            };
            let u95 = if dice.coin() {
                0.05
            } else {
                dice.between(0.0, 0.15)
            };
            ring(&format!("R{place}"), thickness, u95, dice.below(4) as u32)
        })
        .collect();
    let drive = Drive {
        located: [Located::Hub, Located::Pulley, Located::Wheel][dice.below(3)],
        minimum_gap: dice.between(0.0, 1.0),
        motor_slide: if dice.coin() {
            [0.0, 0.0]
        } else {
            [dice.between(-1.0, 0.0), dice.between(0.0, 1.0)]
        },
        same_spacer_everywhere: dice.coin(),
        stack_limit: 1 + dice.below(3) as u32,
        ..Drive::default()
    };
    let sides: &[Corner] = [&Corner::BOTH[..], &[Corner::Left], &[Corner::Right]][dice.below(4) % 3];
    let corners: Vec<CornerGap> = sides.iter().map(|&side| any_corner(dice, side, &stock)).collect();
    let clearances = any_clearances(dice, &corners);
    let drive = Drive {
        description: (!clearances.is_empty()).then(|| DriveDescription {
            clearances,
            ..DriveDescription::default()
        }),
        ..drive
    };
    SpacerQuestion {
        drive,
        corners,
        stock,
        earlier: Vec::new(),
    }
}

fn any_corner(dice: &mut Dice, corner: Corner, stock: &[SpacerStock]) -> CornerGap {
    let (spacer_label, spacer_thickness) = any_fitted(dice, stock);
    CornerGap {
        corner,
        gap: mm(dice.between(-0.5, 3.0), dice.between(0.02, 0.4)),
        spacer_thickness,
        spacer_label,
        belt_offset: mm(dice.between(-2.0, 2.0), dice.between(0.05, 0.4)),
    }
}

/// Other clearances on every second board: some moved by the spacer, some measured with another one fitted.
fn any_clearances(dice: &mut Dice, corners: &[CornerGap]) -> Vec<OtherClearance> {
    if dice.coin() {
        return Vec::new();
    }
    let mut clearances = Vec::new();
    for corner in corners {
        for name in ["tyre to hanger", "nut to axle end"].iter().take(dice.below(3)) {
            clearances.push(OtherClearance {
                name: (*name).into(),
                corner: corner.corner,
                value: dice.between(0.5, 4.0),
                u95: dice.between(0.0, 0.3),
                spacer_thickness: if dice.coin() {
                    corner.spacer_thickness
                } else {
                    dice.between(9.0, 14.0)
                },
                per_spacer: dice.below(3) as i8 - 1,
                minimum: dice.between(0.0, 1.0),
            });
        }
    }
    clearances
}

fn any_fitted(dice: &mut Dice, stock: &[SpacerStock]) -> (String, f64) {
    if stock.is_empty() || dice.below(3) == 0 {
        return (
            "turned by hand".into(),
            if dice.coin() {
                11.0
            } else {
                dice.between(8.0, 14.0)
            },
        );
    }
    let many = 1 + dice.below(2);
    let rings: Vec<&SpacerStock> = (0..many).map(|_| &stock[dice.below(stock.len())]).collect();
    let labels: Vec<&str> = rings.iter().map(|ring| ring.label.as_str()).collect();
    let thickness: f64 = rings.iter().map(|ring| ring.thickness).sum();
    (labels.join(" + "), thickness + dice.between(-0.04, 0.04))
}
