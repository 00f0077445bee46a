//! The use cases, one door for every shell: [`Workshop`] keeps boards, measures, advises and remembers.
//!
//! Shells (window, command line) parse what they are given, call this crate and show what comes back. Errors are
//! [`bridge::Failure`]: a code to act on, what is wrong, and what to do next.

pub mod bridge;
mod calibrate;
mod demo;
mod failure;
mod files_out;
mod job_file;
mod json_text;
mod marked;
mod measuring;
mod nearest;
mod outline;
mod phone;
mod place;
mod profiles;
mod proof;
mod ring_view;
mod tables;
mod targets;
pub mod told;
mod without_place;
mod workshop;

pub use calibrate::{calibration_job, camera_profile};
pub use demo::{DEMO_CAMERA, demo_board, demo_camera, demo_job, demo_stock, write_demo_files};
pub use files_out::file_at;
pub use job_file::{
    LoadedJob, LoadedPhoto, LoadedSound, MOST_PHOTOS, load_job, load_json, load_photo, load_question,
    load_sound,
};
pub use json_text::json_value;
pub use marked::{MarkedPicture, marked_pictures};
pub use measuring::{Cancel, measure_job, propose_for};
pub use phone::{PhoneCheck, PhoneDesk, PhoneLog, phone_identity, phone_page};
pub use place::{FOLDER_VARIABLE, HISTORY_VARIABLE, PHOTOS_VARIABLE, history_folder, history_home};
pub use profiles::{keep_profile, use_kept_profile};
pub use proof::{
    Chain, ChainState, FindingTold, NumberState, NumberTold, RecordState, SignatureState, SignatureTold,
    Verification,
};
pub use shimwright_advice as advice;
pub use shimwright_history::{
    Backup, CleanUp, Conflict, ExportForm, Exported, Home, Merged, OnConflict, PhotoSizes, Restored,
    TrendPoint,
};
pub use shimwright_receive as receive;
pub use shimwright_record as record;
pub use shimwright_target::TargetSet;
pub use tables::Tables;
pub use targets::{write_files, write_target_sheets};
pub use without_place::shared_photos;
pub use workshop::{
    BundleAsked, BundleMade, Clock, RecordAsked, RecordMade, VERSION, VerifyAsked, Workshop, advise, verify,
};
pub use workshop::{CopyRestored, ExportPhotos, system_clock};
