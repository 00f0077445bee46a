import { describe, expect, it } from "vitest";
import { driveEntry, driveProblems, jobDrive } from "./drive";

const drive = {
  rim_diameter: 99,
  mount_chamfer: null,
  rim_chamfer: 0.1,
  located: "wheel",
  minimum_gap: 0.5,
  motor_slide: [-0.5, 0.5],
  same_spacer_everywhere: true,
  stack_limit: 1,
} as const;

describe("drive entry", () => {
  it("leaves out what nobody knows", () => {
    const entry = driveEntry({ ...drive, motor_slide: [-0.5, 0.5] });
    expect(entry.mountChamfer).toBe("");
    expect(driveProblems(entry)).toEqual({});
    expect(JSON.parse(JSON.stringify(jobDrive(entry)))).toEqual({ rim_diameter: 99, rim_chamfer: 0.1, minimum_gap: 0.5 });
  });

  it("names each size that cannot be right", () => {
    const problems = driveProblems({ rimDiameter: "9", mountChamfer: "x", rimChamfer: "", minimumGap: "" });
    expect(Object.keys(problems).sort()).toEqual(["minimumGap", "mountChamfer", "rimDiameter"]);
  });
});
