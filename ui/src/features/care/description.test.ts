import { describe, expect, it } from "vitest";
import type { DriveDescription } from "../../lib/backend";
import recorded from "../../lib/backend/recorded/care.json";
import { descriptionEntry, descriptionOf, descriptionProblems, NEW_CLEARANCE } from "./description";

const STARTING = recorded.form.starting as DriveDescription;
const CLASSES = ["pulley-screws", "axle-nut"];

describe("description form", () => {
  it("gives back the description it was filled from", () => {
    const full: DriveDescription = {
      ...STARTING,
      centre_distance: 112.5,
      flanges: "inner",
      torques: [{ class: "pulley-screws", torque: 1.2, source: "maker's manual, page 12" }],
      clearances: [
        { name: "tyre to hanger", corner: "right", value: 3.1, u95: 0.2, spacer_thickness: 11.1, per_spacer: -1, minimum: 2 },
      ],
    };
    for (const description of [STARTING, full]) {
      const entry = descriptionEntry(description, CLASSES);
      expect(descriptionProblems(entry)).toEqual({});
      expect(descriptionOf(entry)).toEqual(description);
    }
  });

  it("has a field for everything that the workshop explains", () => {
    const entry = descriptionEntry(STARTING, CLASSES);
    const there = [...Object.keys(entry.numbers), "flanges", "screw_size", "torques", "clearances"];
    expect(there.sort()).toEqual(recorded.form.fields.map((field) => field.field).sort());
  });

  it("keeps a torque whose class the table no longer knows", () => {
    const odd = { ...STARTING, torques: [{ class: "old-screws", torque: 2, source: "manual" }] };
    expect(descriptionOf(descriptionEntry(odd, CLASSES)).torques).toEqual(odd.torques);
  });

  it("names what cannot be read", () => {
    const entry = descriptionEntry(STARTING, CLASSES);
    entry.numbers.motor_teeth = "15.5";
    entry.numbers.pitch = "";
    entry.numbers.screw_hole = "wide";
    entry.torques["axle-nut"] = { torque: "9", source: " " };
    entry.clearances.push({ ...NEW_CLEARANCE });
    expect(Object.keys(descriptionProblems(entry)).sort()).toEqual(
      ["minimum 0", "motor_teeth", "name 0", "pitch", "screw_hole", "source axle-nut", "spacer 0", "value 0"].sort(),
    );
  });
});
