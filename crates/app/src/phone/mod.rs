//! A phone that takes photos for one check: what the bench does with them, who may connect, and what is written down of it.

mod check;
mod desk;
mod identity;
mod log;

pub use check::PhoneCheck;
pub use desk::PhoneDesk;
pub use identity::phone_identity;
pub use log::PhoneLog;

use crate::bridge::Failure;
use shimwright_receive::Page;
use shimwright_say::say;

/// The built page for phones, from its files by path.
///
/// # Errors
/// An internal failure when there are none.
pub fn phone_page(files: &[(&str, &[u8])]) -> Result<Page, Failure> {
    if files.is_empty() {
        return Err(Failure::internal(say!(
            "this program was built without its page for phones"
        )));
    }
    let files = files
        .iter()
        .map(|(path, bytes)| ((*path).to_owned(), bytes.to_vec()));
    Ok(Page::new(files))
}
