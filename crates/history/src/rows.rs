//! From rows to the shared types.

use crate::Error;
use shimwright_record::{Board, Corner, CornerState, Drive, DriveDescription, Located};
use sqlx::Row;
use sqlx::sqlite::SqliteRow;

/// A corner by its name.
pub(crate) fn corner(name: &str) -> Result<Corner, Error> {
    Corner::BOTH
        .into_iter()
        .find(|corner| corner.name() == name)
        .ok_or_else(|| Error::Damaged(format!("unknown corner {name:?}")))
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
        .ok_or_else(|| Error::Damaged(format!("unknown located part {name:?}")))
}

/// A drive from a row of `drives`.
pub(crate) fn drive(row: &SqliteRow) -> Result<Drive, Error> {
    Ok(Drive {
        rim_diameter: row.try_get("rim_diameter_mm")?,
        mount_chamfer: row.try_get("mount_chamfer_mm")?,
        rim_chamfer: row.try_get("rim_chamfer_mm")?,
        located: located(row.try_get("located")?)?,
        minimum_gap: row.try_get("minimum_gap_mm")?,
        motor_slide: [
            row.try_get("motor_slide_in_mm")?,
            row.try_get("motor_slide_out_mm")?,
        ],
        same_spacer_everywhere: row.try_get("same_spacer_everywhere")?,
        stack_limit: row.try_get("stack_limit")?,
        description: description(row.try_get("description")?)?,
    })
}

fn description(json: Option<String>) -> Result<Option<DriveDescription>, Error> {
    json.map(|json| serde_json::from_str(&json).map_err(Error::stored("drive description")))
        .transpose()
}

/// A corner's state from a row of `corners`.
pub(crate) fn corner_state(row: &SqliteRow) -> Result<CornerState, Error> {
    Ok(CornerState {
        spacer_label: row.try_get("spacer_label")?,
        spacer_thickness: row.try_get("spacer_thickness_mm")?,
        belt_offset: row.try_get("belt_offset_mm")?,
        belt_offset_u95: row.try_get("belt_offset_u95_mm")?,
    })
}

/// A board from a row of `boards` joined with `drives`, and its two corners.
pub(crate) fn board(row: &SqliteRow, corners: [CornerState; 2]) -> Result<Board, Error> {
    Ok(Board {
        id: row.try_get("id")?,
        name: row.try_get("name")?,
        owner: row.try_get("owner")?,
        notes: row.try_get("notes")?,
        drive: drive(row)?,
        corners,
    })
}
