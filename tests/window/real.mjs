// The built page in Chromium with the window's real commands behind it, by the program `bridge` in the folder that
// SHIMWRIGHT_EXAMPLES names.
import { execFileSync, spawn } from "node:child_process";
import { existsSync, mkdirSync, renameSync, statSync } from "node:fs";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { fileURLToPath } from "node:url";
import { launch, Visit } from "./page.mjs";
import { servePage } from "./page-server.mjs";

export const EXAMPLES = process.env.SHIMWRIGHT_EXAMPLES;
export const RENDERED = fileURLToPath(new URL("../../../shared/data/rendered/dev/", import.meta.url));

const TURN = [1, 2, 3, 4, 6, 7, 9, 10, 11, 12];
/** Photos of the rendered turn, uneven all round: as many as a film must show for each part of the turn to be there. */
export const TURNING = TURN.map((n) => join(RENDERED, `R/r1_${String(n).padStart(2, "0")}.jpg`));
/** Width of the film of them, px. */
export const TURN_WIDTH = 1440;

/** A film of the turning wheel for a browser's camera. It is made once and lies with the programs, as it takes some seconds. */
export function turnFilm() {
  const program = join(EXAMPLES, "film");
  const folder = join(EXAMPLES, "../films");
  const film = join(folder, `turn-${TURN_WIDTH}-${TURN.length}.y4m`);
  if (existsSync(film) && [program, ...TURNING].every((from) => statSync(from).mtimeMs < statSync(film).mtimeMs)) return film;
  mkdirSync(folder, { recursive: true });
  // Another test may look for it meanwhile: it has its name only when it is whole.
  const begun = `${film}.${process.pid}`;
  execFileSync(program, [begun, String(TURN_WIDTH), ...TURNING]);
  renameSync(begun, film);
  return film;
}

/** What the page finds in place of the window's own bridge: the same calls by HTTP, to addresses that its policy knows. */
function overHttp() {
  const ask = async (command, args, options) => {
    // Hearing of progress needs a way back that this bridge has not.
    if (command.startsWith("plugin:event|")) return 0;
    const raw = args instanceof Uint8Array;
    const answer = await fetch(`http://ipc.localhost/${command}`, {
      method: "POST",
      body: raw ? args : JSON.stringify(args ?? {}),
      headers: { ...options?.headers, "content-type": raw ? "application/octet-stream" : "application/json" },
    });
    if (answer.headers.get("content-type") === "application/octet-stream") return answer.arrayBuffer();
    const value = await answer.json();
    if (answer.status !== 200) throw value;
    return value;
  };
  window.__TAURI_INTERNALS__ = {
    invoke: ask,
    transformCallback: () => 0,
    convertFileSrc: (id, scheme) => `http://${scheme}.localhost/${id}`,
  };
  window.__TAURI_EVENT_PLUGIN_INTERNALS__ = { unregisterListener: () => {} };
}

/** The window's commands in a process of their own, over HTTP. */
export async function startBridge(folder) {
  const bridge = spawn(join(EXAMPLES, "bridge"), [folder], { stdio: ["pipe", "pipe", "inherit"] });
  const lines = createInterface({ input: bridge.stdout });
  const port = await new Promise((resolve) => lines.once("line", resolve));
  return {
    port,
    pid: bridge.pid,
    /** Asks a command, as the page does. */
    async ask(command, args = {}) {
      const answer = await fetch(`http://127.0.0.1:${port}/${command}`, { method: "POST", body: JSON.stringify(args), headers: { "content-type": "application/json" } });
      const value = await answer.json();
      if (answer.status !== 200) throw new Error(value.message);
      return value;
    },
    async close() {
      const ended = new Promise((resolve) => bridge.once("exit", resolve));
      bridge.stdin.end();
      await ended;
    },
  };
}

/** A history in a folder of its own, the commands over it, and the page; `browse` opens a browser on it. */
export async function openReal() {
  const folder = await mkdtemp(join(tmpdir(), "shimwright-real-"));
  const bridge = await startBridge(join(folder, "history"));
  const server = await servePage("ui/dist");
  return {
    folder,
    async browse(size, args) {
      const map = ["ipc", "photo"].map((name) => `MAP ${name}.localhost:80 127.0.0.1:${bridge.port}`).join(",");
      const browser = await launch([...args, `--host-resolver-rules=${map}`]);
      const visit = await Visit.open(size, { browser, url: server.url }, overHttp);
      return { visit, page: visit.page, close: () => browser.close() };
    },
    async close() {
      await server.close();
      await bridge.close();
      await rm(folder, { recursive: true, force: true });
    },
  };
}

/** So long a test of the machine spins, ms, and the least share of a core that it must get of a machine that has time. */
const SPIN_MS = 400;
const LEAST_SHARE = 0.9;

/** Whether the machine has no time for this, so that times say nothing of the program; it is told then. */
export function isBusy() {
  const [start, before] = [performance.now(), process.cpuUsage()];
  while (performance.now() - start < SPIN_MS);
  const { user, system } = process.cpuUsage(before);
  const share = (user + system) / 1000 / SPIN_MS;
  const busy = share < LEAST_SHARE;
  if (busy) console.log(`the machine is busy, a process gets ${(100 * share).toFixed(0)} % of a core: times and rates are told and not held`);
  return busy;
}
