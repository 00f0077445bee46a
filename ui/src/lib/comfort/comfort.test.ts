import { describe, expect, it } from "vitest";
import { readComfort } from "./comfort.svelte";

const USUAL = { theme: "device", text: 100, hand: "right" };

describe("comfort", () => {
  it("comes back as it was kept", () => {
    expect(readComfort('{"theme":"sunlight","text":150,"hand":"left"}')).toEqual({ theme: "sunlight", text: 150, hand: "left" });
  });

  it.each([null, "", "null", "not json", '{"theme":"plaid","text":3}', "[]"])("%s gives the usual", (text) => {
    expect(readComfort(text)).toEqual(USUAL);
  });
});
