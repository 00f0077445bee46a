//! Blocks on pages: each block knows its height, and the flow puts them one below the other and turns the page.

use crate::canvas::{Canvas, Place};
use krilla::tagging::Node;
use std::collections::VecDeque;

/// A piece of a document, as wide as the column.
pub(super) trait Block {
    /// Height, mm.
    fn height(&self) -> f64;

    /// White above it, mm; none at the top of a page.
    fn space(&self) -> f64 {
        2.0
    }

    /// Whether it must not be the last on its page.
    fn leads(&self) -> bool {
        false
    }

    /// Its entry in the table of contents.
    fn entry(&self) -> Option<&str> {
        None
    }

    /// Height of the least that it can begin a page's end with, mm.
    fn least(&self) -> f64 {
        self.height()
    }

    /// The part that fits into a height, and the rest.
    fn split(self: Box<Self>, room_mm: f64) -> Split;

    /// Draws it and gives its part of the document's structure.
    fn draw(&self, canvas: &mut Canvas, at: Place) -> Vec<Node>;
}

/// A block that was to be split.
pub(super) enum Split {
    /// It stays whole.
    Whole(Box<dyn Block>),
    /// What fits, and the rest.
    Parts(Box<dyn Block>, Box<dyn Block>),
}

/// A block at its height on a page.
pub(super) struct Placed {
    pub block: Box<dyn Block>,
    pub top_mm: f64,
}

/// Puts blocks onto pages between `top` and `bottom`, mm.
pub(super) fn paginate(blocks: Vec<Box<dyn Block>>, top: f64, bottom: f64) -> Vec<Vec<Placed>> {
    let mut pages: Vec<Vec<Placed>> = Vec::new();
    let mut page: Vec<Placed> = Vec::new();
    let mut y = top;
    let mut waiting: VecDeque<Box<dyn Block>> = blocks.into();
    while let Some(block) = waiting.pop_front() {
        let start = if page.is_empty() { top } else { y + block.space() };
        let end = start + block.height();
        if end + led_height(block.as_ref(), &waiting) <= bottom {
            page.push(Placed { block, top_mm: start });
            y = end;
            continue;
        }
        let split = if block.leads() {
            Split::Whole(block)
        } else {
            block.split(bottom - start)
        };
        match split {
            Split::Parts(first, rest) => {
                page.push(Placed {
                    block: first,
                    top_mm: start,
                });
                waiting.push_front(rest);
            }
            // A block that no page holds is cut off rather than lost.
            Split::Whole(block) if page.is_empty() => page.push(Placed { block, top_mm: start }),
            Split::Whole(block) => waiting.push_front(block),
        }
        pages.push(std::mem::take(&mut page));
    }
    if !page.is_empty() {
        pages.push(page);
    }
    pages
}

/// Height of what must stand on the same page below a block that leads, mm.
fn led_height(block: &dyn Block, behind: &VecDeque<Box<dyn Block>>) -> f64 {
    let mut height = 0.0;
    let mut leads = block.leads();
    for next in behind {
        if !leads {
            break;
        }
        leads = next.leads();
        height += next.space() + if leads { next.height() } else { next.least() };
    }
    height
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A stack of lines of 10 mm.
    struct Lines(usize, bool);

    impl Block for Lines {
        fn height(&self) -> f64 {
            self.0 as f64 * 10.0
        }
        fn leads(&self) -> bool {
            self.1
        }
        fn least(&self) -> f64 {
            10.0
        }
        fn split(self: Box<Self>, room_mm: f64) -> Split {
            let fitting = (room_mm / 10.0) as usize;
            if fitting == 0 || fitting >= self.0 {
                return Split::Whole(self);
            }
            Split::Parts(
                Box::new(Lines(fitting, false)),
                Box::new(Lines(self.0 - fitting, false)),
            )
        }
        fn draw(&self, _: &mut Canvas, _: Place) -> Vec<Node> {
            Vec::new()
        }
    }

    fn heights(blocks: Vec<Lines>) -> Vec<Vec<f64>> {
        let blocks = blocks
            .into_iter()
            .map(|block| Box::new(block) as Box<dyn Block>)
            .collect();
        let pages = paginate(blocks, 0.0, 100.0);
        pages
            .iter()
            .map(|page| page.iter().map(|placed| placed.block.height()).collect())
            .collect()
    }

    #[test]
    fn blocks_flow_over_pages_and_nothing_is_lost() {
        assert_eq!(heights(vec![]), [] as [Vec<f64>; 0]);
        assert_eq!(heights(vec![Lines(3, false), Lines(4, false)]), [[30.0, 40.0]]);
        assert_eq!(
            heights(vec![Lines(8, false), Lines(5, false)]),
            [vec![80.0, 10.0], vec![40.0]]
        );
        assert_eq!(heights(vec![Lines(25, false)]), [[100.0], [100.0], [50.0]]);
    }

    #[test]
    fn a_heading_goes_with_what_it_leads() {
        assert_eq!(
            heights(vec![Lines(9, false), Lines(1, true), Lines(5, false)]),
            [vec![90.0], vec![10.0, 50.0]]
        );
        let two = vec![Lines(7, false), Lines(1, true), Lines(1, true), Lines(5, false)];
        assert_eq!(heights(two), [vec![70.0], vec![10.0, 10.0, 50.0]]);
    }
}
