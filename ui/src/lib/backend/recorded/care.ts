import type { CareBackend } from "../care";
import type { Board, Failure, ServiceAdvice } from "../types";
import recorded from "./care.json";

/** Answers as the command line gave them for the demo board; cast, because a JSON file's type knows no unions. */
const ANSWERS = recorded as unknown as {
  form: Awaited<ReturnType<CareBackend["driveForm"]>>;
  recentre: Awaited<ReturnType<CareBackend["adviseRecentre"]>>;
  shake: Awaited<ReturnType<CareBackend["adviseShake"]>>;
  belt: Awaited<ReturnType<CareBackend["adviseBelt"]>>;
  torque: Awaited<ReturnType<CareBackend["torqueTable"]>>;
  service: ServiceAdvice;
  spacer: Awaited<ReturnType<CareBackend["adviseSpacer"]>>;
};
const TODAY = "2026-03-14";

function failure(code: Failure["code"], message: string, hint: string): Failure {
  return { code, message, hint };
}

const copy = <T>(value: T): T => JSON.parse(JSON.stringify(value)) as T;

/** The recorded answers about care. No turn was recorded on the right corner. */
export function recordedCare(find: (id: string) => Board): CareBackend {
  const service = copy(ANSWERS.service);
  const noTurn = (): Failure =>
    failure("not-found", "no turn was measured on the right corner", "measure the run-out over a turn there, and save it");
  return {
    async driveForm() {
      return copy(ANSWERS.form);
    },
    async describeDrive(boardId, description) {
      if (description.belt_teeth < 60) {
        throw failure(
          "bad-input",
          "the drive contradicts itself: a belt of that length does not reach around both pulleys",
          "count the teeth of belt and pulleys again",
        );
      }
      const board = find(boardId);
      board.drive = { ...board.drive, description: copy(description) };
      return copy(board);
    },
    async adviseSpacer() {
      return copy(ANSWERS.spacer);
    },
    async adviseRecentre(_boardId, corner) {
      if (corner === "right") throw noTurn();
      return copy(ANSWERS.recentre);
    },
    async adviseBelt() {
      return copy(ANSWERS.belt);
    },
    async adviseShake(_boardId, corner) {
      if (corner === "right") throw noTurn();
      return copy(ANSWERS.shake);
    },
    async torqueTable() {
      return copy(ANSWERS.torque);
    },
    async service() {
      return copy(service);
    },
    async serviceDone(_boardId, done) {
      const item = service.items.find((candidate) => candidate.id === done.check);
      if (!item) throw failure("bad-input", `there is no service check \`${done.check}\``, "choose one from the list");
      const day = done.day ?? TODAY;
      if (day > TODAY) throw failure("bad-input", `${day} is still to come`, "name the day on which it was done");
      item.last = { check: item.id, day, note: done.note, ...(done.odometerKm === null ? {} : { odometer_km: done.odometerKm }) };
      item.due = { state: "later", day: "2026-05-13", days_left: 60, odometer_km: null, km_left: null };
    },
  };
}
