import { describe, expect, it } from "vitest";
import { rawTexts } from "./raw";

const FILES = import.meta.glob<string>(["../../**/*.svelte", "../../**/*.ts", "!../../**/*.test.ts", "!../backend/**", "!./*"], {
  query: "?raw",
  import: "default",
  eager: true,
});

/** Texts that stand within a sentence from the measuring part, which is English. */
const WITHIN_ENGLISH = ["features/tension/TensionHead.svelte that pull"];

const texts = (source: string, name = "a.svelte"): string[] => rawTexts(source, name).map((found) => found.text);

describe("texts outside the catalogue", () => {
  it.each([
    ["<p>Hold still</p>", "Hold still"],
    ["<p>{ready ? 'Good' : t('a.b')}</p>", "Good"],
    ['<img alt="A wheel" />', "A wheel"],
    ['<Field label="Width" />', "Width"],
    ["<p>{`${count} photos`}</p>", "0 photos"],
    ["<button aria-label={`Remove ${name}`}></button>", "Remove 0"],
    ["{#if a}<p>{#each b as c (c)}none{/each}</p>{/if}", "none"],
    ['<script lang="ts">const words = "take one more";</script>', "take one more"],
    ['<script lang="ts">const names: Record<string, string> = { a: "Rings" };</script>', "Rings"],
  ])("are found: %s", (source, text) => expect(texts(source)).toEqual([text]));

  it("are found in modules, with their line", () => {
    expect(rawTexts('const a = 1;\nexport const b = "too far away";\n', "a.ts")).toEqual([{ text: "too far away", line: 2 }]);
  });

  it.each([
    '<p class="button lead">{t("a.b")}, 12 mm</p>',
    '<svg viewBox="0 0 24 24"><path d="M4 9V4h5" /></svg>',
    '<p style:transform={`translate(${x}px, 0) scale(${y})`}></p>',
    '<script lang="ts">import { a } from "./a"; type B = "two words"; const c = d[`name ${e}`]; throw new Error("no place here");</script>',
  ])("are not seen where there are none: %s", (source) => expect(texts(source)).toEqual([]));

  it("stand in no file of the page", () => {
    expect(Object.keys(FILES).length).toBeGreaterThan(100);
    const found = Object.entries(FILES)
      .flatMap(([path, source]) => rawTexts(source, path).map(({ text, line }) => ({ file: path.replace("../../", ""), text, line })))
      .filter(({ file, text }) => !WITHIN_ENGLISH.includes(`${file} ${text}`))
      .map(({ file, text, line }) => `${file}:${line} ${text}`);
    expect(found).toEqual([]);
  });
});
