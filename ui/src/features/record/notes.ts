import type { PartUsed, TorqueUsed, VisitNotes } from "../../lib/backend";
import { numeral, t } from "../../lib/words/words.svelte";

/** What is written down of a visit, as it is typed. */
export interface NotesForm {
  technician: string;
  odometer: string;
  /** A part a line, such as `2 x belt 270-3M-15`. */
  parts: string;
  /** A screw a line, such as `pulley screws: 3.5 N m, maker's table`. */
  torques: string;
  remarks: string;
}

export function formOf(notes: VisitNotes): NotesForm {
  return {
    technician: notes.technician,
    odometer: notes.odometer_km === null ? "" : numeral(notes.odometer_km),
    parts: notes.parts.map((part) => `${part.count} x ${part.name}`).join("\n"),
    torques: notes.torques.map((torque) => `${torque.screw}: ${numeral(torque.newton_metres)} N m, ${torque.source}`).join("\n"),
    remarks: notes.remarks,
  };
}

/** What is wrong with a field, by its name. */
export type NotesProblems = Partial<Record<keyof NotesForm, string>>;

const PART = /^(\d+)\s*x\s+(\S.*)$/i;
const TORQUE = /^(\S[^:]*):\s*(\d+(?:[.,]\d+)?)\s*N\s*m\s*(?:,\s*(.*))?$/i;

const lines = (text: string): string[] =>
  text
    .split("\n")
    .map((line) => line.trim())
    .filter((line) => line !== "");

const number = (text: string): number => Number(text.trim().replace(",", "."));

/** The notes, or what is wrong with them. */
export function notesOf(form: NotesForm): { notes: VisitNotes; problems: NotesProblems } {
  const problems: NotesProblems = {};
  const odometer_km = form.odometer.trim() === "" ? null : number(form.odometer);
  if (odometer_km !== null && !(odometer_km >= 0)) problems.odometer = t("notes.odometer-wrong");
  const parts: PartUsed[] = [];
  for (const line of lines(form.parts)) {
    const found = PART.exec(line);
    if (found) parts.push({ count: Number(found[1]), name: found[2]! });
    else problems.parts = t("notes.part-wrong", { line });
  }
  const torques: TorqueUsed[] = [];
  for (const line of lines(form.torques)) {
    const found = TORQUE.exec(line);
    if (found) torques.push({ screw: found[1]!.trim(), newton_metres: number(found[2]!), source: found[3]?.trim() ?? "" });
    else problems.torques = t("notes.torque-wrong", { line });
  }
  return {
    notes: { odometer_km, technician: form.technician.trim(), parts, torques, remarks: form.remarks.trim() },
    problems,
  };
}
