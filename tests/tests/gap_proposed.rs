//! Edges of a gap proposed without a mark: where they are proposed they lie on the edges that are there, on rendered
//! pictures and on made-up scenes; where that is not clear, nothing is proposed.

use shimwright_camera::CameraProfile;
use shimwright_geom::{Vec2, Vec3};
use shimwright_measure::{Error, Kind, Silent, propose};
use shimwright_record::{Job, Proposal};
use shimwright_synth::{GapLimits, GapScene};
use shimwright_tests::made::{self, GapAsked};
use shimwright_tests::measured::with_input;
use shimwright_tests::rendered::{Marking, Truth, number};

/// A proposed mark lies on the edge within this, or on the other line of its chamfer, px: a hand is content with 3.
const NEAR: f64 = 5.0;

fn proposed(job: &Job, bytes: &[Vec<u8>], camera: &CameraProfile) -> Result<Proposal, Error> {
    with_input(job, bytes, Some(camera), |input| propose(input, &Silent))
}

fn without_marks(mut job: Job) -> Job {
    for photo in &mut job.photos {
        photo.marks.clear();
    }
    job
}

/// How far a mark lies from the nearest of some curves, px.
fn away(mark: &Vec2, curves: &[Vec<Vec2>]) -> f64 {
    let from = |piece: &[Vec2]| {
        let along = piece[1] - piece[0];
        let t = (mark - piece[0]).dot(&along) / along.norm_squared();
        (piece[0] + along * t.clamp(0.0, 1.0) - mark).norm()
    };
    let pieces = curves.iter().flat_map(|curve| curve.windows(2));
    pieces.map(from).fold(f64::INFINITY, f64::min)
}

/// Fails when a proposed mark does not lie on its edge; gives the quality of each edge, mount first. `truth` gives the
/// curves of both edges in a photo.
fn check(what: &str, proposal: &Proposal, truth: impl Fn(usize) -> [Vec<Vec<Vec2>>; 2]) -> [f64; 2] {
    for (k, photo) in proposal.photos.iter().enumerate() {
        let curves = truth(k);
        for (name, marks) in &photo.marks {
            for mark in marks {
                let edge = proposal
                    .edges
                    .iter()
                    .find(|edge| edge.mark == *name)
                    .expect("an edge");
                let away = away(
                    &Vec2::new(mark[0], mark[1]),
                    &curves[usize::from(name == "rim_edge")],
                );
                assert!(
                    away < NEAR,
                    "{what}, photo {k}: a mark of {edge:?} is {away:.1} px off"
                );
            }
        }
    }
    let quality = ["mount_edge", "rim_edge"].map(|name| {
        let edge = proposal.edges.iter().find(|edge| edge.mark == name);
        let marked = proposal.photos.iter().any(|photo| photo.marks.contains_key(name));
        assert_eq!(edge.is_some(), marked, "{what}: {name} in {:?}", proposal.edges);
        edge.map_or(0.0, |edge| edge.quality)
    });
    println!("{what}: mount's edge {:.2}, rim {:.2}", quality[0], quality[1]);
    quality
}

/// Places along the mount, mm; it is straight from the axle on, and round before it.
fn along_mount() -> impl Iterator<Item = f64> {
    (-15..=60).map(|i| 1.5 * f64::from(i))
}

/// Height of an edge of the mount that is `height` high where it is straight.
fn height_at(along: f64, height: f64) -> f64 {
    if along < 0.0 {
        (height * height - along * along).sqrt()
    } else {
        height
    }
}

