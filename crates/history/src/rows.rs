//! From rows to the shared types.

use crate::Error;
use crate::database::Row;
use shimwright_record::{Board, Corner, CornerState, Drive, DriveDescription, Located};

/// A corner by its name.
pub(crate) fn corner(name: &str) -> Result<Corner, Error> {
    Corner::BOTH
        .into_iter()
        .find(|corner| corner.name() == name)
        .ok_or_else(|| Error::damaged(format!("unknown corner {name:?}")))
}

/// A number of pieces.
pub(crate) fn count(number: i64) -> Result<u32, Error> {
    u32::try_from(number).map_err(|_| Error::damaged(format!("a count of {number}")))
}

/// The name under which the located part is stored.
pub(crate) fn located_name(located: Located) -> &'static str {
    match located {
        Located::Hub => "hub",
        Located::Pulley => "pulley",
        Located::Wheel => "wheel",
    }
}

fn located(name: &str) -> Result<Located, Error> {
    [Located::Hub, Located::Pulley, Located::Wheel]
        .into_iter()
        .find(|located| located_name(*located) == name)
        .ok_or_else(|| Error::damaged(format!("unknown located part {name:?}")))
}

/// A drive from a row of `drives`.
pub(crate) fn drive(row: &Row) -> Result<Drive, Error> {
    Ok(Drive {
        rim_diameter: row.get("rim_diameter_mm")?,
        mount_chamfer: row.get("mount_chamfer_mm")?,
        rim_chamfer: row.get("rim_chamfer_mm")?,
        located: located(row.get("located")?)?,
        minimum_gap: row.get("minimum_gap_mm")?,
        motor_slide: [row.get("motor_slide_in_mm")?, row.get("motor_slide_out_mm")?],
        same_spacer_everywhere: row.get::<i64>("same_spacer_everywhere")? != 0,
        stack_limit: count(row.get("stack_limit")?)?,
        description: description(row.get("description")?)?,
    })
}

fn description(json: Option<String>) -> Result<Option<DriveDescription>, Error> {
    json.map(|json| serde_json::from_str(&json).map_err(Error::stored("drive description")))
        .transpose()
}

/// A corner's state from a row of `corners`.
pub(crate) fn corner_state(row: &Row) -> Result<CornerState, Error> {
    Ok(CornerState {
        spacer_label: row.get("spacer_label")?,
        spacer_thickness: row.get("spacer_thickness_mm")?,
        belt_offset: row.get("belt_offset_mm")?,
        belt_offset_u95: row.get("belt_offset_u95_mm")?,
    })
}

/// A board from a row of `boards` joined with `drives`, and its two corners.
pub(crate) fn board(row: &Row, corners: [CornerState; 2]) -> Result<Board, Error> {
    Ok(Board {
        id: row.get("id")?,
        name: row.get("name")?,
        owner: row.get("owner")?,
        notes: row.get("notes")?,
        drive: drive(row)?,
        corners,
    })
}
