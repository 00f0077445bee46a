// The system's own dialogs, which WebDriver does not reach: keys are sent to them as a person's would be.
import { spawnSync } from "node:child_process";
import { setTimeout as pause } from "node:timers/promises";

const PATIENCE_MS = 30_000;
/** How long a dialog is left alone before it hears keys, and between them. */
const REST_MS = 500;

function xdotool(...args) {
  const { status, stdout, stderr, error } = spawnSync("xdotool", args, { encoding: "utf8", timeout: PATIENCE_MS });
  if (error) throw error;
  if (status !== 0) throw new Error(`xdotool ${args[0]}: ${stderr || stdout || "nothing was found"}`);
}

/** The newest dialog of this title that can be seen, if there is one. */
function seen(title) {
  const { error, stdout } = spawnSync("xdotool", ["search", "--onlyvisible", "--name", title], { encoding: "utf8" });
  if (error) throw error;
  return stdout.trim().split("\n").at(-1);
}

async function until(what, holds) {
  const last = Date.now() + PATIENCE_MS;
  while (!holds()) {
    if (Date.now() > last) throw new Error(what);
    await pause(100);
  }
}

/** Gives the dialog of this title the keys, lets somebody type, and waits until it is gone. */
async function answer(title, type) {
  await until(`the dialog “${title}” did not come`, () => seen(title) !== "");
  await pause(REST_MS);
  // Nobody manages windows on this display, so nobody else gives the dialog the keys.
  xdotool("windowfocus", seen(title));
  await pause(REST_MS / 2);
  await type();
  await until(`the dialog “${title}” did not go`, () => seen(title) === "");
}

/** Types a path into the dialog of this title and confirms it. */
export function choosePath(title, path) {
  return answer(title, async () => {
    // A slash opens the field for a path.
    xdotool("type", "--delay", "12", path);
    await pause(REST_MS);
    xdotool("key", "Return");
  });
}

/** Closes the dialog of this title without choosing anything. */
export function closeDialog(title) {
  return answer(title, async () => xdotool("key", "Escape"));
}
