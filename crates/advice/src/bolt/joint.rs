//! Preload and torque of a metric screw, VDI 2230 long form.

use shimwright_record::ScrewSize;
use shimwright_record::conformity::COVERAGE_95;
use std::f64::consts::{PI, SQRT_2};

/// What a screw is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SteelClass {
    /// Steel 8.8.
    S8_8,
    /// Steel 10.9.
    S10_9,
    /// Steel 12.9.
    S12_9,
    /// Stainless A2-70.
    A2_70,
}

impl SteelClass {
    /// Every class.
    pub const ALL: [SteelClass; 4] = [Self::S8_8, Self::S10_9, Self::S12_9, Self::A2_70];

    /// As it is marked on the head.
    pub fn name(self) -> &'static str {
        match self {
            Self::S8_8 => "8.8",
            Self::S10_9 => "10.9",
            Self::S12_9 => "12.9",
            Self::A2_70 => "A2-70",
        }
    }

    /// 0.2 % proof stress, MPa: ISO 898-1 (up to M16) and ISO 3506-1, from memory.
    fn yield_stress(self) -> f64 {
        match self {
            Self::S8_8 => 640.0,
            Self::S10_9 => 940.0,
            Self::S12_9 => 1100.0,
            Self::A2_70 => 450.0,
        }
    }
}

/// Friction in the thread and under the head, taken as equal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Friction(pub f64);

/// Share of the yield stress that tightening may use up (VDI 2230).
const USE_OF_YIELD: f64 = 0.9;

/// A screw with coarse thread, head as ISO 4762, hole of the medium series.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    /// Size.
    pub size: ScrewSize,
    /// Class.
    pub class: SteelClass,
    /// Friction.
    pub friction: Friction,
}

impl Joint {
    /// Thread pitch, mm (ISO 261 coarse).
    fn pitch(&self) -> f64 {
        match self.size {
            ScrewSize::M3 => 0.5,
            ScrewSize::M4 => 0.7,
            ScrewSize::M5 => 0.8,
            ScrewSize::M6 => 1.0,
            ScrewSize::M8 => 1.25,
        }
    }

    /// Diameter of the head's bearing face, mm (ISO 4762, smallest washer face; from memory).
    fn bearing_face(&self) -> f64 {
        match self.size {
            ScrewSize::M3 => 5.07,
            ScrewSize::M4 => 6.53,
            ScrewSize::M5 => 8.03,
            ScrewSize::M6 => 9.38,
            ScrewSize::M8 => 12.33,
        }
    }

    /// Flank diameter d2 = d - 0.649519 P, mm (ISO 724).
    fn flank_diameter(&self) -> f64 {
        self.size.diameter() - 3.0 * 3.0_f64.sqrt() / 8.0 * self.pitch()
    }

    /// Diameter of the stress area, mm: (d2 + d3) / 2 with d3 = d - 1.226869 P (ISO 898-1).
    fn stress_diameter(&self) -> f64 {
        let core = self.size.diameter() - 17.0 * 3.0_f64.sqrt() / 24.0 * self.pitch();
        (self.flank_diameter() + core) / 2.0
    }

    /// Stress area, mm2.
    pub fn stress_area(&self) -> f64 {
        PI / 4.0 * self.stress_diameter().powi(2)
    }

    /// Preload at which tightening has used 90 % of the yield stress, N.
    ///
    /// VDI 2230 (from memory): F = A0 0.9 Rp0.2 / sqrt(1 + 3 [(3/2) (d2/d0) (P / (pi d2) + 1.155 mu)]^2).
    pub fn preload(&self) -> f64 {
        let (d2, d0) = (self.flank_diameter(), self.stress_diameter());
        let twist = 1.5 * d2 / d0 * (self.pitch() / (PI * d2) + 1.155 * self.friction.0);
        self.stress_area() * USE_OF_YIELD * self.class.yield_stress() / (1.0 + 3.0 * twist * twist).sqrt()
    }

