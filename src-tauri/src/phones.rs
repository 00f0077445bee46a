//! What the page may ask about a phone that takes the photos of a check. There is a server while the page shows it, and no
//! longer.

use crate::Shop;
use crate::commands::Answer;
use shimwright_app::bridge::{Failure, PhoneAtBench, PhoneInvitation, PhoneTold, PhotoAdded};
use shimwright_app::receive::local_addresses;
use shimwright_app::record::CheckKind;
use shimwright_app::{PhoneDesk, phone_page, system_clock};
use shimwright_say::say;
use std::sync::{Arc, Mutex, PoisonError};
use tauri::ipc::Response;
use tauri::{AppHandle, Manager, Runtime, State};

/// The server that is open, if one is.
#[derive(Default)]
pub struct Phones(Mutex<Option<Arc<PhoneDesk>>>);

impl Phones {
    fn put(&self, desk: Option<Arc<PhoneDesk>>) -> Option<Arc<PhoneDesk>> {
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        std::mem::replace(&mut *held, desk)
    }

    fn open(&self) -> Answer<Arc<PhoneDesk>> {
        let held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        held.clone()
            .ok_or_else(|| Failure::not_found(say!("no phone can connect now"), say!("let one in first")))
    }

    async fn close(&self) -> Option<Arc<PhoneDesk>> {
        let desk = self.put(None)?;
        desk.close().await;
        Some(desk)
    }
}

/// Shuts out a phone that is let in while the program ends, so that the log says until when it was.
pub fn leave<R: Runtime>(app: &AppHandle<R>) {
    tauri::async_runtime::block_on(app.state::<Phones>().close());
}

/// This computer's addresses on its local networks, the likeliest first.
#[tauri::command]
pub async fn phone_addresses() -> Answer<Vec<String>> {
    Ok(local_addresses().iter().map(ToString::to_string).collect())
}

/// Lets a phone in for one check, at one address; one that was let in before is shut out.
#[tauri::command]
pub async fn phone_start(
    shop: State<'_, Shop>,
    phones: State<'_, Phones>,
    check: CheckKind,
    address: String,
) -> Answer<PhoneInvitation> {
    phones.close().await;
    let page = phone_page(shimwright_phone_page::FILES)?;
    let desk = PhoneDesk::open(shop.workshop()?, check, &address, page, system_clock).await?;
    let invitation = desk.invitation();
    phones.put(Some(Arc::new(desk)));
    Ok(invitation)
}

/// Where the server stands; `photos` are those that the check has by now.
#[tauri::command]
pub async fn phone_standing(phones: State<'_, Phones>, photos: Vec<PhotoAdded>) -> Answer<PhoneAtBench> {
    Ok(phones.open()?.standing(photos))
}

/// Tells the phone how the check gets on.
#[tauri::command]
pub async fn phone_tell(phones: State<'_, Phones>, told: PhoneTold) -> Answer<()> {
    phones.open()?.tell(told);
    Ok(())
}

/// Shuts the phone out, and gives the last that is to be told of it; nothing when none is let in.
#[tauri::command]
pub async fn phone_stop(phones: State<'_, Phones>, photos: Vec<PhotoAdded>) -> Answer<Option<PhoneAtBench>> {
    let desk = phones.close().await;
    Ok(desk.map(|desk| desk.standing(photos)))
}

/// The unchanged bytes of a photo.
#[tauri::command]
pub async fn photo_bytes(shop: State<'_, Shop>, id: String) -> Answer<Response> {
    let bytes = shop.workshop()?.photo(&id).await?;
    Ok(Response::new(bytes.to_vec()))
}