#[test]
fn on_rendered_pictures() {
    let Some(truth) = Truth::load() else { return };
    let profile = CameraProfile::from_json(&truth.camera_profile()).expect("a profile");
    let mut quality = [0, 0];
    // A narrow gap, a wide one and one between them; the others come out alike and take as long.
    for case in ["g1", "g4", "g5"] {
        let ids = [1, 2, 3].map(|view| format!("{case}_v{view}"));
        let ids = ids.each_ref().map(String::as_str);
        let job = without_marks(truth.gap_job(&ids, &Marking::default()));
        let bytes: Vec<_> = ids.iter().map(|id| truth.bytes(id)).collect();
        let proposal = proposed(&job, &bytes, &profile).expect("the rim is seen");
        let found = check(case, &proposal, |k| {
            let see = |point: [f64; 3]| Vec2::from(truth.project(ids[k], &point));
            let edges = &truth.photo(ids[k])["scene"]["plate"]["top_edges_W"];
            let mount = ["plate_face_top_edge", "plate_top_surface_edge"].map(|name| {
                let (x, height) = (number(&edges[name][0][0]), number(&edges[name][0][2]));
                along_mount().map(|y| see([x, y, height_at(y, height)])).collect()
            });
            let face = truth.rim_points(ids[k], (0.0, 180.0), 181);
            let chamfer = number(&truth.photo(ids[k])["scene"]["flange"]["chamfer"]);
            let outer = face.iter().map(|[x, y, z]| {
                let grown = 1.0 + chamfer / y.hypot(*z);
                see([x + chamfer, y * grown, z * grown])
            });
            [
                mount.to_vec(),
                vec![face.iter().map(|p| see(*p)).collect(), outer.collect()],
            ]
        });
        for (count, found) in quality.iter_mut().zip(found) {
            *count += usize::from(found > 0.0);
        }
    }
    // Of the mount's edge only one is clear: elsewhere shadows and narrow gaps leave it open.
    assert!(quality[0] >= 1 && quality[1] == 3, "{quality:?}");
}

/// The curves of both edges in a photo of a made-up scene.
fn curves(scene: &GapScene, photo: usize) -> [Vec<Vec<Vec2>>; 2] {
    let (truth, shot) = (&scene.truth, &scene.shots[photo]);
    let (mount, rim) = (truth.mount_chamfer, truth.rim_chamfer);
    let height = truth.mount_edge[0].z;
    let line = |leg: f64| {
        let at = |y: f64| shot.project(&Vec3::new(-leg, y, height_at(y, height + leg)));
        along_mount().filter_map(at).collect()
    };
    let circle = |leg: f64| {
        let at = |degrees: i32| {
            let (sin, cos) = f64::from(degrees).to_radians().sin_cos();
            let radius = truth.face_radius + leg;
            shot.project(
                &truth
                    .world_from_rim
                    .point(&Vec3::new(radius * cos, radius * sin, leg)),
            )
        };
        (0..=180).filter_map(at).collect()
    };
    [vec![line(0.0), line(mount)], vec![circle(0.0), circle(rim)]]
}

/// `PROPOSED_JOBS` makes it more of them.
#[test]
fn in_made_up_scenes() {
    let jobs = std::env::var("PROPOSED_JOBS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(3);
    let mut found = [0, 0];
    for seed in 101..101 + jobs {
        let scene = made::gap_scene(seed, &GapLimits::default());
        let asked = GapAsked {
            chamfers: true,
            all_marked: false,
            mark_sigma: 3.0,
        };
        let made = made::gap_job(&scene, &asked, seed);
        let job = without_marks(made.job);
        let profile = made::profile(&scene.camera, seed);
        match proposed(&job, &made.photos, &profile) {
            Ok(proposal) => {
                let quality = check(&format!("seed {seed}"), &proposal, |k| curves(&scene, k));
                for (count, quality) in found.iter_mut().zip(quality) {
                    *count += u64::from(quality > 0.0);
                }
            }
            Err(error) => {
                println!("seed {seed}: {error}");
                assert_eq!(error.kind, Kind::NotMeasurable);
            }
        }
    }
    println!("proposed of {jobs}: mount's edge {}, rim {}", found[0], found[1]);
    assert!(2 * found[0] > jobs && 2 * found[1] > jobs, "{found:?}");
}

/// A rim that is not there is not found in what is.
#[test]
fn a_rim_of_another_size_is_not_proposed() {
    let Some(truth) = Truth::load() else { return };
    let profile = CameraProfile::from_json(&truth.camera_profile()).expect("a profile");
    let ids = ["g4_v1", "g4_v2", "g4_v3"];
    let mut job = without_marks(truth.gap_job(&ids, &Marking::default()));
    let bytes: Vec<_> = ids.iter().map(|id| truth.bytes(id)).collect();
    for diameter in [70.0, 130.0] {
        job.drive.as_mut().expect("a drive").rim_diameter = Some(diameter);
        let error = proposed(&job, &bytes, &profile).expect_err("no such rim");
        assert_eq!(error.kind, Kind::NotMeasurable, "{error}");
    }
    job.drive.as_mut().expect("a drive").rim_diameter = None;
    let error = proposed(&job, &bytes, &profile).expect_err("no diameter");
    assert_eq!(error.kind, Kind::BadInput);
    assert_eq!(error.subject.as_deref(), Some("drive.rim_diameter"));
}
