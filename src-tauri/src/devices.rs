//! Which devices the page may use.

use tauri::webview::{PermissionKind, PermissionResponse};

/// Camera and microphone, which the page opens only after a press, and nothing else. Where the system asks the person itself it
/// goes on doing so; WebKitGTK has no question of its own and refuses what nobody allows.
pub(crate) fn answer(kind: PermissionKind) -> PermissionResponse {
    match kind {
        PermissionKind::Camera | PermissionKind::Microphone if cfg!(target_os = "linux") => {
            PermissionResponse::Allow
        }
        PermissionKind::Camera | PermissionKind::Microphone => PermissionResponse::Default,
        _ => PermissionResponse::Deny,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn camera_and_microphone_and_nothing_else() {
        for kind in [PermissionKind::Camera, PermissionKind::Microphone] {
            assert!(!matches!(answer(kind), PermissionResponse::Deny));
        }
        for kind in [
            PermissionKind::Geolocation,
            PermissionKind::Notifications,
            PermissionKind::DisplayCapture,
        ] {
            assert!(matches!(answer(kind), PermissionResponse::Deny));
        }
    }

    /// Systems that ask the person show these words; without them they end the program.
    #[test]
    fn the_systems_questions_have_words() {
        let words = include_str!("../Info.plist");
        for key in ["NSCameraUsageDescription", "NSMicrophoneUsageDescription"] {
            let (_, behind) = words.split_once(key).expect("the key");
            let text = behind
                .split_once("<string>")
                .and_then(|(_, rest)| rest.split_once("</string>"));
            assert!(text.is_some_and(|(text, _)| text.len() > 40), "{key}");
        }
    }
}
