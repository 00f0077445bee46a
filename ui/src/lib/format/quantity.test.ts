import { describe, expect, it } from "vitest";
import { chance, decimalsFor, fixed, lengthText, plainLength, shown } from "./quantity";

/** With spaces at which no line ends in place of the sign ~. */
const tied = (text: string): string => text.replaceAll("~", "\u00a0");

describe("decimalsFor", () => {
  it.each([
    [0.05, 2],
    [0.042, 2],
    [0.012, 3],
    [0.03, 2],
    [0.029, 3],
    [0.3, 1],
    [1.4, 1],
    [12, 0],
    [0.00165, 3],
  ])("%f is shown with %i decimals", (u95, decimals) => {
    expect(decimalsFor(u95, 3)).toBe(decimals);
  });

  it("shows all it may where there is no uncertainty", () => {
    expect(decimalsFor(0, 3)).toBe(3);
    expect(decimalsFor(Number.NaN, 3)).toBe(3);
  });
});

describe("shown", () => {
  it("gives value and uncertainty the same decimals and never understates", () => {
    expect(shown(1.4231, 0.0512, 3)).toEqual({ value: "1.42", u95: "0.06" });
  });

  it("does not round up what is exact already", () => {
    expect(shown(1.4231, 0.05, 3)).toEqual({ value: "1.42", u95: "0.05" });
  });

  it("keeps two digits of an uncertainty that starts with 1 or 2", () => {
    expect(shown(1.4231, 0.0164, 3)).toEqual({ value: "1.423", u95: "0.017" });
  });
});

describe("lengthText", () => {
  it("says millimetres and inches", () => {
    expect(lengthText(1.42, 0.05, "mm")).toBe(tied("1.42 ±~0.05~mm"));
    // The same example as in the advice's own tests, so that both round alike.
    expect(lengthText(1.4217, 0.05, "mm")).toBe(tied("1.42 ±~0.05~mm"));
    expect(lengthText(1.4217, 0.05, "in")).toBe(tied("0.0560 ±~0.0020~in"));
  });

  it("uses a true minus sign", () => {
    expect(lengthText(-0.31, 0.05, "mm")).toBe(tied("\u22120.31 ±~0.05~mm"));
  });
});

describe("fixed", () => {
  it("has no negative zero", () => {
    expect(fixed(-0.0001, 2)).toBe("0.00");
  });
  it("shows what is not a number as a dash", () => {
    expect(fixed(Number.NaN, 2)).toBe("–");
  });
});

describe("plainLength and chance", () => {
  it("writes a ring's thickness", () => {
    expect(plainLength(11.1125, "mm")).toBe(tied("11.11~mm"));
    expect(plainLength(11.1125, "in")).toBe(tied("0.4375~in"));
  });
  it("never claims certainty", () => {
    expect(chance(0)).toBe("under 0.1 %");
    expect(chance(1)).toBe("over 99.9 %");
    expect(chance(0.034)).toBe(tied("3.4~%"));
    expect(chance(0.42)).toBe(tied("42~%"));
    expect(chance(0.9971)).toBe(tied("99.7~%"));
  });
});
