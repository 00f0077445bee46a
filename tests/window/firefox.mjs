// A small Marionette client for Firefox without a window: enough for the tests, and no package to install.
import { spawn } from "node:child_process";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { connect } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as pause } from "node:timers/promises";

const ELEMENT = "element-6066-11e4-a52e-4f735466cecf";
const PATIENCE_MS = 30_000;
/** No questions, nothing asked of the world, and a port of its own choice. */
const PREFERENCES = {
  "marionette.port": 0,
  "app.update.enabled": false,
  "browser.shell.checkDefaultBrowser": false,
  "datareporting.policy.dataSubmissionEnabled": false,
  "extensions.getAddons.cache.enabled": false,
  "intl.accept_languages": "en",
  "network.captive-portal-service.enabled": false,
  "network.connectivity-service.enabled": false,
  "services.settings.server": "https://127.0.0.1:1",
};

/** Starts Firefox with a profile of its own. */
export async function openFirefox(program) {
  const profile = await mkdtemp(join(tmpdir(), "shimwright-firefox-"));
  const lines = Object.entries(PREFERENCES).map(([name, value]) => `user_pref(${JSON.stringify(name)}, ${JSON.stringify(value)});`);
  await writeFile(join(profile, "user.js"), lines.join("\n"));
  const browser = spawn(program, ["--headless", "--marionette", "--no-remote", "--profile", profile], { stdio: "ignore" });
  const ended = new Promise((resolve) => browser.once("exit", resolve));
  try {
    const port = await until(async () => Number(await readFile(join(profile, "MarionetteActivePort"), "utf8").catch(() => "")));
    const socket = connect(port, "127.0.0.1");
    const firefox = new Firefox(socket);
    await firefox.ask("WebDriver:NewSession", { acceptInsecureCerts: true });
    firefox.close = async () => {
      socket.destroy();
      browser.kill();
      await ended;
      await rm(profile, { recursive: true, force: true });
    };
    return firefox;
  } catch (error) {
    browser.kill();
    await ended;
    await rm(profile, { recursive: true, force: true });
    throw error;
  }
}

/** Asks again and again until there is an answer. */
async function until(ask, patience = PATIENCE_MS) {
  const start = Date.now();
  for (;;) {
    const said = await ask();
    if (said) return said;
    if (Date.now() - start > patience) throw new Error(`there was no answer in ${patience / 1000} s: ${ask}`);
    await pause(100);
  }
}

/** A message is its length, a colon and JSON: `[0, number, command, arguments]`, answered by `[1, number, error, result]`. */
class Firefox {
  #socket;
  #number = 0;
  #waiting = new Map();
  #rest = Buffer.alloc(0);

  constructor(socket) {
    this.#socket = socket;
    socket.on("data", (bytes) => this.#hear(bytes));
    socket.on("error", (error) => this.#waiting.forEach(({ reject }) => reject(error)));
  }

  #hear(bytes) {
    this.#rest = Buffer.concat([this.#rest, bytes]);
    for (;;) {
      const colon = this.#rest.indexOf(":");
      const length = Number(this.#rest.subarray(0, Math.max(colon, 0)).toString());
      if (colon < 1 || this.#rest.length < colon + 1 + length) return;
      const message = JSON.parse(this.#rest.subarray(colon + 1, colon + 1 + length).toString());
      this.#rest = this.#rest.subarray(colon + 1 + length);
      // The first message greets and answers nothing.
      if (!Array.isArray(message)) continue;
      const [, number, error, result] = message;
      const { resolve, reject } = this.#waiting.get(number);
      this.#waiting.delete(number);
      if (error) reject(new Error(`${error.error}: ${error.message}`));
      else resolve(result);
    }
  }

  ask(command, given = {}) {
    const number = (this.#number += 1);
    const text = Buffer.from(JSON.stringify([0, number, command, given]));
    this.#socket.write(Buffer.concat([Buffer.from(`${text.length}:`), text]));
    return new Promise((resolve, reject) => this.#waiting.set(number, { resolve, reject }));
  }

  go(url) {
    return this.ask("WebDriver:Navigate", { url });
  }

  /** The value of the body of a function in the page. */
  async run(script, ...args) {
    return (await this.ask("WebDriver:ExecuteScript", { script, args, sandbox: null, newSandbox: false })).value;
  }

  /** The first element that is shown and holds this text, once there is one. */
  async shown(kind, text, patience) {
    const script = `return [...document.querySelectorAll(arguments[0])].find((node) => node.checkVisibility() && new RegExp(arguments[1]).test(node.textContent)) ?? null`;
    return until(() => this.run(script, kind, text), patience);
  }

  async press(text) {
    const element = await this.shown("button, a, summary", text);
    await this.ask("WebDriver:ElementClick", { id: element[ELEMENT] });
  }

  /** Types into a field, or gives files to one that takes them, once it is there. */
  async type(field, text) {
    const element = await until(() => this.run("return document.querySelector(arguments[0])", field));
    await this.ask("WebDriver:ElementSendKeys", { id: element[ELEMENT], text });
  }

  /** A picture of the page, PNG. */
  async picture() {
    return Buffer.from((await this.ask("WebDriver:TakeScreenshot", { full: false, hash: false })).value, "base64");
  }
}
