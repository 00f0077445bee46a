import type { PhotoAdded } from "../../lib/backend";

/** Parts of a turn that should have a photo each. */
export const SECTORS = 8;
/** From so many photos on, and as many parts, a turn is well covered. */
const GOOD_PHOTOS = 8;
const GOOD_SECTORS = 6;

/** Which eighths of the turn have a photo, by the rough wheel angles that the workshop told. */
export function coveredSectors(photos: readonly PhotoAdded[]): boolean[] {
  const covered = Array.from({ length: SECTORS }, () => false);
  for (const { wheel_angle } of photos) {
    if (wheel_angle !== undefined) covered[Math.floor((wheel_angle / 360) * SECTORS) % SECTORS] = true;
  }
  return covered;
}

/** What a turn check still wants, and why. */
export function turnWanted(photos: readonly PhotoAdded[]): string {
  if (photos.length === 0) return "8 to 12 photos, the wheel turned a little further for each, show the whole turn.";
  const covered = coveredSectors(photos).filter(Boolean).length;
  const blind = photos.filter((photo) => photo.wheel_angle === undefined).length;
  if (blind === photos.length) return "No photo shows card and ring together: both must be whole in view.";
  if (photos.length < 4) return `${4 - photos.length} more at least: three photos would fit any axis and show no fault.`;
  if (covered < GOOD_SECTORS) return "Enough to measure, but parts of the turn are open: turn the wheel there and take one more.";
  if (photos.length < GOOD_PHOTOS) return "Enough to measure. More photos between these make it surer.";
  return "That is enough. More photos only make it surer.";
}
