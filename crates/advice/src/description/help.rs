//! What each field of a drive's description means, in plain words.

/// A field, for forms and `--help`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FieldHelp {
    /// Its name in files.
    pub field: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// Its unit; empty for a count, a word or a list.
    pub unit: &'static str,
    /// How to find it out.
    pub help: &'static str,
}

/// The fields in the order of a form.
pub fn description_help() -> &'static [FieldHelp] {
    FIELDS
}

const fn field(
    field: &'static str,
    label: &'static str,
    unit: &'static str,
    help: &'static str,
) -> FieldHelp {
    FieldHelp {
        field,
        label,
        unit,
        help,
    }
}

const FIELDS: &[FieldHelp] = &[
    field(
        "motor_teeth",
        "Teeth of the motor pulley",
        "",
        "Count them; mark one with a pencil first.",
    ),
    field(
        "wheel_teeth",
        "Teeth of the wheel pulley",
        "",
        "Count them; mark one with a pencil first.",
    ),
    field(
        "pitch",
        "Tooth pitch",
        "mm",
        "Printed on the belt's back, or the length of ten teeth divided by ten. 3, 5 and 8 are common.",
    ),
    field(
        "belt_teeth",
        "Teeth of the belt",
        "",
        "Printed on the belt's back, or its length divided by the pitch.",
    ),
    field(
        "belt_width",
        "Width of the belt",
        "mm",
        "Callipers across the belt.",
    ),
    field(
        "centre_distance",
        "Distance between the axes",
        "mm",
        "From the middle of the motor's shaft to the middle of the axle. Leave it out and the belt's length says it.",
    ),
    field(
        "pulley_width",
        "Width of the tooth faces",
        "mm",
        "Callipers between the flanges of the narrower pulley.",
    ),
    field(
        "flanges",
        "Flanges of the motor pulley",
        "",
        "none, inner (beside the mount), outer, or both: where it has a raised edge that keeps the belt on.",
    ),
    field(
        "pulley_screws",
        "Screws of the wheel pulley",
        "",
        "How many screws hold the wheel pulley to its hub, evenly around: 3 to 8.",
    ),
    field(
        "screw_size",
        "Size of these screws",
        "",
        "M3, M4, M5, M6 or M8: callipers across the thread.",
    ),
    field(
        "screw_hole",
        "Hole they pass through",
        "mm",
        "Callipers in the hole. Leave it out and the medium series of ISO 273 is taken (4.5 for M4).",
    ),
    field(
        "register_clearance",
        "Play of boss or jig",
        "mm",
        "Bore of the pulley less the boss or jig that centres it, on the diameter. Leave it out when nothing centres it.",
    ),
    field(
        "screw_1_angle",
        "Direction of screw 1",
        "°",
        "In the hub ring's frame, counter-clockwise from its x axis, seen from its printed side. A turn check in which the \
         screw is marked goes before this.",
    ),
    field(
        "eccentricity_limit",
        "Eccentricity to leave alone",
        "mm",
        "Half the radial run-out that you accept. 0.05 is a starting value, no source.",
    ),
    field(
        "axial_runout_limit",
        "Axial run-out to accept",
        "mm",
        "Leave it out and the published limit for the pulley's diameter is taken.",
    ),
    field(
        "alignment_limit",
        "Misalignment to accept",
        "°",
        "Offset and angle of the belt together. 0.25 is a belt maker's limit for synchronous belts.",
    ),
    field(
        "wheel_diameter",
        "Diameter of the wheel",
        "mm",
        "Over the tyre, unloaded.",
    ),
    field(
        "wheel_mass",
        "Mass of the wheel",
        "kg",
        "Weigh it with pulley and tyre.",
    ),
    field(
        "pulley_mass",
        "Mass of the wheel pulley",
        "kg",
        "Weigh it when it is off; otherwise leave the starting value.",
    ),
    field(
        "belt_stiffness",
        "Stiffness of the belt",
        "N/mm",
        "How much its pull grows for each mm that its path grows, from the belt's maker. Leave it out when not known.",
    ),
    field(
        "torques",
        "Torques of your board's maker",
        "",
        "A list of class (as `shimwright advise torque` names them), torque in N m, and where it stands.",
    ),
    field(
        "clearances",
        "Other clearances",
        "",
        "Places besides the gap that come closer with another spacer, such as tyre to hanger: measured with callipers, with \
         the spacer fitted then, 1, 0 or -1 for growing, staying or shrinking with a thicker spacer, and the least you \
         allow.",
    ),
];

#[cfg(test)]
mod tests {
    use super::*;
    use shimwright_record::DriveDescription;
    use std::collections::BTreeSet;

    #[test]
    fn every_field_is_explained_once() {
        let json = serde_json::to_value(DriveDescription::default()).unwrap();
        let fields: BTreeSet<&str> = json.as_object().unwrap().keys().map(String::as_str).collect();
        let explained: BTreeSet<&str> = FIELDS.iter().map(|help| help.field).collect();
        assert_eq!(fields, explained);
        assert_eq!(FIELDS.len(), explained.len());
        assert!(
            FIELDS
                .iter()
                .all(|help| help.help.ends_with('.') && !help.label.is_empty())
        );
    }
}
