//! The tables with their columns, and what each means.

use super::{Column, Kind, Table};

const fn text(name: &'static str, about: &'static str) -> Column {
    Column {
        name,
        kind: Kind::Text,
        told_apart: true,
        may_be_none: false,
        about,
    }
}
const fn json(name: &'static str, about: &'static str) -> Column {
    Column {
        name,
        kind: Kind::Json,
        told_apart: true,
        may_be_none: false,
        about,
    }
}
const fn integer(name: &'static str, about: &'static str) -> Column {
    Column {
        name,
        kind: Kind::Integer,
        told_apart: true,
        may_be_none: false,
        about,
    }
}
const fn real(name: &'static str, about: &'static str) -> Column {
    Column {
        name,
        kind: Kind::Real,
        told_apart: true,
        may_be_none: false,
        about,
    }
}
/// A column of texts that may be none.
const fn none_or(column: Column) -> Column {
    Column {
        may_be_none: true,
        ..column
    }
}
/// A column in which two machines may differ without contradicting each other.
const fn own(column: Column) -> Column {
    Column {
        told_apart: false,
        ..column
    }
}

const ID: Column = text("id", "stable id (UUID version 7)");
const BOARD_ID: Column = text("board_id", "id of the board");
const CHECK_ID: Column = text("check_id", "id of the check");
const CORNER: Column = text(
    "corner",
    "left or right, seen from behind the board in riding direction",
);
const AT: Column = text("at", "when, as the user's clock showed it (RFC 3339)");
const AT_MS: Column = integer("at_ms", "the same moment in milliseconds since 1970-01-01 UTC");
const DELETED_AT: Column = own(none_or(text(
    "deleted_at",
    "when it was marked as deleted; empty when it was not",
)));

