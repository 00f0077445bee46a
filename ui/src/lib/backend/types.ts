// What crosses between the window and the workshop, made from the Rust types `shimwright_app::bridge` and
// `shimwright_record` by `cargo run -p shimwright-app --features typescript --example emit_types`.
// Change those, never this file by hand.

export type AddedMass = { name: string; grams: number; radius: number };
export type AppInfo = { version: string; data_dir: string };
export type BeltAdvice = {
  motor: PulleySize;
  wheel: PulleySize;
  belt_length: number;
  free_span: number;
  now: MotorSide;
  smaller: Array<MotorSide>;
  alignment_limit: number;
  offset_at_limit: number;
  alignments: Array<BeltAlignment>;
  guidance: Guidance;
};
export type BeltAlignment = {
  corner: Corner;
  angle: Quantity;
  state: Conformity;
  kept: number;
  with_axis_angle: boolean;
};
export type Board = {
  id: string;
  name: string;
  owner: string;
  notes: string;
  drive: Drive;
  corners: [CornerState, CornerState];
};
export type BoardDetail = { board: Board; history: Array<HistoryEntry> };
export type BoardSummary = { id: string; name: string; owner: string; last_check?: string; checks: number };
export type BoardsShown = { boards: Array<BoardSummary>; all: number };
export type BudgetLine = { part: Phrase; u: number; note: Phrase };
export type BundleRequest = { record: RecordRequest; sign: boolean; with_place: boolean };
export type BundleVerified = {
  file: string;
  holds: boolean;
  outcome: Phrase;
  about: Phrase;
  points: Array<PointVerified>;
  numbers: Array<NumberVerified>;
  fingerprint: string;
};
export type CalibrateRequest = { photo_ids: Array<string>; print_scale?: PrintScale };
export type Calibrated = { draft_id: string; result: CheckResult; camera: string };
export type CarriedMarks = { marks: { [key in string]: Array<[number, number]> } };
export type CheckKind = "gap" | "turn" | "part" | "play" | "alignment" | "camera" | "tension";
export type CheckResult = {
  check: CheckKind;
  values: { [key in string]: Value };
  verdict: Verdict;
  budget: Array<BudgetLine>;
  photos: Array<PhotoUse>;
  warnings: Array<Phrase>;
};
export type CodedPhrase = { text: string; code: string; values?: { [key in string]: PhraseValue } };
export type Conformity = "within" | "outside" | "undecided";
export type Corner = "left" | "right";
export type CornerGap = {
  corner: Corner;
  gap: Quantity;
  spacer_thickness: number;
  spacer_label: string;
  belt_offset: Quantity;
};
export type CornerState = {
  spacer_label: string;
  spacer_thickness: number;
  belt_offset: number;
  belt_offset_u95: number;
};
export type Day = string;
export type DemoPhotos = { photos: Array<PhotoAdded>; job: Job };
export type Drawing = {
  width: number;
  height: number;
  shapes: Array<Shape>;
  told: Array<Phrase>;
  standing: Array<Phrase>;
};
export type Drawn = { what: string; points: Array<[number, number]> };
export type Drive = {
  rim_diameter: number;
  mount_chamfer: number | null;
  rim_chamfer: number | null;
  located: Located;
  minimum_gap: number;
  motor_slide: [number, number];
  same_spacer_everywhere: boolean;
  stack_limit: number;
  description?: DriveDescription;
};
export type DriveDescription = {
  motor_teeth: number;
  wheel_teeth: number;
  pitch: number;
  belt_teeth: number;
  belt_width: number;
  centre_distance: number | null;
  pulley_width: number;
  flanges: Flanges;
  pulley_screws: number;
  screw_size: ScrewSize;
  screw_hole: number | null;
  register_clearance: number | null;
  screw_1_angle: number | null;
  eccentricity_limit: number;
  axial_runout_limit: number | null;
  alignment_limit: number;
  wheel_diameter: number;
  wheel_mass: number;
  pulley_mass: number;
  belt_stiffness: number | null;
  torques: Array<OwnTorque>;
  clearances: Array<OtherClearance>;
};
export type DriveField = { field: string; label: string; unit: string; help: string };
export type DriveForm = { fields: Array<DriveField>; starting: DriveDescription };
export type Due = {
  state: DueState;
  day: Day | null;
  days_left: number | null;
  odometer_km: number | null;
  km_left: number | null;
};
export type DueState = "due" | "never-done" | "soon" | "later" | "on-occasion";
export type EarlierTension = { tension: Stated; frequency?: Stated };
export type Eccentricity = {
  size: Quantity;
  direction: Quantity;
  axial_runout?: Quantity;
  axial_high_direction?: Quantity;
};
export type Failure = { code: FailureCode; message: Phrase; hint: Phrase; subject?: string };
export type FailureCode = "bad-input" | "not-measurable" | "cancelled" | "not-found" | "storage" | "internal";
export type FileFound = { path: string; name: string; size: Phrase; kind: FileKind };
export type FileKind = "backup" | "export" | "history" | "bundle";
export type FilesTold = { file?: string; lines: Array<Phrase>; trouble: Array<Phrase> };
export type Flanges = "none" | "inner" | "outer" | "both";
export type FoundTarget = { name: string; corners: number; of: number; drawn: Array<Drawn> };
export type GradeLimit = { grade: number; permissible: number; state: Conformity; kept: number };
export type Guidance = {
  headline: Phrase;
  steps: Array<Phrase>;
  notes: Array<Phrase>;
  cautions: Array<Phrase>;
  basis: Array<Phrase>;
};
export type Height = StatedLength | { [key in string]: StatedLength };
export type HistoryEntry = {
  id: string;
  at: string;
  corner: Corner;
  fitted: CornerState;
  result: CheckResult;
  job: Job;
  photo_ids: Array<string>;
  advice?: SpacerAdvice;
  work_done: string;
};
export type IdealSpacer = { corner: Corner; thickness: number };
export type Job = {
  check: CheckKind;
  photos: Array<JobPhoto>;
  targets?: JobTargets;
  print_scale?: PrintScale;
  camera?: string;
  drive?: JobDrive;
  height?: Height;
  sound?: string;
  belt?: JobBelt;
  trials?: number;
};
export type JobBelt = {
  span: Stated;
  mass_per_length: Stated;
  stiffness?: Stated;
  allowed?: TensionRange;
  earlier?: EarlierTension;
};
export type JobDrive = {
  rim_diameter?: number;
  equal_steps?: TurnedWay;
  motor_diameter?: number;
  driven_width?: StatedLength;
  motor_width?: StatedLength;
  alignment_limit?: number;
  mount_chamfer?: number;
  rim_chamfer?: number;
  mark_screw_angle?: number;
  minimum_gap?: number;
  nominal?: number;
  tolerance?: number;
  runout_limit?: number;
  play_limit?: number;
  axial_runout?: StatedLength;
};
export type JobPhoto = { file: string; marks?: { [key in string]: Array<[number, number]> } };
export type JobTargets = { fixed?: string; turning?: string };
export type Judgement = {
  take: boolean;
  standing: Standing;
  covered: Array<boolean>;
  taken: number;
  enough: number;
};
export type Keeping = {
  out_folder: string;
  photos: Phrase;
  unnamed?: Phrase;
  missing: Array<string>;
  copies: Array<string>;
  found: Array<FileFound>;
  notice?: Phrase;
};
export type KeptCamera = {
  id: string;
  name: string;
  demo: boolean;
  lens?: string;
  focal_mm?: number;
  width: number;
  height: number;
};
export type Located = "hub" | "pulley" | "wheel";
export type Look = {
  drawn: Array<Drawn>;
  troubles: Array<Trouble>;
  judged: Judgement;
  wheel_angle?: number;
};
export type LookRequest = {
  check: CheckKind;
  width: number;
  height: number;
  photo_width: number;
  photo_ids: Array<string>;
};
export type MeasureRequest = { board_id: string; corner: Corner; job: Job };
export type Measured = {
  draft_id: string;
  result: CheckResult;
  advice?: SpacerAdvice;
  no_advice?: Phrase;
  drive?: JobDrive;
};
export type MotorSide = {
  teeth: number;
  ratio: number;
  speed_against_now: number;
  centre_distance: number;
  wrap: number;
  teeth_in_mesh: number;
  mesh_factor: number;
};
export type NumberVerified = {
  check: string;
  value: string;
  place?: number;
  stored: Phrase;
  measured: Phrase;
  good: boolean;
};
export type OtherClearance = {
  name: string;
  corner: Corner;
  value: number;
  u95: number;
  spacer_thickness: number;
  per_spacer: number;
  minimum: number;
};
export type OwnTorque = { class: string; torque: number; source: string };
export type PartUsed = { name: string; count: number };
export type PhoneAtBench = {
  open: boolean;
  paired?: string;
  arrived: Array<PhotoAdded>;
  wished: boolean;
  log: Array<PhoneLine>;
};
export type PhoneInvitation = { address: string; code: string; fingerprint: string; qr: Array<string> };
export type PhoneKept = { kept: boolean; photo: PhotoAdded };
export type PhoneLine = { at: string; what: PhoneWhat; about: string };
export type PhoneStanding = {
  check: CheckKind;
  shows: Array<string>;
  photos: Array<PhotoAdded>;
  by_hand: boolean;
  handed_over: boolean;
  measuring: boolean;
  result?: CheckResult;
  failure?: Failure;
};
export type PhoneTold = { measuring: boolean; result?: CheckResult; failure?: Failure };
export type PhoneWhat = "started" | "wrong-code" | "paired" | "kept" | "refused" | "ended" | "nobody-paired" | "wrong-codes" | "idle";
export type PhotoAdded = {
  id: string;
  name: string;
  width: number;
  height: number;
  camera: string;
  found: Array<FoundTarget>;
  notes: Array<Phrase>;
  wheel_angle?: number;
};
export type PhotoGlimpse = { id: string; name: string; width: number; height: number; drawn: Array<Drawn> };
export type PhotoUse = {
  file: string;
  corners: number;
  rms_px: number;
  used: boolean;
  note?: Phrase;
  drawn?: Array<Drawn>;
};
export type Phrase = string | CodedPhrase;
export type PhraseValue =
  | { "is": "text"; text: string }
  | { "is": "number"; value: number; decimals?: number; signed?: boolean }
  | { "is": "length"; mm: number; u95?: number; decimals?: number }
  | { "is": "measured"; value: number; u95: number; unit: string }
  | { "is": "chance"; probability: number }
  | { "is": "torque"; newton_metres: number }
  | { "is": "words"; words: Phrase };
