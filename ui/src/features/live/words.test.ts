import { describe, expect, test } from "vitest";
import type { Look, Standing, Trouble } from "../../lib/backend";
import { hint, troubleWords } from "./words";

const look = (standing: Standing, ...troubles: Trouble[]): Look => ({
  drawn: [],
  troubles,
  judged: { take: false, standing, covered: [], taken: 1, enough: 3 },
});

describe("what is said behind the phone", () => {
  test("the first trouble is told, until there are photos enough", () => {
    const glare: Trouble = { code: "glare", target: "hub-ring", share: 0.4 };
    expect(hint(look({ is: "troubled" }, { code: "dark", level: 20, limit: 60 }, glare))).toBe("Too dark: more light.");
    expect(hint(look({ is: "enough" }, glare))).toBe("That is enough.");
  });

  test("with nothing wrong it says what is new or still to wait for", () => {
    expect(hint(look({ is: "same-side", way: "left" }))).toBe("Now one from further left.");
    expect(hint(look({ is: "moving" }))).toBe("Hold still.");
    expect(hint(null)).toMatch(/camera/);
  });

  test("targets go by the names that the printed pages have", () => {
    expect(troubleWords({ code: "wrong-target", seen: "bench-sheet", wanted: "mount-card" })).toBe("This is the bench sheet; the mount card is wanted.");
  });
});
