// A small WebDriver client for the window's web view: enough for the tests, and no package to install.
import { spawn } from "node:child_process";
import { createServer } from "node:net";
import { setTimeout as pause } from "node:timers/promises";

const ELEMENT = "element-6066-11e4-a52e-4f735466cecf";
const PATIENCE_MS = 30_000;

/** A port that nobody listens on. */
async function freePort() {
  const server = createServer();
  await new Promise((resolve) => server.listen(0, "127.0.0.1", resolve));
  const { port } = server.address();
  await new Promise((resolve) => server.close(resolve));
  return port;
}

async function call(base, method, path, body) {
  const response = await fetch(base + path, {
    method,
    headers: { "content-type": "application/json" },
    body: body === undefined ? undefined : JSON.stringify(body),
  });
  const { value } = await response.json();
  if (response.ok) return value;
  const error = new Error(`${value.error}: ${value.message}`);
  error.kind = value.error;
  throw error;
}

/**
 * Starts the driver and, through it, the program. The driver gets a process group of its own, so that both end together.
 */
export async function openWindow(binary, env) {
  const port = await freePort();
  const driver = spawn("WebKitWebDriver", [`--port=${port}`], {
    env: { ...process.env, ...env, TAURI_WEBVIEW_AUTOMATION: "true" },
    stdio: ["ignore", "ignore", "inherit"],
    detached: true,
  });
  const base = `http://127.0.0.1:${port}`;
  try {
    await ready(base);
    const capabilities = { alwaysMatch: { "webkitgtk:browserOptions": { binary, args: [] } } };
    const startedAt = Date.now();
    const { sessionId } = await call(base, "POST", "/session", { capabilities });
    return new Window(`${base}/session/${sessionId}`, driver, startedAt);
  } catch (error) {
    end(driver);
    throw error;
  }
}

async function ready(base) {
  for (let tries = 0; tries < 100; tries += 1) {
    try {
      await call(base, "GET", "/status");
      return;
    } catch {
      await pause(50);
    }
  }
  throw new Error("the driver did not start");
}

function end(driver) {
  try {
    process.kill(-driver.pid, "SIGTERM");
  } catch {
    // It has ended already.
  }
}

export class Window {
  #session;
  #driver;

  /** `startedAt`: when the program was started. */
  constructor(session, driver, startedAt) {
    this.#session = session;
    this.#driver = driver;
    this.startedAt = startedAt;
  }

  /** Tries until it works or patience is at its end. */
  async until(what, attempt) {
    const last = Date.now() + PATIENCE_MS;
    let trouble;
    while (Date.now() < last) {
      try {
        const found = await attempt();
        if (found) return found;
      } catch (error) {
        trouble = error;
      }
      await pause(80);
    }
    throw new Error(`${what} did not come${trouble ? ` (${trouble.message})` : ""}; on the page: ${await this.text().catch(() => "nothing")}`);
  }

  run(script, ...args) {
    return call(this.#session, "POST", "/execute/sync", { script, args });
  }

  text() {
    return this.run("return document.body.innerText");
  }

  /** Waits for words on the page. */
  async sees(words) {
    await this.until(`“${words}”`, async () => (await this.text()).includes(words));
  }

  async find(css) {
    const found = await this.until(css, () => call(this.#session, "POST", "/element", { using: "css selector", value: css }));
    return found[ELEMENT];
  }

  /** The button, link or label that says `words` and can be seen. */
  async pressable(words) {
    const script = `
      const wanted = arguments[0];
      const says = (node) => (node.getAttribute("aria-label") ?? node.innerText).replace(/\\s+/g, " ").trim();
      const open = [...document.querySelectorAll("button, a, label, summary")].filter((node) => node.checkVisibility() && !node.disabled);
      return open.find((node) => says(node) === wanted) ?? open.find((node) => says(node).startsWith(wanted)) ?? null;`;
    const found = await this.until(`“${words}” to press`, () => this.run(script, words));
    return found[ELEMENT];
  }

  async press(words) {
    await this.until(`a press on “${words}”`, async () => {
      const element = await this.pressable(words);
      await call(this.#session, "POST", `/element/${element}/click`, {});
      return true;
    });
  }

  /** Fills a field as a user does, in place of what is in it. */
  async fill(css, text) {
    const element = await this.find(css);
    await call(this.#session, "POST", `/element/${element}/clear`, {});
    await call(this.#session, "POST", `/element/${element}/value`, { text });
  }

  /** Hands files to a file input. */
  async upload(css, paths) {
    const element = await this.find(css);
    await call(this.#session, "POST", `/element/${element}/value`, { text: paths.join("\n") });
  }

  /** Presses the mouse at places of the page. */
  async click(places) {
    const actions = places.flatMap(([x, y]) => [
      { type: "pointerMove", x: Math.round(x), y: Math.round(y), duration: 0 },
      { type: "pointerDown", button: 0 },
      { type: "pointerUp", button: 0 },
      { type: "pause", duration: 60 },
    ]);
    await call(this.#session, "POST", "/actions", { actions: [{ type: "pointer", id: "mouse", parameters: { pointerType: "mouse" }, actions }] });
  }

  async resize(width, height) {
    await call(this.#session, "POST", "/window/rect", { width, height });
    await pause(300);
  }

  /** A picture of what the window shows, as PNG. */
  async picture() {
    return Buffer.from(await call(this.#session, "GET", "/screenshot"), "base64");
  }

  async close() {
    await call(this.#session, "DELETE", "").catch(() => {});
    end(this.#driver);
    await pause(200);
  }
}