export type PointVerified = { what: Phrase; good: boolean; text: Phrase };
export type PrintScale = { x: number; y: number; u95: number };
export type PrintedSheets = { files: Array<string> };
export type ProgressNote = { step: Phrase; done: number };
export type Proposal = { edges: Array<ProposedEdge>; photos: Array<JobPhoto>; notes: Array<Phrase> };
export type ProposedEdge = { mark: string; quality: number };
export type PulleySize = {
  teeth: number;
  pitch_diameter: number;
  outside_diameter: number | null;
  radial_runout_limit: number;
  axial_runout_limit: number;
};
export type Push = { distance: Quantity; from: ScrewPlace; toward: ScrewPlace; direction_u95: number };
export type Quantity = { value: number; u95: number; unit: string };
export type RecentreAdvice = {
  decision: RecentreDecision;
  round: number;
  now: Eccentricity;
  limit: number;
  screws: ScrewCircle | null;
  radial_runout: Quantity;
  kept: number;
  push: Push | null;
  tightening: Array<TighteningPass>;
  drawing: Drawing;
  picture: string;
  guidance: Guidance;
};
export type RecentreDecision = "done" | "push" | "face-first" | "measure-better" | "stop";
export type RecordRequest = { board_id: string; visit: string; paper: string };
export type RecordWritten = { file: string; fingerprint: string; sealed?: SealTold };
export type RecordsOfBoard = {
  board_name: string;
  shop: Shop;
  visits: Array<VisitTold>;
  sealed: number;
  public_key?: string;
};
export type RejectedSpacer = { rings: Array<string>; thickness: number; reason: Phrase };
export type ScrewCircle = { count: number; first: number };
export type ScrewPlace = { name: Phrase; clockwise_from_screw_1: number };
export type ScrewSize = "M3" | "M4" | "M5" | "M6" | "M8";
export type SealTold = { number: number; seal: string; public_key?: string };
export type ServiceAdvice = { items: Array<ServiceItem>; guidance: Guidance };
export type ServiceDone = { check: string; day: Day; odometer_km?: number; note: string };
export type ServiceItem = {
  id: string;
  title: string;
  last: ServiceDone | null;
  due: Due;
  guidance: Guidance;
};
export type ShakeAdvice = {
  unbalance: Quantity;
  series: Array<ShakePoint>;
  grades: Array<GradeLimit>;
  path_swing: Quantity;
  tension_swing: Quantity | null;
  guidance: Guidance;
};
export type ShakePoint = {
  speed: number;
  rpm: number;
  frequency: number;
  force: number;
  force_u95: number;
  velocity: number;
};
export type Shape =
  | { "is": "circle"; at: [number, number]; radius: number; look: ShapeLook }
  | { "is": "line"; from: [number, number]; to: [number, number]; look: ShapeLook }
  | { "is": "area"; corners: Array<[number, number]>; look: ShapeLook }
  | { "is": "word"; at: [number, number]; word: Phrase; look: ShapeLook };
