//! How each photo alone has the turning target standing off the axis, and what its pattern over the photos means.

use super::{TurnPriors, TurnProblem, TurnState, Wobble};
use crate::{CornerSight, Error, Options};
use nalgebra::{DMatrix, DVector, SMatrix, SVector};

/// Shift across (2) and along the axis, mm, and lean about the axis frame's x and y, rad: in the axis frame.
const OFF: usize = 5;
/// Standard deviations allowed for a photo alone: wide enough for anything that holds together.
const LOOSE: [f64; 3] = [5.0, 5.0, 0.2];

/// How one photo, by itself, has the turning target standing against the axis that all photos share.
#[derive(Clone, Debug)]
pub struct Standing {
    /// Shift x, y, z (mm) and lean about x and y (rad) in the axis frame.
    pub off: SVector<f64, OFF>,
    /// Its covariance.
    pub covariance: SMatrix<f64, OFF, OFF>,
    /// Angle of the wheel, rad.
    pub angle: f64,
}

impl Standing {
    /// Solves one photo alone, lens, prints and axis held as a solution has them.
    ///
    /// # Errors
    /// As [`crate::solve`].
    pub fn of(problem: &TurnProblem, state: &TurnState, photo: usize) -> Result<Self, Error> {
        let alone = |sights: &[CornerSight]| -> Vec<CornerSight> {
            let own = sights.iter().filter(|s| s.photo == photo);
            own.map(|s| CornerSight { photo: 0, ..*s }).collect()
        };
        let (fixed, turning) = (alone(problem.fixed), alone(problem.turning));
        let mut start = state.clone();
        start.photos = vec![state.photos[photo]];
        start.photos[0].wobble = Wobble::none();
        start.rim = None;
        let priors = TurnPriors {
            hold_shared: true,
            wobble_sigma: LOOSE,
            ..problem.priors.clone()
        };
        let one = TurnProblem {
            fixed: &fixed,
            turning: &turning,
            rim: &[],
            priors: &priors,
            photos: 1,
            has_rim: false,
            wobbles: true,
            ..*problem
        };
        let options = Options {
            iterations: 20,
            relative_fall: 1e-8,
        };
        let found = one.solve(start, &options)?;
        let covariance = found.covariance()?;
        let wobble = &found.state.photos[0].wobble;
        let (shift, lean) = (wobble.shift(), wobble.lean());
        let at = one.wobble_at(0);
        Ok(Self {
            off: SVector::from([shift.x, shift.y, shift.z, lean.x, lean.y]),
            covariance: covariance.fixed_view::<OFF, OFF>(at, at).into_owned(),
            angle: found.state.photos[0].angle,
        })
    }
}

/// What came loose between two photos.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Loose {
    /// The fixed target, or the part it is on.
    Fixed,
    /// The turning target on its wheel.
    Turning,
}

/// A target that stands elsewhere from one photo on.
#[derive(Clone, Copy, Debug)]
pub struct Slip {
    /// Index of the first photo after it.
    pub from: usize,
    /// Which target.
    pub what: Loose,
    /// How far it shifted, mm.
    pub shift: f64,
    /// How far it leaned, rad.
    pub lean: f64,
    /// By how much the misfit (chi-squared) falls when it is allowed for.
    pub explains: f64,
}

/// How steadily the wheel turned about one axis.
#[derive(Clone, Debug)]
pub struct Steadiness {
    /// Sum of squared misfits against one axis, each over its variance.
    pub misfit: f64,
    /// Degrees of freedom: what the misfit is on average when only noise is at work.
    pub freedom: f64,
    /// Root mean square shift of the wheel across the axis beyond what noise makes, mm; 0 when noise explains it.
    pub across: f64,
    /// The same along the axis, mm.
    pub along: f64,
    /// The same of its lean, rad.
    pub lean: f64,
    /// The slip that explains most.
    pub slip: Option<Slip>,
}

impl Steadiness {
    /// Whether noise alone makes such a misfit (chi-squared within 3.3 standard deviations of its mean, 99.9 %).
    pub fn is_noise(&self) -> bool {
        self.misfit <= self.freedom + 3.3 * (2.0 * self.freedom).sqrt()
    }
}