/// In the order in which rows may be added: what is named comes before what names it.
pub(crate) static TABLES: &[Table] = &[
    Table {
        name: "shop",
        keys: 1,
        about: "Who hands out records; one row.",
        columns: &[
            integer("id", "always 1"),
            text("name", "name of the shop"),
            text("address", "its address"),
            text("technician", "who signs"),
            own(text("changed_at", "when it was last changed")),
        ],
    },
    Table {
        name: "boards",
        keys: 1,
        about: "Boards.",
        columns: &[
            ID,
            text("name", "what the shop calls it"),
            text("owner", "who owns it"),
            text("notes", "free notes"),
            own(text("created_at", "when it was added (RFC 3339)")),
            own(text("changed_at", "when it was last changed (RFC 3339)")),
            DELETED_AT,
        ],
    },
    Table {
        name: "drives",
        keys: 1,
        about: "What is known of a board's drive, the same on both corners.",
        columns: &[
            BOARD_ID,
            real(
                "rim_diameter_mm",
                "outer diameter of the rim that faces the mount, mm",
            ),
            real(
                "mount_chamfer_mm",
                "chamfer leg of the mount's edge, mm; empty when not known",
            ),
            real(
                "rim_chamfer_mm",
                "chamfer leg of the rim's edge, mm; empty when not known",
            ),
            text(
                "located",
                "part that the axle holds in place: hub, pulley or wheel",
            ),
            real("minimum_gap_mm", "smallest gap that is allowed, mm"),
            real(
                "motor_slide_in_mm",
                "how far the motor pulley can slide inward (negative), mm",
            ),
            real(
                "motor_slide_out_mm",
                "how far the motor pulley can slide outward, mm",
            ),
            integer(
                "same_spacer_everywhere",
                "1 when all wheels must carry the same spacer, otherwise 0",
            ),
            integer("stack_limit", "how many spacers may be stacked"),
            json(
                "description",
                "teeth, belt, screws, masses (kg) and limits, as JSON; empty until described",
            ),
        ],
    },
    Table {
        name: "corners",
        keys: 2,
        about: "What is fitted at each corner now.",
        columns: &[
            BOARD_ID,
            CORNER,
            text("spacer_label", "label of the fitted spacer or stack"),
            real("spacer_thickness_mm", "its thickness, mm"),
            real(
                "belt_offset_mm",
                "belt offset, mm, positive when the driven pulley stands further outboard",
            ),
            real(
                "belt_offset_u95_mm",
                "expanded uncertainty (95 %) of the belt offset, mm",
            ),
        ],
    },
    Table {
        name: "spacer_stock",
        keys: 1,
        about: "Rings in the drawer. Every change of the stock marks the lines before it as deleted and adds new ones.",
        columns: &[
            ID,
            own(integer("position", "place in the list, from 0")),
            text("label", "what is written on the drawer"),
            real("thickness_mm", "measured thickness, mm"),
            real("u95_mm", "expanded uncertainty (95 %) of the thickness, mm"),
            integer("count", "how many are in the drawer, pieces"),
            own(text("changed_at", "when the line was written (RFC 3339)")),
            DELETED_AT,
        ],
    },
    Table {
        name: "visits",
        keys: 1,
        about: "What happened to a board on one day.",
        columns: &[
            ID,
            BOARD_ID,
            text("day", "the day as the user's clock showed it"),
            own(text("opened_at", "when the visit began (RFC 3339)")),
            DELETED_AT,
        ],
    },
    Table {
        name: "visit_notes",
        keys: 1,
        about: "What was written down of visits. A correction is a new row; the newest one counts.",
        columns: &[
            ID,
            text("visit_id", "id of the visit"),
            json(
                "notes",
                "odometer (km), technician, parts, torques (N m), remarks, as JSON",
            ),
            AT,
            AT_MS,
        ],
    },
    Table {
        name: "service_done",
        keys: 1,
        about: "Service checks that were done by hand.",
        columns: &[
            ID,
            BOARD_ID,
            text("check_name", "which check"),
            text("day", "the day that the person names"),
            real("odometer_km", "odometer, km; empty when not read"),
            text("note", "what was found"),
            AT,
            AT_MS,
            DELETED_AT,
        ],
    },
    Table {
        name: "checks",
        keys: 1,
        about: "Measurements with all that went into them.",
        columns: &[
            ID,
            text("visit_id", "id of the visit"),
            BOARD_ID,
            CORNER,
            text("kind", "what was measured: gap, turn, part, play and others"),
            AT,
            AT_MS,
            json("board", "the board as it was then, as JSON; lengths mm"),
            json(
                "job",
                "what was asked, as JSON; lengths mm, angles degrees, marks in pixels",
            ),
            json("camera", "camera profile that was used, as JSON; lengths px"),
            json(
                "result",
                "values with unit and expanded uncertainty (95 %), verdict, budget, as JSON",
            ),
            text("program", "version of the program that measured"),
            DELETED_AT,
        ],
    },
    Table {
        name: "advice",
        keys: 1,
        about: "Advice that was given with a check.",
        columns: &[
            ID,
            CHECK_ID,
            json("question", "what it was asked with, as JSON; lengths mm"),
            json("answer", "the advice, as JSON; lengths mm"),
        ],
    },
    Table {
        name: "work_done",
        keys: 1,
        about: "What was done about a check. A correction is a new row; the newest one counts.",
        columns: &[ID, CHECK_ID, text("text", "what was done"), AT, AT_MS],
    },
    Table {
        name: "photos",
        keys: 1,
        about: "Photos; the unchanged files lie under their SHA-256.",
        columns: &[
            text("sha256", "SHA-256 of the file, in hexadecimal: its name"),
            own(integer(
                "bytes",
                "size of the file when it was first stored, bytes",
            )),
            own(json(
                "facts",
                "size (px), camera, lens and focal length (mm) as the file tells them, as JSON",
            )),
            own(text("stored_at", "when it was stored (RFC 3339)")),
        ],
    },
    Table {
        name: "check_photos",
        keys: 2,
        about: "Which photos a check was measured from.",
        columns: &[
            CHECK_ID,
            integer("position", "place in the job, from 0"),
            text("sha256", "SHA-256 of the photo"),
            text("name", "its original file name"),
        ],
    },
    Table {
        name: "seals",
        keys: 2,
        about: "Sealed records of a board, each naming the seal before it.",
        columns: &[
            BOARD_ID,
            integer("number", "its number among the board's sealed records, from 1"),
            text("visit_id", "id of the visit"),
            text("seal", "SHA-256 of the record's manifest"),
            none_or(text(
                "previous",
                "seal of the record before it; empty for the first",
            )),
            text("fingerprint", "SHA-256 of its evidence"),
            text("form", "how it was made, as text"),
            AT,
        ],
    },
];
