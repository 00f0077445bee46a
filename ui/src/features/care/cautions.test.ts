import { describe, expect, it } from "vitest";

const SOURCES = import.meta.glob<string>("../../**/*.svelte", { query: "?raw", import: "default", eager: true });
/** Words of advice in a component's own markup. */
const SHOWS_ADVICE = /\b(advice|guidance)\.(headline|steps)\b/;
/** The cautions themselves, or the component that cannot do without. */
const CAUTIONS = /<Cautions told sentences=\{\w+\.cautions\} \/>|<GuidanceSheet guidance=/;

describe("advice on the screen", () => {
  const showing = Object.entries(SOURCES).filter(([, text]) => SHOWS_ADVICE.test(text));

  it("is shown by components that this test finds", () => {
    const names = showing.map(([path]) => path.split("/").at(-1));
    expect(names).toEqual(expect.arrayContaining(["AdviceSheet.svelte", "GuidanceSheet.svelte"]));
  });

  it.each(showing)("%s carries the cautions, and not in a part that folds", (_, text) => {
    const at = text.search(CAUTIONS);
    expect(at).toBeGreaterThan(0);
    const before = text.slice(0, at);
    expect(before.split("<details").length).toBe(before.split("</details").length);
  });
});
