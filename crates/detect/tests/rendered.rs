//! Tags and targets in rendered photographs with known truth.

mod support;

use shimwright_detect::{TagParams, TargetParams, find_tags, find_target};
use shimwright_target::TargetSet;
use support::Truth;

#[test]
fn corners_lie_where_the_truth_says() {
    let Some(truth) = Truth::dev() else { return };
    let targets = TargetSet::built_in();
    for photo in truth.photos() {
        let picture = photo.grey();
        let start = support::cpu_ms();
        let tags = find_tags(&picture, &TagParams::default());
        let tag_time = support::cpu_ms() - start;
        for (key, name) in photo.targets() {
            let target = targets.by_name(name).unwrap();
            let start = support::cpu_ms();
            let found = find_target(&picture, &tags, target, &TargetParams::default());
            let time = support::cpu_ms() - start;
            let Some(found) = found else {
                println!("{:10} {name:11} tags {:2} NOT FOUND", photo.id(), tags.len());
                continue;
            };
            let (mut xx, mut worst, mut z, mut mx, mut my) = (0.0, 0.0f64, 0.0, 0.0, 0.0);
            for c in &found.corners {
                let e = c.at - photo.project(key, &c.place);
                xx += e.norm_squared() / 2.0;
                worst = worst.max(e.norm());
                z += e.norm_squared() / 2.0 / c.sigma_px.powi(2);
                mx += e.x;
                my += e.y;
                if std::env::var("DUMP").is_ok() {
                    println!(
                        "D {} {key} {} {} {} {} {} {} {} {}",
                        photo.id(),
                        c.index,
                        c.place.x,
                        c.place.y,
                        c.at.x,
                        c.at.y,
                        e.x,
                        e.y,
                        c.sigma_px
                    );
                }
            }
            let n = found.corners.len() as f64;
            println!(
                "{:10} {name:11} tags {:2}/{:2} corners {:2}/{:2} rms {:.3} worst {:.3} z2 {:6.2} mean {:+.3} {:+.3} blur {:.2} tags {:3} ms fit {:3} ms",
                photo.id(),
                found.tags.len(),
                target.tags().len(),
                found.corners.len(),
                photo.in_view(key, target),
                (xx / n).sqrt(),
                worst,
                z / n,
                mx / n,
                my / n,
                found.blur_px().unwrap_or(0.0),
                tag_time as u32,
                time as u32
            );
        }
        if photo.targets().is_empty() {
            println!("{:10} no target: {} tags", photo.id(), tags.len());
        }
    }
}
