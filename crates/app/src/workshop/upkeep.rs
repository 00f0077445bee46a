//! Service checks by hand, and what was done.

use super::Workshop;
use crate::bridge::Failure;
use chrono::Datelike;
use shimwright_advice::{ServiceQuestion, service_advice};
use shimwright_record::{Board, Day, ServiceAdvice, ServiceDone, Today};
use shimwright_say::say;

/// The most kilometres that an odometer shows.
const MOST_KM: f64 = 1_000_000.0;

impl Workshop {
    /// The service checks of a board with their due dates, most pressing first. Without an odometer only days count.
    ///
    /// # Errors
    /// Bad input for an odometer that is none or a data file that does not hold together; storage trouble.
    pub async fn service(&self, board: &Board, odometer_km: Option<f64>) -> Result<ServiceAdvice, Failure> {
        check_odometer(odometer_km)?;
        let tables = self.tables()?;
        let done = self.history.service_done(&board.id).await?;
        Ok(service_advice(&ServiceQuestion {
            book: &tables.service,
            torques: &tables.torques,
            description: board.drive.description.as_ref(),
            done: &done,
            today: Today {
                day: self.today()?,
                odometer_km,
            },
        })?)
    }

    /// Writes down that a service check was done.
    ///
    /// # Errors
    /// Bad input for a check that there is not, a day to come, or an odometer that is none; not found for the board.
    pub async fn service_done(&self, board_id: &str, done: &ServiceDone) -> Result<(), Failure> {
        check_odometer(done.odometer_km)?;
        let known = self.tables()?.service.checks;
        if !known.iter().any(|check| check.id == done.check) {
            let ids: Vec<&str> = known.iter().map(|check| check.id.as_str()).collect();
            return Err(Failure::bad_input(
                say!("there is no service check `{}`", done.check),
                say!("there are: {}", ids.join(", ")),
            )
            .about("check"));
        }
        if done.day > self.today()? {
            return Err(Failure::bad_input(
                say!("{} is still to come", done.day),
                say!("name the day on which it was done"),
            )
            .about("day"));
        }
        Ok(self.history.add_service_done(board_id, done, self.now()).await?)
    }

    /// Today by the workshop's clock.
    ///
    /// # Errors
    /// A fault when the clock is out of the calendar.
    pub fn today(&self) -> Result<Day, Failure> {
        let date = self.now().date_naive();
        Day::new(i64::from(date.year()), date.month(), date.day())
            .ok_or_else(|| Failure::internal(say!("the clock says {date}, which is no day of this calendar")))
    }
}

fn check_odometer(odometer_km: Option<f64>) -> Result<(), Failure> {
    match odometer_km {
        Some(km) if !(0.0..=MOST_KM).contains(&km) => Err(Failure::bad_input(
            say!("the odometer is {km} km"),
            say!("give what it shows in kilometres, or leave it out"),
        )
        .about("odometer_km")),
        _ => Ok(()),
    }
}
