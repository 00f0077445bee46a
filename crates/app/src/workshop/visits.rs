//! The shop, and what is written down of a visit.

use super::Workshop;
use crate::bridge::Failure;
use shimwright_history::SavedVisit;
use shimwright_record::{Board, Shop, VisitNotes};
use shimwright_say::say;

/// Farthest that a board's counter may show, km.
const MOST_KM: f64 = 1_000_000.0;
/// Strongest torque of any screw on a drive, newton metres.
const MOST_NEWTON_METRES: f64 = 200.0;

impl Workshop {
    /// The shop; empty when nobody has said.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn shop(&self) -> Result<Shop, Failure> {
        Ok(self.history.shop().await?)
    }

    /// Writes down who the shop is.
    ///
    /// # Errors
    /// Storage trouble.
    pub async fn save_shop(&self, shop: &Shop) -> Result<(), Failure> {
        Ok(self.history.save_shop(shop, self.now()).await?)
    }

    /// What is written down of a visit: the one named by its day or id, or the newest one.
    ///
    /// # Errors
    /// Not found, with the days that there are.
    pub async fn visit_notes(&self, board: &Board, visit: Option<&str>) -> Result<VisitNotes, Failure> {
        Ok(self.visit(board, visit).await?.notes)
    }

    /// Writes down what is to be said of a visit; without a name, of today's, which is opened when there is none.
    ///
    /// # Errors
    /// Not found, or bad input for numbers that no board has.
    pub async fn note_visit(
        &self,
        board: &Board,
        visit: Option<&str>,
        notes: &VisitNotes,
    ) -> Result<(), Failure> {
        check_notes(notes)?;
        let id = match visit {
            Some(_) => self.visit(board, visit).await?.id,
            None => self.history.open_visit(&board.id, self.now()).await?,
        };
        Ok(self.history.set_visit_notes(&id, notes, self.now()).await?)
    }

    /// The visit named by its day or id, or the newest one.
    pub(crate) async fn visit(&self, board: &Board, name: Option<&str>) -> Result<SavedVisit, Failure> {
        let visits = self.history.visits(&board.id).await?;
        let days = visits
            .iter()
            .map(|visit| visit.day.clone())
            .collect::<Vec<_>>()
            .join(", ");
        let found = visits
            .into_iter()
            .find(|visit| name.is_none_or(|name| visit.day == name || visit.id == name));
        found.ok_or_else(|| match name {
            Some(name) if !days.is_empty() => Failure::not_found(
                say!("{} has no visit {name}", board.name),
                say!("there are: {days}"),
            )
            .about(name),
            _ => Failure::not_found(
                say!("{} has no visit yet", board.name),
                say!("save a check first, or write down what was done"),
            ),
        })
    }
}

fn check_notes(notes: &VisitNotes) -> Result<(), Failure> {
    if let Some(km) = notes.odometer_km.filter(|km| !(0.0..=MOST_KM).contains(km)) {
        return Err(Failure::bad_input(
            say!("the odometer shows {km} km, which is not between 0 and {MOST_KM} km"),
            say!("write down what the board's counter shows, in kilometres"),
        )
        .about("odometer"));
    }
    for torque in &notes.torques {
        if !(torque.newton_metres > 0.0 && torque.newton_metres <= MOST_NEWTON_METRES) {
            return Err(Failure::bad_input(
                say!(
                    "the torque of {} is {} N m, which is not between 0 and {MOST_NEWTON_METRES} N m",
                    torque.screw,
                    torque.newton_metres
                ),
                say!("give it in newton metres"),
            )
            .about("torque"));
        }
    }
    Ok(())
}