export type ShapeLook = "belongs" | "middle" | "pulley" | "screw" | "first-screw" | "order" | "push";
export type Shop = { name: string; address: string; technician: string };
export type SoundAdded = { id: string; name: string; seconds: number; clipped: boolean };
export type SpacerAdvice = {
  fits: boolean;
  choices: Array<SpacerChoice>;
  ideal: Array<IdealSpacer>;
  rejected: Array<RejectedSpacer>;
  headline: Phrase;
  steps: Array<Phrase>;
  notes: Array<Phrase>;
  cautions: Array<Phrase>;
  basis: Array<Phrase>;
};
export type SpacerChoice = {
  corner: Corner;
  rings: Array<string>;
  thickness: number;
  change: boolean;
  gap_after: Quantity;
  belt_offset_after: Quantity;
  motor_slide: number;
  rub_chance_now: number;
  rub_chance_after: number;
};
export type SpacerQuestion = {
  drive: Drive;
  corners: Array<CornerGap>;
  stock: Array<SpacerStock>;
  earlier?: Array<CornerGap>;
};
export type SpacerStock = { label: string; thickness: number; u95: number; count: number };
export type Standing =
  | { "is": "troubled" }
  | { "is": "moving" }
  | { "is": "same-angle" }
  | { "is": "same-side"; way: Way }
  | { "is": "by-hand" }
  | { "is": "enough" }
  | { "is": "good" };
