import { describe, expect, it } from "vitest";
import { alignmentWanted, cameraWanted, foundWords, missingTargets, partWanted, photosWanted, playWanted } from "./photos";

describe("photos", () => {
  it("says what is still wanted for each number", () => {
    const words = [0, 1, 2, 3].map(photosWanted);
    expect(new Set(words).size).toBe(4);
    expect(photosWanted(7)).toBe(photosWanted(3));
  });

  it.each([
    [playWanted, 3],
    [alignmentWanted, 4],
    [partWanted, 4],
    [cameraWanted, 5],
  ])("%o stops asking in the end", (wanted, different) => {
    expect(new Set([0, 1, 2, 3, 8, 9, 20].map(wanted)).size).toBe(different);
    expect(wanted(20)).toBe(wanted(9));
  });

  it("names what was found", () => {
    const found = { name: "mount-card", corners: 13, of: 14, drawn: [] };
    expect(foundWords(found)).toBe("Mount card: 13 of 14 corners");
    const photo = { id: "a", name: "a.jpg", width: 10, height: 10, camera: "", notes: [], found: [found] };
    expect(missingTargets(photo, ["mount-card", "hub-ring"])).toEqual(["hub-ring"]);
    expect(missingTargets({ ...photo, found: [] }, ["mount-card"])).toEqual(["mount-card"]);
  });
});
