import { describe, expect, it } from "vitest";
import { foundWords, hasCard, photosWanted } from "./photos";

describe("photos", () => {
  it("says what is still wanted for each number", () => {
    const words = [0, 1, 2, 3].map(photosWanted);
    expect(new Set(words).size).toBe(4);
    expect(photosWanted(7)).toBe(photosWanted(3));
  });

  it("names what was found", () => {
    const found = { name: "mount-card", corners: 13, of: 14, drawn: [] };
    expect(foundWords(found)).toBe("Mount card: 13 of 14 corners");
    const photo = { id: "a", name: "a.jpg", width: 10, height: 10, camera: "", notes: [], found: [found] };
    expect(hasCard(photo)).toBe(true);
    expect(hasCard({ ...photo, found: [] })).toBe(false);
  });
});
