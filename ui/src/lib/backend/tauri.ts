import { convertFileSrc, invoke, type InvokeArgs, type InvokeOptions } from "@tauri-apps/api/core";
import { listen } from "@tauri-apps/api/event";
import { toFailure } from "../errors/failure";
import type { Backend } from "./backend";
import type { PhotoGlimpse, ProgressNote } from "./types";

async function ask<T>(command: string, args?: InvokeArgs, options?: InvokeOptions): Promise<T> {
  try {
    return await invoke<T>(command, args, options);
  } catch (thrown) {
    throw toFailure(thrown);
  }
}

/** Hears how far a measurement is while it runs. */
async function told<T>(progress: (note: ProgressNote) => void, work: () => Promise<T>): Promise<T> {
  const stop = await listen<ProgressNote>("measure-progress", (event) => progress(event.payload));
  try {
    return await work();
  } finally {
    stop();
  }
}

/** The window's commands. */
export const tauriBackend: Backend = {
  boards: (find, most) => ask("boards", { find, most }),
  board: (id) => ask("board", { id }),
  saveBoard: (board) => ask("save_board", { board }),
  deleteBoard: (id) => ask("delete_board", { id }),
  stock: () => ask("stock"),
  saveStock: (stock) => ask("save_stock", { stock }),
  loadDemo: () => ask("load_demo"),
  addDemoPhotos: (corner) => ask("add_demo_photos", { corner }),
  // The bytes travel raw: as JSON a photo takes the better part of a second.
  addPhoto: async (name, bytes, glimpsed) => {
    const glimpse = await ask<PhotoGlimpse>("open_photo", new Uint8Array(bytes), { headers: { "x-file-name": encodeURIComponent(name) } });
    glimpsed?.(glimpse);
    return ask("look_closer", { id: glimpse.id });
  },
  look: (request, grey) => ask("look", grey, { headers: { "x-look": JSON.stringify(request) } }),
  addSound: (name, bytes) =>
    ask("add_sound", new Uint8Array(bytes), { headers: { "x-file-name": encodeURIComponent(name) } }),
  forgetPhotos: (ids) => ask("forget_photos", { ids }),
  measure: (request, progress) => told(progress, () => ask("measure", { request })),
  proposeMarks: (request, progress) => told(progress, () => ask("propose_marks", { request })),
  carryMarks: (from, to, marks) => ask("carry_marks", { from, to, marks }),
  calibrate: (request, progress) => told(progress, () => ask("calibrate", { request })),
  keepCamera: (draftId) => ask("keep_camera", { draftId }),
  cameras: () => ask("cameras"),
  forgetCamera: (id) => ask("forget_camera", { id }),
  cancelMeasure: () => ask("cancel_measure"),
  saveCheck: (draftId, workDone) => ask("save_check", { draftId, workDone }),
  dropDraft: (draftId) => ask("drop_draft", { draftId }),
  setWorkDone: (checkId, workDone) => ask("set_work_done", { checkId, workDone }),
  printTargets: (sheet, paper) => ask("print_targets", { sheet, paper }),
  recordsOf: (boardId) => ask("records_of", { boardId }),
  saveShop: (stated) => ask("save_shop", { stated }),
  noteVisit: (boardId, visit, notes) => ask("note_visit", { boardId, visit, notes }),
  writeRecord: (request) => ask("write_record", { request }),
  writeBundle: (request) => ask("write_bundle", { request }),
  verifyBundle: (name, bytes, progress) =>
    told(progress, () =>
      ask("verify_bundle", new Uint8Array(bytes), { headers: { "x-file-name": encodeURIComponent(name) } }),
    ),
  keeping: () => ask("keeping"),
  chooseFile: () => ask("choose_file"),
  chooseFolder: () => ask("choose_folder"),
  filesFolder: () => ask("files_folder"),
  chooseFilesFolder: () => ask("choose_files_folder"),
  backUp: (withPlace) => ask("back_up", { withPlace }),
  restoreBackup: (file) => ask("restore_backup", { file }),
  restoreCopy: () => ask("restore_copy"),
  exportHistory: (format, withPhotos, withPlace) => ask("export_history", { format, withPhotos, withPlace }),
  importHistory: (from, keepBoth) => ask("import_history", { from, keepBoth }),
  cleanUpPhotos: () => ask("clean_up_photos"),
  phoneAddresses: () => ask("phone_addresses"),
  phoneStart: (check, address) => ask("phone_start", { check, address }),
  phoneStanding: (photos) => ask("phone_standing", { photos }),
  phoneTell: (told) => ask("phone_tell", { told }),
  phoneStop: (photos) => ask("phone_stop", { photos }),
  photoBytes: (id) => ask("photo_bytes", { id }),
  appInfo: () => ask("app_info"),
  driveForm: () => ask("drive_form"),
  describeDrive: (boardId, description) => ask("describe_drive", { boardId, description }),
  adviseSpacer: (boardId) => ask("advise_spacer", { boardId }),
  adviseRecentre: (boardId, corner) => ask("advise_recentre", { boardId, corner }),
  adviseBelt: (boardId) => ask("advise_belt", { boardId }),
  adviseShake: (boardId, corner, topSpeed, added) => ask("advise_shake", { boardId, corner, topSpeed, added }),
  torqueTable: (boardId) => ask("torque_table", { boardId }),
  service: (boardId, odometerKm) => ask("service", { boardId, odometerKm }),
  serviceDone: (boardId, done) => ask("service_done", { boardId, ...done }),
  photoUrl: (id) => convertFileSrc(id, "photo"),
};