/// Judges the standings of all photos, in the order in which they were taken. `None` when the photos are too few to tell.
///
/// The shared axis is fitted anew to the standings (five numbers in the fixed frame, four in the turning one); a slip adds
/// a jump of five more from some photo on, which stands still in the frame of the target that slipped.
pub fn steadiness(standings: &[Standing]) -> Option<Steadiness> {
    let count = standings.len();
    if count < 4 {
        return None;
    }
    let none = Regression::of(standings, None)?;
    let freedom = (OFF * count) as f64 - none.rank;
    let slips = (1..count).flat_map(|from| [Loose::Fixed, Loose::Turning].map(|what| (from, what)));
    let slip = slips
        .filter_map(|(from, what)| {
            let with = Regression::of(standings, Some((from, what)))?;
            let jump = with.parameters.rows(with.parameters.len() - OFF, OFF);
            Some(Slip {
                from,
                what,
                shift: jump.rows(0, 3).norm(),
                lean: jump.rows(3, 2).norm(),
                explains: none.misfit - with.misfit,
            })
        })
        .max_by(|a, b| a.explains.total_cmp(&b.explains));
    let beyond = |pick: &[usize]| {
        let share = freedom / (OFF * count) as f64;
        let excess: f64 = (0..count)
            .flat_map(|i| pick.iter().map(move |&k| (i, k)))
            .map(|(i, k)| none.left[OFF * i + k].powi(2) / share - standings[i].covariance[(k, k)])
            .sum();
        (excess / count as f64).max(0.0).sqrt()
    };
    let mut found = Steadiness {
        misfit: none.misfit,
        freedom,
        across: 0.0,
        along: 0.0,
        lean: 0.0,
        slip,
    };
    if !found.is_noise() {
        (found.across, found.along, found.lean) = (beyond(&[0, 1]), beyond(&[2]), beyond(&[3, 4]));
    }
    Some(found)
}

/// The standings fitted by an axis of their own, and perhaps a jump.
struct Regression {
    parameters: DVector<f64>,
    /// What is left of each standing.
    left: DVector<f64>,
    misfit: f64,
    rank: f64,
}

impl Regression {
    fn of(standings: &[Standing], jump: Option<(usize, Loose)>) -> Option<Self> {
        let (axis, rows) = (9, OFF * standings.len());
        let size = axis + if jump.is_some() { OFF } else { 0 };
        let mut design = DMatrix::<f64>::zeros(rows, size);
        let mut normal = DMatrix::<f64>::zeros(size, size);
        let mut right = DVector::<f64>::zeros(size);
        for (i, standing) in standings.iter().enumerate() {
            let turned = turned(standing.angle);
            let mut own = DMatrix::<f64>::zeros(OFF, size);
            own.view_mut((0, 0), (OFF, OFF)).fill_with_identity();
            for (column, k) in [0, 1, 3, 4].into_iter().enumerate() {
                own.set_column(OFF + column, &turned.column(k));
            }
            if let Some((from, what)) = jump.filter(|(from, _)| i >= *from) {
                debug_assert!(from > 0);
                let block = match what {
                    Loose::Fixed => SMatrix::<f64, OFF, OFF>::identity(),
                    Loose::Turning => turned,
                };
                own.view_mut((0, axis), (OFF, OFF)).copy_from(&block);
            }
            let weight = standing.covariance.try_inverse()?;
            normal += own.transpose() * weight * &own;
            right += own.transpose() * weight * standing.off;
            design.view_mut((OFF * i, 0), (OFF, size)).copy_from(&own);
        }
        // A jump before the last photo may look like an axis; the pseudo-inverse leaves such combinations at zero.
        let scale = normal
            .diagonal()
            .map(|d| if d > 0.0 { 1.0 / d.sqrt() } else { 0.0 });
        let scaled = DMatrix::from_fn(size, size, |i, j| normal[(i, j)] * scale[i] * scale[j]);
        let eigen = scaled.symmetric_eigen();
        let mut parameters = DVector::zeros(size);
        let mut rank = 0.0;
        for k in (0..size).filter(|&k| eigen.eigenvalues[k] > 1e-6) {
            let vector = eigen.eigenvectors.column(k);
            let along = vector.dot(&right.component_mul(&scale)) / eigen.eigenvalues[k];
            parameters += (vector * along).component_mul(&scale);
            rank += 1.0;
        }
        let all = DVector::from_iterator(rows, standings.iter().flat_map(|s| s.off.iter().copied()));
        let left = all - design * &parameters;
        let mut misfit = 0.0;
        for (i, standing) in standings.iter().enumerate() {
            let own: SVector<f64, OFF> = left.fixed_rows::<OFF>(OFF * i).into_owned();
            misfit += (own.transpose() * standing.covariance.try_inverse()? * own)[(0, 0)];
        }
        Some(Self {
            parameters,
            left,
            misfit,
            rank,
        })
    }
}

/// How an offset that stands still in the turning frame shows in the axis frame with the wheel at an angle.
fn turned(angle: f64) -> SMatrix<f64, OFF, OFF> {
    let (sin, cos) = angle.sin_cos();
    let mut turned = SMatrix::<f64, OFF, OFF>::identity();
    for k in [0, 3] {
        turned[(k, k)] = cos;
        turned[(k, k + 1)] = -sin;
        turned[(k + 1, k)] = sin;
        turned[(k + 1, k + 1)] = cos;
    }
    turned
}
