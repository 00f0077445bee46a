import { describe, expect, it } from "vitest";
import type { CheckKind, CheckResult } from "../backend/types";
import { checkWords, mainOf, namedValue, othersOf, told, valueName } from "./checks";
import { words } from "../words/words.svelte";

const verdict = { state: "within", text: "", limit: 0.1, probability: 1 } as const;
const mm = (value: number) => ({ value, u95: 0.02, unit: "mm" });
const result = (check: CheckKind, values: CheckResult["values"]): CheckResult => ({ check, values, verdict, budget: [], photos: [], warnings: [] });

describe("how a check is told", () => {
  it("has words for every kind", () => {
    for (const kind of ["gap", "turn", "play", "part", "camera", "tension"] as const) expect(checkWords(kind).name).not.toBe("");
    expect(checkWords("weight" as CheckKind).name).toBe("Weight");
    expect(valueName("some_thing")).toBe("Some thing");
  });

  it("finds the number that stands for it, and the others in order", () => {
    const turn = result("turn", { axial_runout: mm(0.3), angles: [mm(1)], radial_runout: mm(0.36), eccentricity: mm(0.18), zeta: mm(1) });
    expect(mainOf(turn)?.name).toBe("radial_runout");
    expect(othersOf(turn).map((other) => other.name)).toEqual(["axial_runout", "eccentricity", "zeta"]);
    expect(mainOf(result("part", { inner_diameter: mm(22), width: mm(5) }))?.name).toBe("width");
    expect(mainOf(result("gap", { gap: [mm(1)] }))).toBeNull();
  });

  it("tells which way a belt runs off by words and not by a sign, in every language", () => {
    const offset = (value: number) => namedValue({ name: "belt_offset", quantity: mm(value) });
    expect(offset(0.29)).toEqual({ name: "Wheel pulley further outboard by", quantity: mm(0.29) });
    expect(offset(-0.29)).toEqual({ name: "Wheel pulley further inboard by", quantity: mm(0.29) });
    words.speak("de");
    expect(offset(-0.29)).toEqual({ name: "Rad-Riemenscheibe weiter innen um", quantity: mm(0.29) });
    words.speak("fr");
    expect(offset(-0.29)).toEqual({ name: "Poulie de roue plus à l'intérieur de", quantity: mm(0.29) });
    words.speak("en");
    // What has no other way keeps its sign.
    expect(namedValue({ name: "cx", quantity: mm(-0.29) }).quantity).toEqual(mm(-0.29));
  });

  it("gives each quantity its unit", () => {
    expect(told(mm(0.36), "mm")).toBe("0.360 ±\u00a00.020\u00a0mm");
    expect(told({ value: 63, u95: 4, unit: "deg" }, "mm")).toBe("63 ±\u00a04°");
    expect(told({ value: 0.2, u95: 0.004, unit: "px" }, "in")).toBe("0.200 ±\u00a00.004\u00a0px");
  });
});
