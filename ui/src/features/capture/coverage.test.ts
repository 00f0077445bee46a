import { describe, expect, it } from "vitest";
import type { PhotoAdded } from "../../lib/backend";
import { coveredSectors, SECTORS, turnWanted } from "./coverage";

const photo = (wheel_angle?: number): PhotoAdded => ({
  id: String(wheel_angle),
  name: "a.jpg",
  width: 1,
  height: 1,
  camera: "",
  found: [],
  notes: [],
  wheel_angle,
});
const turn = (count: number): PhotoAdded[] => Array.from({ length: count }, (_, i) => photo((i * 360) / count));

describe("a turn's coverage", () => {
  it("counts the eighths that have a photo", () => {
    expect(coveredSectors([photo(0), photo(44), photo(46), photo(359.9), photo(360), photo()])).toEqual([
      true, true, false, false, false, false, false, true,
    ]);
    expect(coveredSectors(turn(12)).filter(Boolean)).toHaveLength(SECTORS);
  });

  it("asks for what is missing, and stops asking", () => {
    const words = [[], [photo()], turn(3), [1, 2, 3, 4, 5].map((n) => photo(n)), turn(7), turn(12)].map(turnWanted);
    expect(new Set(words).size).toBe(6);
    expect(turnWanted(turn(20))).toBe(turnWanted(turn(12)));
  });
});
