//! Spacer advice from measured corners, the board's drive and the drawer.

use super::Workshop;
use crate::bridge::Failure;
use shimwright_advice::choose_spacer;
use shimwright_record::{
    Board, CheckKind, CheckResult, Corner, CornerGap, CornerState, Quantity, SpacerAdvice, SpacerQuestion,
};
use shimwright_say::say;

/// A question with its answer.
pub(crate) type Advised = (SpacerQuestion, SpacerAdvice);

impl Workshop {
    /// Advice from the newest saved gaps of a board.
    ///
    /// # Errors
    /// Bad input when no corner was measured, the drawer is empty, or the drive's description does not hold together.
    pub async fn advise(&self, board: &Board) -> Result<SpacerAdvice, Failure> {
        let question = self.question(board, Vec::new()).await?;
        Ok(answer(question)?.1)
    }

    /// Advice for a corner that was just measured, with the newest saved gap of the other one.
    pub(crate) async fn advise_after(
        &self,
        board: &Board,
        corner: Corner,
        result: &CheckResult,
    ) -> Result<Advised, Failure> {
        let fresh = corner_gap(corner, result, &board.corners[place(corner)]).ok_or_else(|| {
            Failure::bad_input(
                say!("there is no gap to advise from"),
                say!("measure the gap of this corner"),
            )
        })?;
        answer(self.question(board, vec![fresh]).await?)
    }

    /// What is to be asked: the corners given, and the newest saved gaps of the others.
    async fn question(&self, board: &Board, mut corners: Vec<CornerGap>) -> Result<SpacerQuestion, Failure> {
        for corner in Corner::BOTH {
            if corners.iter().any(|known| known.corner == corner) {
                continue;
            }
            let Some(saved) = self.history.newest(&board.id, corner, CheckKind::Gap).await? else {
                continue;
            };
            let (then, now) = (&saved.board.corners[place(corner)], &board.corners[place(corner)]);
            // A gap measured with another spacer than the one fitted now says nothing of the corner as it is.
            if same_spacer(then, now) {
                corners.extend(corner_gap(corner, &saved.result, now));
            }
        }
        corners.sort_by_key(|known| known.corner);
        let earlier = self.earlier_gaps(board, &corners).await?;
        Ok(SpacerQuestion {
            drive: board.drive.clone(),
            corners,
            stock: self.history.stock().await?,
            earlier,
        })
    }

    /// For each corner the newest saved gap with another spacer, if there is one.
    async fn earlier_gaps(&self, board: &Board, corners: &[CornerGap]) -> Result<Vec<CornerGap>, Failure> {
        let checks = self.history.checks(&board.id).await?;
        let other = |now: &CornerGap| {
            checks.iter().find_map(|saved| {
                let then = &saved.board.corners[place(saved.corner)];
                let differs = (then.spacer_thickness - now.spacer_thickness).abs() >= SAME_RING;
                (saved.corner == now.corner && saved.result.check == CheckKind::Gap && differs)
                    .then(|| corner_gap(saved.corner, &saved.result, then))
                    .flatten()
            })
        };
        Ok(corners.iter().filter_map(other).collect())
    }
}

/// Answers a question for spacer advice.
///
/// # Errors
/// Bad input when the question has no corner, an empty drawer, or contradicts itself.
pub fn advise(question: &SpacerQuestion) -> Result<SpacerAdvice, Failure> {
    if question.corners.is_empty() {
        return Err(Failure::bad_input(
            say!("no corner has been measured"),
            say!("measure the gap of one or both corners first"),
        ));
    }
    if question.stock.is_empty() {
        return Err(Failure::bad_input(
            say!("there is no spacer in stock to choose from"),
            say!("enter the rings at hand with their thickness"),
        )
        .about("stock"));
    }
    Ok(choose_spacer(question)?)
}

fn answer(question: SpacerQuestion) -> Result<Advised, Failure> {
    let answer = advise(&question)?;
    Ok((question, answer))
}

fn corner_gap(corner: Corner, result: &CheckResult, state: &CornerState) -> Option<CornerGap> {
    Some(CornerGap {
        corner,
        gap: result.quantity("gap")?.clone(),
        spacer_thickness: state.spacer_thickness,
        spacer_label: state.spacer_label.clone(),
        belt_offset: Quantity {
            value: state.belt_offset,
            u95: state.belt_offset_u95,
            unit: "mm".into(),
        },
    })
}

/// Within a hundredth of a millimetre, the same ring.
const SAME_RING: f64 = 0.01;

fn same_spacer(a: &CornerState, b: &CornerState) -> bool {
    (a.spacer_thickness - b.spacer_thickness).abs() < SAME_RING
}

/// The place of a corner in a board's pair.
pub(crate) fn place(corner: Corner) -> usize {
    match corner {
        Corner::Left => 0,
        Corner::Right => 1,
    }
}
