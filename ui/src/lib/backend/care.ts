import type {
  AddedMass,
  BeltAdvice,
  Board,
  Corner,
  Day,
  DriveDescription,
  DriveForm,
  RecentreAdvice,
  ServiceAdvice,
  ShakeAdvice,
  SpacerAdvice,
  TorqueAdvice,
} from "./types";

/** What is written down of a service check that was done. */
export interface Done {
  check: string;
  /** `null` is today. */
  day: Day | null;
  odometerKm: number | null;
  note: string;
}

/** What the page may ask about the care of a board. */
export interface CareBackend {
  driveForm(): Promise<DriveForm>;
  describeDrive(boardId: string, description: DriveDescription): Promise<Board>;
  /** Spacers for the newest saved gaps. */
  adviseSpacer(boardId: string): Promise<SpacerAdvice>;
  /** From the newest saved turn check of the corner. */
  adviseRecentre(boardId: string, corner: Corner): Promise<RecentreAdvice>;
  adviseBelt(boardId: string): Promise<BeltAdvice>;
  /** From the newest saved turn check of the corner, up to a speed in km/h. */
  adviseShake(boardId: string, corner: Corner, topSpeed: number, added: AddedMass[]): Promise<ShakeAdvice>;
  torqueTable(boardId: string): Promise<TorqueAdvice>;
  /** Without an odometer only days count. */
  service(boardId: string, odometerKm: number | null): Promise<ServiceAdvice>;
  serviceDone(boardId: string, done: Done): Promise<void>;
}
