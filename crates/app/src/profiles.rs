//! Camera profiles that are kept for later jobs: one file a camera in the folder `cameras` beside the history.
//!
//! A job that names no profile gets the one whose make, model, lens, focal length and picture size are those of its
//! photos.

use crate::bridge::Failure;
use crate::job_file::{LoadedJob, load_camera};
use crate::targets::write_files;
use shimwright_camera::CameraProfile;
use shimwright_photo::PhotoFacts;
use shimwright_record::CheckKind;
use shimwright_say::say;
use std::path::{Path, PathBuf};

/// Folder of the profiles in the history's folder.
const FOLDER: &str = "cameras";
/// Focal lengths that differ by no more than this share are one: EXIF rounds them.
const SAME_FOCAL: f64 = 0.01;

/// Keeps a profile for later jobs, in place of an older one of the same camera and setting; gives its path.
///
/// # Errors
/// Bad input when the photos did not say which camera took them; storage trouble.
pub fn keep_profile(data_dir: &Path, profile: &CameraProfile) -> Result<PathBuf, Failure> {
    if profile.make.is_empty() && profile.model.is_empty() {
        return Err(Failure::bad_input(
            say!(
                "the photos do not say which camera took them, so a kept profile would never be found again"
            ),
            say!("name the profile in the job's `camera`, or use photos as the camera wrote them"),
        ));
    }
    let name = file_name(profile);
    let text = profile.to_json() + "\n";
    write_files(
        &data_dir.join(FOLDER),
        std::iter::once((name.as_str(), text.as_bytes())),
    )?;
    Ok(data_dir.join(FOLDER).join(name))
}

/// Keeps a profile for later jobs, unless one of the same camera and setting is kept already.
///
/// # Errors
/// As [`keep_profile`].
pub(crate) fn keep_profile_if_new(data_dir: &Path, profile: &CameraProfile) -> Result<(), Failure> {
    if data_dir.join(FOLDER).join(file_name(profile)).exists() {
        return Ok(());
    }
    keep_profile(data_dir, profile).map(|_| ())
}

/// Gives a job that names no camera profile the kept one that fits all of its photos, if there is one, and notes it.
///
/// # Errors
/// Bad input when a kept profile cannot be read.
pub fn use_kept_profile(data_dir: &Path, loaded: &mut LoadedJob) -> Result<(), Failure> {
    if loaded.camera.is_some() || loaded.job.check == CheckKind::Camera {
        return Ok(());
    }
    let facts: Vec<&PhotoFacts> = loaded.photos.iter().map(|photo| &photo.facts).collect();
    for (name, profile) in kept(&data_dir.join(FOLDER))? {
        if !facts.is_empty() && facts.iter().all(|facts| fits(&profile, facts)) {
            loaded.camera = Some(profile);
            loaded.notes.push(say!(
                "the kept camera profile {name} was used: its camera, lens, focal length and picture size are those of the \
                 photos"
            ));
            break;
        }
    }
    Ok(())
}

/// All kept profiles with their files' names, those that say most about their lens first.
///
/// # Errors
/// Bad input when a kept profile cannot be read.
pub(crate) fn kept_profiles(data_dir: &Path) -> Result<Vec<(String, CameraProfile)>, Failure> {
    kept(&data_dir.join(FOLDER))
}

/// Takes a kept profile away, by its file's name.
///
/// # Errors
/// Not found for a name that none bears; storage trouble.
pub(crate) fn forget_profile(data_dir: &Path, name: &str) -> Result<(), Failure> {
    let folder = data_dir.join(FOLDER);
    // Only a name that is in the list may be removed, so that no path leads elsewhere.
    if !kept(&folder)?.iter().any(|(known, _)| known == name) {
        return Err(Failure::not_found(
            say!("this camera profile is no longer kept"),
            say!("look at the list again"),
        )
        .about(name));
    }
    std::fs::remove_file(folder.join(name)).map_err(|error| {
        Failure::storage(
            say!("the camera profile cannot be removed ({error})"),
            say!("check the folder's permissions"),
        )
    })
}

/// All kept profiles with their files' names: those that say most about their lens first, then by name.
fn kept(folder: &Path) -> Result<Vec<(String, CameraProfile)>, Failure> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        // Nothing was kept so far.
        return Ok(vec![]);
    };
    let names = entries
        .flatten()
        .filter_map(|entry| entry.file_name().into_string().ok());
    let mut names: Vec<String> = names.filter(|name| name.ends_with(".json")).collect();
    names.sort();
    let profiles = names.into_iter().map(|name| {
        let profile = load_camera(&folder.join(&name), &name)?;
        Ok((name, profile))
    });
    let mut profiles = profiles.collect::<Result<Vec<_>, Failure>>()?;
    profiles.sort_by_key(|(_, profile)| {
        std::cmp::Reverse(usize::from(profile.lens.is_some()) + usize::from(profile.focal_mm.is_some()))
    });
    Ok(profiles)
}

