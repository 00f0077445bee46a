// What the tests of the page in Chromium share: sizes, the served page, and what must hold on every screen.
import assert from "node:assert/strict";
import { existsSync } from "node:fs";
import { mkdir, readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { join } from "node:path";
import { servePage } from "./page-server.mjs";
import { differs, KEPT } from "./pictures.mjs";

// The page's packages are the only ones there are.
const packages = createRequire(new URL("../../ui/package.json", import.meta.url));
const { chromium } = packages("playwright-core");
const AXE = await readFile(packages.resolve("axe-core/axe.min.js"), "utf8");
const CHROMIUM = process.env.BROWSER || "/usr/bin/chromium";
const SHOTS = process.env.SHOTS;
// A made-up microphone that beeps and a made-up camera, and no question whether they may be used.
const MICROPHONE = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"];

// The same on every machine: the page tells dates by the reader's clock and language.
const anywhere = { locale: "en-US", timezoneId: "UTC" };
/** The day that recorded answers are given on. */
const TODAY = "2026-03-14T15:09:00Z";
const phone = { ...anywhere, hasTouch: true, isMobile: true, deviceScaleFactor: 2, colorScheme: "light" };
const desk = { ...anywhere, viewport: { width: 1280, height: 800 }, hasTouch: false, isMobile: false, deviceScaleFactor: 1 };

export const SIZES = {
  phone: { ...phone, viewport: { width: 360, height: 740 } },
  "large-phone-dark": { ...phone, viewport: { width: 412, height: 915 }, colorScheme: "dark" },
  desk: { ...desk, colorScheme: "light" },
  "desk-dark": { ...desk, colorScheme: "dark" },
};

/** Letters and colours as on every other machine. */
const PLAIN = ["--font-render-hinting=none", "--disable-lcd-text", "--force-color-profile=srgb"];

/** A browser without a window. */
export const launch = (args) => chromium.launch({ executablePath: CHROMIUM, args: ["--no-sandbox", ...PLAIN, ...args] });

/** Serves the recorded page to a browser; `asked` stands behind its address. */
export async function openBrowser(asked = "") {
  assert.ok(existsSync(new URL("../../ui/node_modules/.recorded/index.html", import.meta.url)), "build the page first: npm run build:recorded in ui/");
  const server = await servePage("ui/node_modules/.recorded");
  const browser = await launch(MICROPHONE);
  const close = async () => {
    await browser.close();
    await server.close();
  };
  return { browser, url: server.url + asked, today: TODAY, close };
}

/** A page at one of the sizes, with what the tests do on it. */
export class Visit {
  troubles = [];
  shot = 0;
  #otherwise = [];

  constructor(name, page) {
    this.name = name;
    this.page = page;
    this.touch = SIZES[name].hasTouch;
  }

  /** `before` runs in the page before its own scripts. */
  static async open(name, { browser, url, today }, before) {
    const context = await browser.newContext({ ...SIZES[name], reducedMotion: "reduce" });
    // As in the window: a library that writes over what all objects inherit must fail here, too.
    await context.addInitScript(() => Object.freeze(Object.prototype));
    if (before) await context.addInitScript(before);
    const page = await context.newPage();
    if (today) await page.clock.setFixedTime(today);
    page.setDefaultTimeout(10_000);
    const visit = new Visit(name, page);
    page.on("pageerror", (error) => visit.troubles.push(String(error)));
    page.on("console", (message) => {
      if (message.type() === "error") visit.troubles.push(message.text());
    });
    await page.goto(url);
    return visit;
  }

  /** Ends the visit; it fails here when a screen looked otherwise, so that what comes after that screen is tested, too. */
  async close() {
    await this.page.context().close();
    assert.deepEqual(this.#otherwise, []);
  }

  press(name) {
    const target = this.page.getByRole("button", { name }).or(this.page.getByRole("link", { name })).first();
    return this.touch ? target.tap() : target.click();
  }

  /** Where an element lies, once it has come to rest: a page that is still being laid out is not tapped beside. */
  async place(locator) {
    const look = async () => JSON.stringify([await locator.boundingBox(), await locator.locator("img").evaluateAll((all) => all.map((img) => img.style.transform))]);
    for (let last = "", now = await look(); now !== last; [last, now] = [now, await look()]) await this.page.waitForTimeout(150);
    return locator.boundingBox();
  }

  /** What must hold on every screen, and how the main ones look; keeps a picture when SHOTS names a folder. */
  async look(where, full = true) {
    if (SHOTS) {
      await mkdir(SHOTS, { recursive: true });
      this.shot += 1;
      await this.page.screenshot({ path: join(SHOTS, `${this.name}-${String(this.shot).padStart(2, "0")}-${where}.png`), fullPage: full });
    }
    await this.fits(where);
    await this.accessible(where);
    if (!KEPT[where]?.includes(this.name)) return;
    const how = await differs(this.page, `${this.name}-${where}`, full);
    if (how) this.#otherwise.push(how);
  }

  /** Nothing may stick out sideways, and nothing to be pressed may be too small for a thumb. */
  async fits(where) {
    const [wide, out] = await this.page.evaluate(() => {
      const { scrollWidth, clientWidth } = document.documentElement;
      const out = [...document.querySelectorAll("main *")].filter((node) => node.getBoundingClientRect().right > clientWidth + 0.5);
      return [scrollWidth - clientWidth, out.slice(-3).map((node) => node.outerHTML.slice(0, 160))];
    });
    assert.ok(wide <= 0, `${where}: the page is ${wide} px wider than the screen: ${out.join(" | ")}`);
    const small = await this.page.evaluate(() =>
      [...document.querySelectorAll("button, a[href], select, input:not([type=file]), textarea, summary, label.choice")]
        .filter((node) => node.checkVisibility() && !node.closest("label.choice input") && !(node.closest("label.choice") && node.tagName === "INPUT"))
        .map((node) => ({ box: node.getBoundingClientRect(), text: node.textContent.trim() || node.getAttribute("aria-label") || node.tagName }))
        .filter(({ box }) => box.width < 44 || box.height < 44)
        .map(({ box, text }) => `${text} (${Math.round(box.width)} x ${Math.round(box.height)})`),
    );
    assert.deepEqual(small, [], `${where}: too small to be touched`);
  }

  /** No fault that axe can find (WCAG 2.2, levels A and AA, and its good practice). */
  async accessible(where) {
    // Evaluated and not added as a script, which the page's policy would refuse.
    if (!(await this.page.evaluate(() => "axe" in window))) await this.page.evaluate(AXE);
    const faults = await this.page.evaluate(async () => {
      const { violations } = await window.axe.run(document, { resultTypes: ["violations"] });
      return violations.map(({ id, help, nodes }) => `${id}: ${help} (${nodes.map((node) => node.html.slice(0, 120)).slice(0, 3).join(" | ")})`);
    });
    assert.deepEqual(faults, [], `${where}: not everybody can use it`);
  }
}