export type Stated = { value: number; u95: number };
export type StatedLength = { value: number; u95: number };
export type TensionRange = { least?: number; most?: number };
export type TighteningPass = { torque: number | null; order: Array<number>; told: Phrase };
export type TorqueAdvice = { lines: Array<TorqueLine>; guidance: Guidance };
export type TorqueEntry = {
  class: string;
  name: string;
  torque: number | null;
  source: TorqueSource;
  cited: string;
  wrench: string;
  how: string;
};
export type TorqueLine = {
  entry: TorqueEntry;
  units: TorqueUnits | null;
  wrench_gives: [number, number] | null;
};
export type TorqueSource = "maker" | "common-practice" | "computed";
export type TorqueUnits = { newton_metres: number; inch_pounds: number; foot_pounds: number };
export type TorqueUsed = { screw: string; newton_metres: number; source: string };
export type Trouble =
  | { "code": "dark"; level: number; limit: number }
  | { "code": "blurred"; blur_px: number; limit_px: number }
  | { "code": "no-target"; wanted: string }
  | { "code": "wrong-target"; seen: string; wanted: string }
  | { "code": "too-far"; cell_px: number; limit_px: number }
  | { "code": "too-flat"; tilt_deg: number; limit_deg: number }
  | { "code": "cut-off"; target: string; share: number }
  | { "code": "glare"; target: string; share: number }
  | { "code": "covered"; target: string; share: number };
export type TurnedWay = "clockwise" | "counter-clockwise";
export type Value = Quantity | Array<Quantity>;
export type Verdict = { state: Conformity; text: Phrase; limit: number; probability: number };
export type VisitNotes = {
  odometer_km: number | null;
  technician: string;
  parts: Array<PartUsed>;
  torques: Array<TorqueUsed>;
  remarks: string;
};
export type VisitTold = { id: string; day: string; checks: number; notes: VisitNotes };
export type Way = "left" | "right" | "higher" | "lower";
