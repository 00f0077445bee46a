//! Advice on the drive besides spacers: re-centring, belt, shake, torques.

use super::Workshop;
use crate::bridge::{DriveField, DriveForm, Failure};
use crate::tables::Tables;
use crate::told::day_of;
use shimwright_advice::{belt_advice, description_help, shake_advice, torque_advice};
use shimwright_history::SavedCheck;
use shimwright_record::{
    AddedMass, BeltAdvice, BeltCorner, BeltQuestion, Board, CheckKind, Corner, CornerState, DriveDescription,
    Eccentricity, Quantity, RecentreAdvice, RecentreDecision, RecentreQuestion, ShakeAdvice, ShakeQuestion,
    TorqueAdvice, TorqueTable,
};
use shimwright_say::say;

impl Workshop {
    /// What the fields of a drive's description mean, and starting values for a form.
    pub fn drive_form(&self) -> DriveForm {
        DriveForm {
            fields: description_help()
                .iter()
                .map(|help| DriveField {
                    field: help.field.to_owned(),
                    label: help.label.to_owned(),
                    unit: help.unit.to_owned(),
                    help: help.help.to_owned(),
                })
                .collect(),
            starting: DriveDescription::default(),
        }
    }

    /// Torque table and service checks in use: built in, or the data folder's own.
    ///
    /// # Errors
    /// Bad input for a file of the data folder that cannot be read or does not hold together.
    pub fn tables(&self) -> Result<Tables, Failure> {
        Tables::in_folder(self.history.folder())
    }

    /// Re-centring advice from the newest saved turn check of a corner. Turn checks of the same day before it from which a push
    /// was advised count as rounds of the same re-centring.
    ///
    /// # Errors
    /// Not found when no turn was measured; bad input when screw 1 is not known or the drive contradicts itself.
    pub async fn advise_recentre(&self, board: &Board, corner: Corner) -> Result<RecentreAdvice, Failure> {
        let turns = self.turns(board, corner).await?;
        recentre_rounds(board, corner, &turns, &self.tables()?.torques)
    }

    /// Belt geometry and alignment of a board: from the newest saved check of a corner that measured its belt offset and the angle
    /// between its axes, else from the belt offset that was entered for it.
    ///
    /// # Errors
    /// Bad input when the drive was not described or contradicts itself; storage.
    pub async fn advise_belt(&self, board: &Board) -> Result<BeltAdvice, Failure> {
        let checks = self.history.checks(&board.id).await?;
        let corners = Corner::BOTH
            .into_iter()
            .zip(&board.corners)
            .filter_map(|(corner, state)| {
                measured_alignment(&checks, corner).or_else(|| entered_offset(corner, state))
            })
            .collect();
        Ok(belt_advice(&BeltQuestion {
            drive: board.drive.clone(),
            corners,
        })?)
    }

    /// What the newest measured eccentricity of a corner, and masses added to its wheel, mean at speed (km/h).
    ///
    /// # Errors
    /// Not found when no turn was measured; bad input when the drive was not described.
    pub async fn advise_shake(
        &self,
        board: &Board,
        corner: Corner,
        top_speed: f64,
        added: Vec<AddedMass>,
    ) -> Result<ShakeAdvice, Failure> {
        let turns = self.turns(board, corner).await?;
        let newest = turns.last().ok_or_else(|| no_turn(corner))?;
        Ok(shake_advice(&ShakeQuestion {
            drive: board.drive.clone(),
            eccentricity: eccentricity(newest)?.size,
            added,
            top_speed,
        })?)
    }

    /// The torque table, with the torques of a board's own maker where its description gives them.
    ///
    /// # Errors
    /// Bad input for a table that does not hold together.
    pub fn torque_table(&self, board: Option<&Board>) -> Result<TorqueAdvice, Failure> {
        let description = board.and_then(|board| board.drive.description.as_ref());
        Ok(torque_advice(&self.tables()?.torques, description)?)
    }

    /// Describes a board's drive anew.
    ///
    /// # Errors
    /// Bad input for a description that contradicts itself or the drive, or a torque for a class that there is not.
    pub async fn describe_drive(
        &self,
        board_id: &str,
        description: DriveDescription,
    ) -> Result<Board, Failure> {
        let mut board = self.history.board(board_id).await?;
        torque_advice(&self.tables()?.torques, Some(&description))?;
        board.drive.description = Some(description);
        self.save_board(&board).await
    }

    /// The turn checks of a corner, oldest first.
    async fn turns(&self, board: &Board, corner: Corner) -> Result<Vec<SavedCheck>, Failure> {
        let mut turns = self.history.checks(&board.id).await?;
        turns.retain(|check| check.corner == corner && check.result.check == CheckKind::Turn);
        turns.reverse();
        Ok(turns)
    }
}

/// The newest alignment measured at a corner; `checks` newest first.
fn measured_alignment(checks: &[SavedCheck], corner: Corner) -> Option<BeltCorner> {
    checks
        .iter()
        .filter(|check| check.corner == corner)
        .find_map(|check| {
            Some(BeltCorner {
                corner,
                offset: check.result.quantity("belt_offset")?.clone(),
                axis_angle: Some(check.result.quantity("axis_angle")?.clone()),
            })
        })
}

/// The belt offset entered for a corner. Nobody measures without uncertainty: 0 stands for one that was never entered.
fn entered_offset(corner: Corner, state: &CornerState) -> Option<BeltCorner> {
    (state.belt_offset_u95 > 0.0).then(|| BeltCorner {
        corner,
        offset: Quantity {
            value: state.belt_offset,
            u95: state.belt_offset_u95,
            unit: "mm".to_owned(),
        },
        axis_angle: None,
    })
}

fn no_turn(corner: Corner) -> Failure {
    Failure::not_found(
        say!("no turn was measured on the {} corner", corner.name()),
        say!("measure the run-out over a turn there, and save it"),
    )
}

/// Follows the turn checks of the newest day: each from which a push was advised is a round.
fn recentre_rounds(
    board: &Board,
    corner: Corner,
    turns: &[SavedCheck],
    torques: &TorqueTable,
) -> Result<RecentreAdvice, Failure> {
    let newest = turns.last().ok_or_else(|| no_turn(corner))?;
    let day = day_of(&newest.at);
    let mut earlier = Vec::new();
    let mut advice = None;
    for check in turns.iter().filter(|check| day_of(&check.at) == day) {
        let question = RecentreQuestion {
            drive: board.drive.clone(),
            corner,
            now: eccentricity(check)?,
            screw_1_angle: check.job.drive.as_ref().and_then(|drive| drive.mark_screw_angle),
            earlier: earlier.clone(),
        };
        let next = shimwright_advice::recentre(&question, torques)?;
        if next.decision == RecentreDecision::Push {
            earlier.push(question.now);
        }
        advice = Some(next);
    }
    advice.ok_or_else(|| no_turn(corner))
}

/// What a turn check says of the pulley.
fn eccentricity(check: &SavedCheck) -> Result<Eccentricity, Failure> {
    let value = |name: &str| check.result.quantity(name).cloned();
    let needed = |name: &str| {
        value(name).ok_or_else(|| {
            Failure::bad_input(
                say!("the saved turn check gives no `{name}`"),
                say!("measure the turn again"),
            )
        })
    };
    Ok(Eccentricity {
        size: needed("eccentricity")?,
        direction: needed("eccentricity_direction")?,
        axial_runout: value("axial_runout"),
        axial_high_direction: value("axial_high_direction"),
    })
}
