//! A scene: surfaces, what they look like, and the light on them.

use crate::form::{Form, Hit, Ready};
use crate::light::{Light, Lit, Shadow, Wall};
use crate::paint::Paint;
use shimwright_geom::Vec3;

/// A surface of a scene.
#[derive(Clone, Debug)]
pub struct Surface {
    /// Its form.
    pub form: Form,
    /// Its look.
    pub paint: Paint,
    /// A wall that takes light from it.
    pub wall: Option<Wall>,
    /// A soft shadow on it.
    pub shadow: Option<Shadow>,
}

impl Surface {
    /// A surface in the open.
    pub fn new(form: Form, paint: Paint) -> Self {
        Self {
            form,
            paint,
            wall: None,
            shadow: None,
        }
    }

    /// The same beside a wall.
    pub fn beside(self, wall: Wall) -> Self {
        Self {
            wall: Some(wall),
            ..self
        }
    }

    /// The same under a soft shadow.
    pub fn shaded(self, shadow: Shadow) -> Self {
        Self {
            shadow: Some(shadow),
            ..self
        }
    }
}

/// Grain of at least this size changes slowly from pixel to pixel, mm.
const SMOOTH: f64 = 0.6;

/// A scene.
#[derive(Clone, Debug)]
pub struct Scene {
    /// All surfaces. World frame, mm.
    pub surfaces: Vec<Surface>,
    /// The light.
    pub light: Light,
    /// Light of what no surface covers, linear.
    pub background: f64,
}

/// What a ray sees: which surface, whether its print is black there, and the light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Seen {
    /// Twice the surface's index, and one more where its print is black; 0xffff for the background.
    pub class: u16,
    pub light: f32,
}

/// A scene made ready for many rays.
pub(crate) struct Stage<'a> {
    scene: &'a Scene,
    forms: Vec<Ready<'a>>,
}

impl<'a> Stage<'a> {
    /// For rays that start at `eye`.
    pub fn new(scene: &'a Scene, eye: &Vec3) -> Self {
        Self {
            scene,
            forms: scene.surfaces.iter().map(|s| Ready::new(&s.form, eye)).collect(),
        }
    }

    /// Whether what is seen under a class changes slowly from place to place, all but for the class.
    pub fn is_smooth(&self, class: u16) -> bool {
        self.scene
            .surfaces
            .get(usize::from(class / 2))
            .is_none_or(|s| s.paint.grain.amount == 0.0 || s.paint.grain.size.min() >= SMOOTH)
    }

    /// What a ray with a given direction sees first of the surfaces named.
    pub fn see(&self, along: &Vec3, candidates: &[u16]) -> Seen {
        let mut nearest: Option<(u16, Hit)> = None;
        let mut limit = f64::INFINITY;
        for &i in candidates {
            if let Some(hit) = self.forms[i as usize].meet(along, limit) {
                limit = hit.t;
                nearest = Some((i, hit));
            }
        }
        let Some((i, hit)) = nearest else {
            return Seen {
                class: u16::MAX,
                light: self.scene.background as f32,
            };
        };
        let surface = &self.scene.surfaces[i as usize];
        let met = self.forms[i as usize].describe(&hit);
        let black = surface.paint.is_black(&met.place);
        let lit = Lit {
            at: met.at,
            place: met.place,
            normal: met.normal,
            towards_camera: -along,
            black,
            wall: surface.wall.as_ref(),
            shadow: surface.shadow.as_ref(),
        };
        Seen {
            class: 2 * i + u16::from(black),
            light: self.scene.light.shade(&lit, &surface.paint) as f32,
        }
    }
}