    /// Torque for a preload in N, N m: M = F [0.159 P + 0.577 d2 mu + (Dkm / 2) mu] (VDI 2230, from memory).
    pub fn torque_for(&self, preload: f64) -> f64 {
        let mean_head = (self.bearing_face() + self.size.medium_hole()) / 2.0;
        let lever = 0.159 * self.pitch()
            + 0.577 * self.flank_diameter() * self.friction.0
            + mean_head / 2.0 * self.friction.0;
        preload * lever / 1000.0
    }

    /// The torque beyond which the screw itself is overloaded, N m.
    pub fn most_torque(&self) -> f64 {
        self.torque_for(self.preload())
    }
}

/// Torque by the nut factor, N m: T = K d F.
pub fn nut_factor_torque(nut_factor: f64, size: ScrewSize, preload: f64) -> f64 {
    nut_factor * size.diameter() * preload / 1000.0
}

/// How far the preloads of two screws at one wrench setting may lie apart: half the 95 % interval of their ratio about 1.
///
/// The wrench's error is common to both and cancels; `scatter` is the half-width of a rectangle for each screw
/// (u = scatter / sqrt 3), so that half the interval is 1.96 sqrt 2 scatter / sqrt 3.
pub fn preload_ratio_95(scatter: f64) -> f64 {
    COVERAGE_95 * SQRT_2 * scatter / 3.0_f64.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn joint(size: ScrewSize, class: SteelClass, friction: f64) -> Joint {
        Joint {
            size,
            class,
            friction: Friction(friction),
        }
    }

    /// Stress areas of ISO 898-1: 5.03, 8.78, 14.2 mm2 (from memory; exact formula 5.031, 8.779, 14.183).
    #[test]
    fn stress_areas_are_the_published_ones() {
        for (size, area) in [
            (ScrewSize::M3, 5.031),
            (ScrewSize::M4, 8.779),
            (ScrewSize::M5, 14.183),
        ] {
            let got = joint(size, SteelClass::S8_8, 0.12).stress_area();
            assert!((got - area).abs() < 6e-4, "{got}");
        }
    }

    /// VDI 2230's own table (from memory), 8.8: M4 at 0.12 4.4 kN and 3.0 N m, at 0.14 4.3 kN and 3.3 N m; M6 at 0.12 10.2 kN and
    /// 10.1 N m; M8 at 0.12 18.6 kN and 24.6 N m. The table is rounded and takes its own head: 2.5 %.
    #[test]
    fn preload_and_torque_agree_with_the_guideline() {
        for (size, friction, kilonewtons, torque) in [
            (ScrewSize::M4, 0.12, 4.4, 3.0),
            (ScrewSize::M4, 0.14, 4.3, 3.3),
            (ScrewSize::M6, 0.12, 10.2, 10.1),
            (ScrewSize::M8, 0.12, 18.6, 24.6),
        ] {
            let joint = joint(size, SteelClass::S8_8, friction);
            let (force, most) = (joint.preload() / 1000.0, joint.most_torque());
            assert!((force / kilonewtons - 1.0).abs() < 0.025, "{joint:?} {force}");
            assert!((most / torque - 1.0).abs() < 0.025, "{joint:?} {most}");
        }
    }

    /// T = K d F by hand.
    #[test]
    fn the_nut_factor_by_hand() {
        for (size, force, torque) in [
            (ScrewSize::M4, 2000.0, 1.6),
            (ScrewSize::M3, 1000.0, 0.6),
            (ScrewSize::M5, 4000.0, 4.0),
        ] {
            assert!((nut_factor_torque(0.2, size, force) - torque).abs() < 1e-12);
        }
    }

    /// 23 % scatter as a rectangle: 1.96 x sqrt 2 x 0.23 / sqrt 3 = 0.368.
    #[test]
    fn two_screws_at_one_setting_lie_up_to_a_third_apart() {
        assert!((preload_ratio_95(0.23) - 0.368).abs() < 5e-4);
    }
}
