//! What a number means, as a word in a box that also tells in black and white.

use super::text::Look;
use crate::canvas::{Canvas, Ink, Place};
use crate::font::Typefaces;
use shimwright_record::Conformity;

const HEIGHT_MM: f64 = 4.8;
const PAD_MM: f64 = 1.6;
/// Room for the sign before the word, mm.
const SIGN_MM: f64 = 4.2;

/// A word in a box: filled when the limit is passed, outlined when it is kept, dashed when it is open.
pub(super) struct Badge {
    state: Conformity,
}

impl Badge {
    pub fn new(state: Conformity) -> Self {
        Self { state }
    }

    fn word(&self) -> &'static str {
        match self.state {
            Conformity::Within => "within",
            Conformity::Outside => "outside",
            Conformity::Undecided => "undecided",
        }
    }

    /// Draws it with its top-left corner at `at`.
    pub fn draw(&self, canvas: &mut Canvas, faces: &Typefaces, at: Place) {
        let (ink, words) = match self.state {
            Conformity::Within => (Ink::Good, Ink::Good),
            Conformity::Outside => (Ink::Bad, Ink::White),
            Conformity::Undecided => (Ink::Open, Ink::Open),
        };
        let look = Look {
            bold: true,
            size_pt: 8.5,
            ink: words,
        };
        let width = SIGN_MM + look.face(faces).width_mm(self.word(), look.size_pt) + 2.0 * PAD_MM;
        let far = (at.0 + width, at.1 + HEIGHT_MM);
        let frame = [at, (far.0, at.1), far, (at.0, far.1), at];
        match self.state {
            Conformity::Within => canvas.line(&frame, 0.3, ink, None),
            Conformity::Outside => canvas.rectangle(at, far, ink),
            Conformity::Undecided => canvas.line(&frame, 0.3, ink, Some([0.9, 0.7])),
        }
        self.sign(canvas, words, (at.0 + PAD_MM, at.1 + HEIGHT_MM / 2.0));
        look.draw(canvas, faces, (at.0 + PAD_MM + SIGN_MM, at.1 + 0.85), self.word());
    }

    /// A tick, a cross or a bar; `at` is the middle of its left side.
    fn sign(&self, canvas: &mut Canvas, ink: Ink, (x, y): Place) {
        let lines: &[[Place; 2]] = match self.state {
            Conformity::Within => &[[(0.2, 0.1), (1.1, 1.0)], [(1.0, 1.05), (2.8, -1.2)]],
            Conformity::Outside => &[[(0.4, -1.1), (2.6, 1.1)], [(0.4, 1.1), (2.6, -1.1)]],
            Conformity::Undecided => &[[(0.3, -0.5), (2.7, -0.5)], [(0.3, 0.6), (2.7, 0.6)]],
        };
        for [a, b] in lines {
            canvas.line(&[(x + a.0, y + a.1), (x + b.0, y + b.1)], 0.45, ink, None);
        }
    }
}
