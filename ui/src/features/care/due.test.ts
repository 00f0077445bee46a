import { describe, expect, it } from "vitest";
import type { Due } from "../../lib/backend";
import { dueText } from "./due";

const due = (change: Partial<Due>): Due => ({ state: "later", day: null, days_left: null, odometer_km: null, km_left: null, ...change });

describe("dueText", () => {
  it("is empty where nothing is known", () => expect(dueText(due({}))).toBe(""));

  it("tells days to come and days gone by", () => {
    expect(dueText(due({ day: "2026-05-13", days_left: 60 }))).toBe("13 May 2026, in 60 days");
    expect(dueText(due({ day: "2026-05-13", days_left: 0 }))).toBe("13 May 2026, today");
    expect(dueText(due({ day: "2026-05-13", days_left: -3 }))).toBe("13 May 2026, 3 days ago");
  });

  it("tells kilometres beside days", () => {
    expect(dueText(due({ odometer_km: 840, km_left: 200 }))).toBe("at 840 km, in 200 km");
    expect(dueText(due({ day: "2026-05-13", odometer_km: 840, km_left: -15 }))).toBe("13 May 2026 or at 840 km, 15 km ago");
  });
});