/// Whether a profile is for the camera, lens, focal length and picture size of a photo. What either does not say is no
/// difference, but make and model must be known.
fn fits(profile: &CameraProfile, facts: &PhotoFacts) -> bool {
    let name = |text: &Option<String>| text.clone().unwrap_or_default();
    let same_camera = (profile.make.as_str(), profile.model.as_str())
        == (name(&facts.make).as_str(), name(&facts.model).as_str())
        && !(profile.make.is_empty() && profile.model.is_empty());
    let same_lens = match (&profile.lens, &facts.lens) {
        (Some(a), Some(b)) => a == b,
        _ => true,
    };
    let same_focal = match (profile.focal_mm, facts.focal_mm) {
        (Some(a), Some(b)) => (a - b).abs() <= SAME_FOCAL * b,
        _ => true,
    };
    let same_size =
        (profile.camera.width, profile.camera.height) == (facts.stored_width, facts.stored_height);
    same_camera && same_lens && same_focal && same_size
}

/// A file name that is the same for the same camera and setting.
fn file_name(profile: &CameraProfile) -> String {
    let lens = profile.lens.as_deref().unwrap_or_default();
    let focal = profile.focal_mm.map_or(String::new(), |mm| format!("{mm:.2}mm"));
    let (width, height) = (profile.camera.width, profile.camera.height);
    let whole = format!(
        "{} {} {lens} {focal} {width}x{height}",
        profile.make, profile.model
    );
    let plain: String = whole
        .to_lowercase()
        .chars()
        .map(|c| if c.is_alphanumeric() || c == '.' { c } else { ' ' })
        .collect();
    plain.split_whitespace().collect::<Vec<_>>().join("-") + ".json"
}

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_camera::Camera;
    use shimwright_photo::Format;

    fn profile() -> CameraProfile {
        CameraProfile {
            camera: Camera::ideal(2816, 2112, 2290.0),
            sigma: [1.0; 9],
            make: "Larkspur".into(),
            model: "L-20".into(),
            lens: Some("L-20 wide".into()),
            focal_mm: Some(5.4),
        }
    }

    fn facts() -> PhotoFacts {
        PhotoFacts {
            make: Some("Larkspur".into()),
            model: Some("L-20".into()),
            lens: Some("L-20 wide".into()),
            focal_mm: Some(5.4),
            focal_35mm: None,
            width: 2112,
            height: 2816,
            stored_width: 2816,
            stored_height: 2112,
            orientation: 6,
            taken: None,
            has_gps: false,
            format: Format::Jpeg,
        }
    }

    #[test]
    fn another_camera_lens_zoom_or_size_does_not_fit() {
        assert!(fits(&profile(), &facts()));
        let other: [fn(&mut PhotoFacts); 5] = [
            |f| f.model = Some("L-30".into()),
            |f| f.make = None,
            |f| f.lens = Some("L-20 tele".into()),
            |f| f.focal_mm = Some(6.0),
            |f| f.stored_width = 4000,
        ];
        for change in other {
            let mut facts = facts();
            change(&mut facts);
            assert!(!fits(&profile(), &facts), "{facts:?}");
        }
        let mut silent = facts();
        silent.lens = None;
        silent.focal_mm = None;
        assert!(fits(&profile(), &silent));
    }

    #[test]
    fn a_kept_profile_is_found_again_and_replaced_by_a_newer_one() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(kept(&folder.path().join(FOLDER)).unwrap(), vec![]);
        let path = keep_profile(folder.path(), &profile()).unwrap();
        let mut newer = profile();
        newer.camera.intrinsics[0] = 2300.0;
        assert_eq!(keep_profile(folder.path(), &newer).unwrap(), path);
        keep_profile_if_new(folder.path(), &profile()).unwrap();
        let mut other = profile();
        other.lens = None;
        other.focal_mm = None;
        keep_profile(folder.path(), &other).unwrap();
        let kept = kept(&folder.path().join(FOLDER)).unwrap();
        assert_eq!(kept.len(), 2);
        assert_eq!(kept[0].1, newer);
        assert_eq!(kept[0].0, "larkspur-l-20-l-20-wide-5.40mm-2816x2112.json");
    }

    #[test]
    fn a_profile_of_no_camera_is_not_kept() {
        let folder = tempfile::tempdir().unwrap();
        let mut nameless = profile();
        nameless.make.clear();
        nameless.model.clear();
        assert!(keep_profile(folder.path(), &nameless).is_err());
    }
}
