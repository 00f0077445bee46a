// Starting the bench without a window for a phone: the command `receive`, in a folder of its own.
import { execFileSync, spawn } from "node:child_process";

export const PROGRAM = process.env.SHIMWRIGHT;

/** Adds the board that the phone shoots for. */
export const addBoard = (folder) => execFileSync(PROGRAM, ["--data-dir", folder, "board", "add", "Kestrel 2", "--left", "7/16 in", "7/16in", "--right", "7/16 in", "7/16in"]);

/** Starts the bench; what it shows, and what it prints when it ends. */
export async function startReceiving(folder, out, check = "turn") {
  const asked = ["--check", check, "--board", "Kestrel 2", "--corner", "left", "--address", "127.0.0.1", "--out", out, "--json"];
  const program = spawn(PROGRAM, ["--data-dir", folder, "receive", ...asked]);
  let [said, printed] = ["", ""];
  program.stdout.on("data", (text) => (printed += text));
  const shown = new Promise((resolve, reject) => {
    program.stderr.on("data", (text) => {
      said += text;
      if (/fingerprint/.test(said)) resolve();
    });
    program.once("exit", () => reject(new Error(said)));
  });
  const ended = new Promise((resolve) => program.once("exit", (code) => resolve({ code, printed, said })));
  await shown;
  const [, address] = /Open (\S+)/.exec(said);
  const [, code] = /code +(\d{4} \d{4})/.exec(said);
  return { address, code, ended, stop: () => program.kill("SIGINT") };
}
