//! A kept camera profile is used by jobs that name none, and said to be.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod shop;

use serde_json::{Value, json};
use shop::Shop;

fn warnings(result: &Value) -> String {
    result["warnings"].to_string()
}

#[test]
fn a_job_without_a_profile_gets_the_kept_one_of_its_camera() {
    let shop = Shop::new();
    let mut job = shop.job();
    job.as_object_mut().unwrap().remove("camera");
    let path = shop.write_job(&job);
    let measure = ["measure".as_ref(), path.as_os_str(), "--json".as_ref()];
    let mut profile: Value =
        serde_json::from_slice(&std::fs::read(shop.path("camera.json")).unwrap()).unwrap();
    std::fs::create_dir_all(shop.path("history/cameras")).unwrap();
    // That of another camera is left alone.
    profile["make"] = json!("Larkspur");
    profile["model"] = json!("L-30");
    shop.write("history/cameras/other.json", profile.to_string().as_bytes());
    let without = shop.json(measure);
    assert!(warnings(&without).contains("no camera profile"), "{without}");
    profile["model"] = json!("L-20 Test");
    shop.write("history/cameras/mine.json", profile.to_string().as_bytes());
    let with = shop.json(measure);
    assert!(
        warnings(&with).contains("the kept camera profile mine.json was used"),
        "{with}"
    );
    assert!(!warnings(&with).contains("no camera profile"), "{with}");
}
