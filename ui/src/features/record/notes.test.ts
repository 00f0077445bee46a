import { describe, expect, it } from "vitest";
import { formOf, notesOf } from "./notes";

const NOTES = {
  odometer_km: 412.5,
  technician: "Ada",
  parts: [{ count: 2, name: "belt 270-3M-15" }],
  torques: [{ screw: "pulley screws", newton_metres: 3.5, source: "maker's table" }],
  remarks: "",
};

describe("notes of a visit", () => {
  it("come back as they were written", () => {
    expect(notesOf(formOf(NOTES))).toEqual({ notes: NOTES, problems: {} });
  });

  it("take a comma in a number, and a torque without its source", () => {
    const { notes, problems } = notesOf({ ...formOf(NOTES), odometer: " 412,5 ", torques: "axle nut: 20 Nm" });
    expect(problems).toEqual({});
    expect(notes.odometer_km).toBe(412.5);
    expect(notes.torques).toEqual([{ screw: "axle nut", newton_metres: 20, source: "" }]);
  });

  it.each([
    ["odometer", "far"],
    ["odometer", "-3"],
    ["parts", "a belt"],
    ["torques", "tight"],
  ] as const)("say what is wrong with %s", (field, text) => {
    const { problems } = notesOf({ ...formOf(NOTES), [field]: text });
    expect(Object.keys(problems)).toEqual([field]);
  });
});
