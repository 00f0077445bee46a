// What crosses between the window and the workshop, made from the Rust types `shimwright_app::bridge` and
// `shimwright_record` by `cargo run -p shimwright-app --features typescript --example emit_types`.
// Change those, never this file by hand.

export type AppInfo = { 
/**
 * Version of the program.
 */
version: string, 
/**
 * Folder of the history.
 */
data_dir: string, };
export type Board = { 
/**
 * Stable id (UUID version 7).
 */
id: string, 
/**
 * What the shop calls it.
 */
name: string, 
/**
 * Who owns it; may be empty.
 */
owner: string, 
/**
 * Free notes.
 */
notes: string, 
/**
 * The drive, the same on both corners.
 */
drive: Drive, 
/**
 * What is fitted at each corner, left first.
 */
corners: [CornerState, CornerState], };
export type BoardDetail = { 
/**
 * The board.
 */
board: Board, 
/**
 * Its saved checks, newest first.
 */
history: Array<HistoryEntry>, };
export type BoardSummary = { 
/**
 * Id of the board.
 */
id: string, 
/**
 * Name of the board.
 */
name: string, 
/**
 * Its owner.
 */
owner: string, 
/**
 * When it was last measured, RFC 3339 with offset.
 */
last_check?: string, 
/**
 * How many checks its history holds.
 */
checks: number, };
export type BudgetLine = { 
/**
 * Name of the part: `corner noise`, `edge noise`, `camera`, `print scale`, `target flatness`, `model choice`.
 */
part: string, 
/**
 * Its standard uncertainty in the main value, in that value's unit.
 */
u: number, 
/**
 * What it stands for, one sentence.
 */
note: string, };
export type CheckKind = "gap" | "turn" | "part" | "play" | "camera";
export type CheckResult = { 
/**
 * The kind of check.
 */
check: CheckKind, 
/**
 * Values by name.
 */
values: { [key in string]: Value }, 
/**
 * What the numbers mean against the limit.
 */
verdict: Verdict, 
/**
 * Parts of the main value's uncertainty, largest first.
 */
budget: Array<BudgetLine>, 
/**
 * What each photo gave.
 */
photos: Array<PhotoUse>, 
/**
 * What to beware of, one sentence each.
 */
warnings: Array<string>, };
export type Conformity = "within" | "outside" | "undecided";
export type Corner = "left" | "right";
export type CornerGap = { 
/**
 * Which corner.
 */
corner: Corner, 
/**
 * Its measured gap.
 */
gap: Quantity, 
/**
 * Thickness of the spacer that was fitted when it was measured, mm.
 */
spacer_thickness: number, 
/**
 * Label of that spacer.
 */
spacer_label: string, 
/**
 * Belt offset with that spacer.
 */
belt_offset: Quantity, };
export type CornerState = { 
/**
 * Label of the fitted spacer or stack.
 */
spacer_label: string, 
/**
 * Thickness of the fitted spacer, mm.
 */
spacer_thickness: number, 
/**
 * Belt offset measured now, mm, positive when the driven pulley stands further outboard than the motor pulley.
 */
belt_offset: number, 
/**
 * Expanded uncertainty (95 %) of the belt offset, mm.
 */
belt_offset_u95: number, };
export type DemoPhotos = { 
/**
 * The photos.
 */
photos: Array<PhotoAdded>, 
/**
 * A job with marks prepared; `file` holds the photos' ids.
 */
job: Job, };
export type Drawn = { 
/**
 * `target`, `corner`, `mount_edge`, `rim_edge`, `edge_point`, `gap`.
 */
what: string, 
/**
 * Places in pixels.
 */
points: Array<[number, number]>, };
export type Drive = { 
/**
 * Outer diameter of the rim that faces the mount.
 */
rim_diameter: number, 
/**
 * Chamfer leg of the mount's edge; absent when not known.
 */
mount_chamfer: number | null, 
/**
 * Chamfer leg of the rim's edge; absent when not known.
 */
rim_chamfer: number | null, 
/**
 * Which part is located on the axle.
 */
located: Located, 
/**
 * Smallest gap that is allowed.
 */
minimum_gap: number, 
/**
 * How far the motor pulley can be slid outward (+) and inward (-) from where it sits.
 */
motor_slide: [number, number], 
/**
 * Whether all wheels of the board must carry the same spacer, so that they stay interchangeable.
 */
same_spacer_everywhere: boolean, 
/**
 * How many spacers may be stacked.
 */
stack_limit: number, };
export type Failure = { 
/**
 * What kind of trouble it is; shells act on this and never on the text.
 */
code: FailureCode, 
/**
 * What is wrong, one sentence, with numbers and limits.
 */
message: string, 
/**
 * What to do next, one sentence.
 */
hint: string, 
/**
 * The file or field concerned.
 */
subject?: string, };
export type FailureCode = "bad-input" | "not-measurable" | "cancelled" | "not-found" | "storage" | "internal";
export type FoundTarget = { 
/**
 * Its definition's name, such as `mount-card`.
 */
name: string, 
/**
 * How many of its corners were found.
 */
corners: number, 
/**
 * How many it has.
 */
of: number, 
/**
 * What to draw.
 */
drawn: Array<Drawn>, };
export type Height = StatedLength | { [key in string]: StatedLength };
export type HistoryEntry = { 
/**
 * Id of the check.
 */
id: string, 
/**
 * When it was saved, RFC 3339 with offset.
 */
at: string, 
/**
 * Which corner was measured.
 */
corner: Corner, 
/**
 * Its result.
 */
result: CheckResult, 
/**
 * The job it came from; `file` holds the original file name.
 */
job: Job, 
/**
 * SHA-256 of each photo, in the job's order.
 */
photo_ids: Array<string>, 
/**
 * The advice that was given with it.
 */
advice?: SpacerAdvice, 
/**
 * What was done about it.
 */
work_done: string, };
export type IdealSpacer = { 
/**
 * Which corner.
 */
corner: Corner, 
/**
 * Thickness, mm: the smallest change that keeps the minimum gap with 95 % confidence.
 */
thickness: number, };
export type Job = { 
/**
 * The kind of check.
 */
check: CheckKind, 
/**
 * The photos, each with the marks made on it.
 */
photos: Array<JobPhoto>, 
/**
 * Which printed targets are in view.
 */
targets?: JobTargets, 
/**
 * Print scale measured on the page's two bars.
 */
print_scale?: PrintScale, 
/**
 * Camera profile file, relative to the job file.
 */
camera?: string, 
/**
 * What is known of the drive.
 */
drive?: JobDrive, 
/**
 * Height of a marked edge above the card (or sheet), towards the camera. The key is a mark's name
 * (`mount_edge`, `rim_edge`, `outer`, `inner`), or `all`. Needed when a gap job has one view only.
 */
height?: Height, };
export type JobDrive = { 
/**
 * Outer diameter of the rim that faces the mount.
 */
rim_diameter?: number, 
/**
 * Chamfer leg of the mount's edge (45 degrees).
 */
mount_chamfer?: number, 
/**
 * Chamfer leg of the rim's edge (45 degrees).
 */
rim_chamfer?: number, 
/**
 * Direction of screw 1 in the hub ring's frame, degrees.
 */
mark_screw_angle?: number, 
/**
 * Smallest allowed gap; the verdict is given against it.
 */
minimum_gap?: number, };
export type JobPhoto = { 
/**
 * File name, relative to the job file.
 */
file: string, 
/**
 * Rough marks in pixels of the upright photo, by name: `mount_edge`, `rim_edge`, `outer`, `inner`, …
 */
marks: { [key in string]: Array<[number, number]> }, };
export type JobTargets = { 
/**
 * The target on the part that does not turn.
 */
fixed?: string, 
/**
 * The target on the wheel.
 */
turning?: string, };
export type Located = "hub" | "pulley" | "wheel";
export type MeasureRequest = { 
/**
 * Board measured.
 */
board_id: string, 
/**
 * Corner measured.
 */
corner: Corner, 
/**
 * The job.
 */
job: Job, };
export type Measured = { 
/**
 * Names this result for `save_check`.
 */
draft_id: string, 
/**
 * The result.
 */
result: CheckResult, 
/**
 * Spacer advice from this corner and the newest saved gap of the other one, when there is stock to choose from.
 */
advice?: SpacerAdvice, 
/**
 * Why there is no advice, one sentence.
 */
no_advice?: string, };
export type PhotoAdded = { 
/**
 * SHA-256 of its bytes, in hexadecimal: its name from now on.
 */
id: string, 
/**
 * Its original file name.
 */
name: string, 
/**
 * Width in pixels of the upright photo.
 */
width: number, 
/**
 * Height in pixels of the upright photo.
 */
height: number, 
/**
 * Camera as EXIF names it; empty when it does not.
 */
camera: string, 
/**
 * The targets found in it: outlines and corners.
 */
found: Array<FoundTarget>, 
/**
 * What to beware of: no target, too few corners, blur.
 */
notes: Array<string>, };
export type PhotoUse = { 
/**
 * File name as the job gave it.
 */
file: string, 
/**
 * Target corners used.
 */
corners: number, 
/**
 * Root mean square residual of those corners, px.
 */
rms_px: number, 
/**
 * Whether the photo took part.
 */
used: boolean, 
/**
 * Why not, or what is odd about it.
 */
note?: string | null, 
/**
 * What was found, to be drawn over the photo.
 */
drawn?: Array<Drawn>, };
export type PrintScale = { 
/**
 * Along the target's x axis.
 */
x: number, 
/**
 * Along the target's y axis.
 */
y: number, 
/**
 * Expanded uncertainty (95 %) of each factor.
 */
u95: number, };
export type PrintedSheets = { 
/**
 * Paths of the files.
 */
files: Array<string>, };
export type ProgressNote = { 
/**
 * What is being done, in words.
 */
step: string, 
/**
 * Share done, 0 to 1.
 */
done: number, };
export type Quantity = { 
/**
 * The number.
 */
value: number, 
/**
 * Expanded uncertainty at 95 % (JCGM 100), in the same unit.
 */
u95: number, 
/**
 * `mm`, `deg`, `px` or `1`.
 */
unit: string, };
export type RejectedSpacer = { 
/**
 * Labels of the rings: one, or a stack.
 */
rings: Array<string>, 
/**
 * Their thickness together, mm.
 */
thickness: number, 
/**
 * Why it fell, in plain words, naming the corner where it matters.
 */
reason: string, };
export type SpacerAdvice = { 
/**
 * One sentence in plain words.
 */
headline: string, 
/**
 * Whether something in stock serves.
 */
fits: boolean, 
/**
 * What each corner gets; empty when nothing serves every measured corner.
 */
choices: Array<SpacerChoice>, 
/**
 * What each corner would need when nothing in stock serves; empty when no spacer of any thickness would.
 */
ideal: Array<IdealSpacer>, 
/**
 * The work, step by step.
 */
steps: Array<string>, 
/**
 * What to know before starting: a case too close to call, a corner that was not measured, an entry that does
 * not agree with the drawer. One sentence or two each, in plain words.
 */
notes: Array<string>, 
/**
 * Cautions: advice that touches the drive cannot be made without them.
 */
cautions: Array<string>, 
/**
 * What the advice rests on: rule names, assumptions, sources.
 */
basis: Array<string>, 
/**
 * Why the other rings were not chosen, nearest thickness first; only the nearest few.
 */
rejected: Array<RejectedSpacer>, };
export type SpacerChoice = { 
/**
 * Which corner.
 */
corner: Corner, 
/**
 * Labels of the rings: one, or a stack.
 */
rings: Array<string>, 
/**
 * Their thickness together, mm.
 */
thickness: number, 
/**
 * Whether that differs from what is fitted.
 */
change: boolean, 
/**
 * The gap expected afterwards.
 */
gap_after: Quantity, 
/**
 * The belt offset expected afterwards, with the motor pulley slid as advised.
 */
belt_offset_after: Quantity, 
/**
 * How far to slide the motor pulley from where it sits now, mm, positive outward.
 */
motor_slide: number, 
/**
 * Probability that mount and rim touch as it is now.
 */
rub_chance_now: number, 
/**
 * Probability that they touch afterwards.
 */
rub_chance_after: number, };
export type SpacerQuestion = { 
/**
 * The drive.
 */
drive: Drive, 
/**
 * The corners that were measured: one or both.
 */
corners: Array<CornerGap>, 
/**
 * The rings at hand.
 */
stock: Array<SpacerStock>, };
export type SpacerStock = { 
/**
 * What is written on the drawer, such as `7/16 in`.
 */
label: string, 
/**
 * Measured thickness, mm.
 */
thickness: number, 
/**
 * Expanded uncertainty (95 %) of the thickness, mm.
 */
u95: number, 
/**
 * How many are in the drawer, besides those fitted on the board.
 */
count: number, };
export type StatedLength = { 
/**
 * The length, mm.
 */
value: number, 
/**
 * Expanded uncertainty (95 %), mm.
 */
u95: number, };
export type Value = Quantity | Array<Quantity>;
export type Verdict = { 
/**
 * Conformity with the limit.
 */
state: Conformity, 
/**
 * One sentence in plain words.
 */
text: string, 
/**
 * The limit, in the main value's unit.
 */
limit: number, 
/**
 * Probability that the limit is kept (JCGM 106).
 */
probability: number, };
